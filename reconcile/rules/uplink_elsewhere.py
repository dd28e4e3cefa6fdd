"""A link between switches leads elsewhere than documented."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import far_end, stations, where
from reconcile.verdicts import Judgement, Saw


def uplink_elsewhere(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per documented link, not one per end."""
    told: set[frozenset[str]] = set()
    for judged in judgements:
        ends = frozenset((str(judged.channel.port), str(judged.channel.far_port)))
        if judged.saw is not Saw.LINK_ELSEWHERE or ends in told:
            continue
        told.add(ends)
        place = picture.place(judged.port, judged.channel)
        there = far_end(judged.channel)
        yield Finding(
            key=finding_key(Kind.UPLINK_ELSEWHERE, *sorted(ends), _other_side(judged)),
            kind=Kind.UPLINK_ELSEWHERE,
            severity=Severity.HIGH,
            where=place,
            documented=f"the map has {there} on the other side of {where(place)}",
            seen=_seen(judged, picture),
            advice="follow this cord by hand before anything is re-plugged: other ports depend on it",
            macs=tuple(p.mac for p in judged.stations),
            moved_to=picture.place(judged.uplink.there) if judged.uplink and judged.uplink.there else None,
            grade=judged.stations[0].grade.value if judged.stations else "",
        )


def _other_side(judged: Judgement) -> str:
    if judged.uplink is not None:
        return str(judged.uplink.there or judged.uplink.peer)
    return judged.stations[0].mac


def _seen(judged: Judgement, picture: Picture) -> str:
    if judged.uplink is None:
        return f"{stations(judged.stations, picture)} is on {judged.port}, and no switch"
    return judged.because
