"""A link between switches leads elsewhere than documented."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Place, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import stations
from reconcile.verdicts import Judgement, Saw


def uplink_elsewhere(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per documented link, not one per end."""
    told: set[frozenset[str]] = set()
    for judged in judgements:
        ends = frozenset((str(judged.channel.port), str(judged.channel.far_port)))
        if judged.saw is not Saw.LINK_ELSEWHERE or ends in told:
            continue
        told.add(ends)
        place = _where(judged, picture)
        yield Finding(
            key=finding_key(Kind.UPLINK_ELSEWHERE, *sorted(ends), _other_side(judged)),
            kind=Kind.UPLINK_ELSEWHERE,
            severity=Severity.HIGH,
            where=place,
            documented=f"the map has a link from {judged.channel.port} to {judged.channel.far_port}",
            seen=_seen(judged, picture),
            advice="follow this cord by hand before anything is re-plugged: other ports depend on it",
            macs=tuple(p.mac for p in judged.stations),
            moved_to=picture.place(judged.uplink.there) if judged.uplink and judged.uplink.there else None,
            grade=judged.stations[0].grade.value if judged.stations else "",
        )


def _where(judged: Judgement, picture: Picture) -> Place:
    """The end that is not as documented: the far one, where the link still joins the same two switches."""
    ends = (judged.channel.port, judged.channel.far_port)
    uplink = judged.uplink
    if uplink is not None and uplink.there is not None:
        for end in ends:
            port = picture.port_of(end)
            if port is not None and port.switch == uplink.there.switch and port != uplink.here:
                return picture.place(port)
    return picture.place(judged.port, judged.channel)


def _other_side(judged: Judgement) -> str:
    if judged.uplink is not None:
        return str(judged.uplink.there or judged.uplink.peer)
    return judged.stations[0].mac


def _seen(judged: Judgement, picture: Picture) -> str:
    if judged.uplink is None:
        return f"{stations(judged.stations, picture)} is on {judged.port}, and no switch"
    return judged.because
