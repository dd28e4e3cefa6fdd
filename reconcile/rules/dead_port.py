"""No link where the map has a device or another switch; a port that somebody shut is told apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import far_end, where
from reconcile.verdicts import Judgement, Saw


def dead_port(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per dead channel; a dead link between two switches is told once, at its shut end if there is one."""
    dead = [j for j in judgements if j.saw in (Saw.SHUT, Saw.NO_LINK) and j.port is not None]
    told: set[frozenset[str]] = set()
    for judged in sorted(dead, key=lambda j: j.saw is not Saw.SHUT):
        ends = frozenset((str(judged.channel.port), str(judged.channel.far_port or judged.channel.key)))
        if ends not in told:
            told.add(ends)
            yield _finding(judged, picture)


def _finding(judged: Judgement, picture: Picture) -> Finding:
    kind = Kind.SHUT_PORT if judged.saw is Saw.SHUT else Kind.DEAD_PORT
    place = picture.place(judged.port, judged.channel)
    there = far_end(judged.channel)
    link = judged.channel.far_port is not None
    return Finding(
        key=finding_key(kind, str(judged.port), there),
        kind=kind,
        severity=Severity.HIGH if link else Severity.MEDIUM,
        where=place,
        documented=f"the map has {there} at {where(place)}",
        seen=judged.because,
        advice=_advice(judged, there),
        device=judged.channel.device.name if judged.channel.device else "",
    )


def _advice(judged: Judgement, there: str) -> str:
    if judged.saw is Saw.SHUT:
        return f"ask who shut the port; open it if {there} is still needed, else take it off the map"
    return f"look whether {there} is switched off or unplugged; if it is powered, test cord and fixed cable"
