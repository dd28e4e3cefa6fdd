"""The map names a port that the switch does not have."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.picture import Picture
from reconcile.rules.words import far_end, where
from reconcile.verdicts import Judgement


def port_not_found(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per documented port that no interface of the switch answers to."""
    for judged in judgements:
        end = judged.channel.port
        if end is None or end.key not in picture.matching.not_found:
            continue
        place = picture.place(None, judged.channel)
        nearest = picture.matching.not_found[end.key].nearest
        names = f" It may mean {', '.join(nearest)}." if nearest else ""
        yield Finding(
            key=finding_key(Kind.PORT_NOT_FOUND, str(end)),
            kind=Kind.PORT_NOT_FOUND,
            severity=Severity.MEDIUM,
            where=place,
            documented=f"the map has {far_end(judged.channel)} at {where(place)}",
            seen=f"{place.switch} has no single port that is called {end.position}.{names}",
            advice="write the port into the map as the switch names it",
            device=judged.channel.device.name if judged.channel.device else "",
        )
