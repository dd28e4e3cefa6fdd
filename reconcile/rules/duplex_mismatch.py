"""One end of a link runs full, the other half duplex: it works, and loses frames as soon as both talk at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.limits.link import duplex_of, far_duplex, far_port, words
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture
from reconcile.rules.words import where
from reconcile.verdicts import Judgement


def duplex_mismatch(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per link of which both ends are known: a half-duplex port alone proves nothing, a hub needs one."""
    told: set[PortRef | None] = set()
    for port, state in picture.ports.items():
        if state.oper != "up" or port in told:
            continue
        here, there = duplex_of(state), far_duplex(port, picture)
        if here is None or there is None or here == there[0]:
            continue
        told.add(far_port(port, picture))
        place = picture.place(port)
        yield Finding(
            key=finding_key(Kind.DUPLEX_MISMATCH, str(port)),
            kind=Kind.DUPLEX_MISMATCH,
            severity=Severity.HIGH if picture.faces_switch(port) else Severity.MEDIUM,
            where=place,
            documented=f"both ends of the link at {where(place)} must run the same duplex",
            seen=f"{words(port)} runs {here} duplex, {there[1]} runs {there[0]} duplex",
            advice="let both ends negotiate, or force both alike: an end that negotiates with a forced one falls back "
            "to half duplex; late collisions on the half side and FCS errors on the full side are its mark",
        )
