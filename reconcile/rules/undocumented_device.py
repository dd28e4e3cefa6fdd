"""A station that no documented device explains."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Place, Severity, finding_key
from reconcile.locate.placement import Placement, PortRef
from reconcile.picture import Picture
from reconcile.rules.words import passing, seen_at, stations, where
from reconcile.verdicts import Judgement, Saw


def undocumented_device(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per port with unexplained stations, and one per station that could be at several ports."""
    taken = {p.mac for j in judgements if j.saw is Saw.OTHERS for p in j.stations}
    by_port: dict[PortRef, list[Placement]] = defaultdict(list)
    for placement in picture.located.placements.values():
        if placement.mac in picture.device_of or placement.mac in taken:
            continue
        if any(_explained(port, picture) for port in placement.candidates or (placement.at,) if port):
            continue
        if placement.at is not None:
            by_port[placement.at].append(placement)
        else:
            yield _finding((placement,), None, picture)
    for port in sorted(by_port):
        yield _finding(tuple(by_port[port]), port, picture)


def _explained(port: PortRef, picture: Picture) -> bool:
    """True where strangers are no news: behind a device that carries others, one without a documented address, or a
    switch that was not asked."""
    devices = picture.devices_at(port)
    return picture.faces_switch(port) or any(device.carries or not device.macs for device in devices)


def _finding(found: tuple[Placement, ...], port: PortRef | None, picture: Picture) -> Finding:
    lasting = [p.mac for p in found if not passing(p.mac)]
    place = picture.place(port) if port else Place()
    many = "; several stations on one port: an unmanaged switch, a phone with a computer, or guests of one machine"
    return Finding(
        key=finding_key(Kind.UNDOCUMENTED_DEVICE, str(port or found[0].mac), *sorted(lasting)),
        kind=Kind.UNDOCUMENTED_DEVICE,
        severity=Severity.MEDIUM,
        where=place,
        documented=_documented(port, place, picture),
        seen=f"{stations(found, picture)} is at {seen_at(found[0], picture)}" + (many if len(found) > 2 else ""),
        advice="find out whose it is, then write it into the map or unplug it",
        macs=tuple(p.mac for p in found),
        grade=found[0].grade.value,
    )


def _documented(port: PortRef | None, place: Place, picture: Picture) -> str:
    names = [device.name for device in picture.devices_at(port)] if port else []
    if names:
        return f"the map has only {', '.join(names)} at {where(place)}"
    return f"the map has nobody at {where(place)}" if port else "the map does not know this address"
