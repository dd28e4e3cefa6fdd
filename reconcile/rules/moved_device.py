"""A documented device was seen at another port than the map says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.channels import Channel
from reconcile.findings import Finding, Kind, Place, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import seen_at, where
from reconcile.verdicts import Judgement, Saw


def moved_device(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per device, from where the map has it to where it was seen."""
    for judged in judgements:
        device = judged.channel.device
        if judged.saw is not Saw.ELSEWHERE or device is None or _carried(judged, picture):
            continue
        seen = judged.stations[0]
        place = picture.place(judged.port, judged.channel)
        yield Finding(
            key=finding_key(Kind.MOVED_DEVICE, device.name, str(seen.at or "")),
            kind=Kind.MOVED_DEVICE,
            severity=Severity.MEDIUM,
            where=place,
            documented=_documented(device.name, judged.channel, place),
            seen=f"its address {seen.mac} is at {seen_at(seen, picture)}",
            advice=_advice(device.name, judged, picture),
            device=device.name,
            macs=tuple(p.mac for p in judged.stations),
            moved_to=picture.place(seen.at) if seen.at else None,
            grade=seen.grade.value,
        )


def _documented(name: str, channel: Channel, place: Place) -> str:
    if channel.port is None:
        return f"the map has {name} connected to no switch port"
    return f"the map has {name} at {where(place)}"


def _advice(name: str, judged: Judgement, picture: Picture) -> str:
    if judged.channel.port is not None and judged.channel.port.key in picture.matching.not_found:
        return f"write the port where {name} is into the map: the switch does not have the documented one"
    return f"if {name} was moved on purpose, write the new place into the map; else plug it back"


def _carried(judged: Judgement, picture: Picture) -> bool:
    """A device that the map plugs in nowhere may be behind one that carries others, such as an access point."""
    at = judged.stations[0].at
    return judged.channel.port is None and at is not None and any(d.carries for d in picture.devices_at(at))
