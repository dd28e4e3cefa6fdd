"""What the history tells the page: the marks of each documented port over the last nights, and since when findings
stand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from reconcile.findings import Verdict
from reconcile.history.facts import FactKind
from reconcile.history.store import Book, Run
from reconcile.history.stretches import Stretch
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture
from reconcile.reports.page.model import MARK_OF, Night, Past

NIGHTS = 14
"""Nights shown of each port: two weeks tell a habit of weekends from a fault."""


def past_of(book: Book, picture: Picture, findings: Iterable[str]) -> Past:
    """The last nights of every port that the map has a channel at, and the first run that saw each finding.

    A verdict stands over the nights in which nobody could look, as it does in the history. `findings` are keys. What
    began in a run that the history has forgotten has no known beginning.
    """
    runs = book.runs()
    ports = {
        channel.key: picture.port_of(channel.port) or PortRef(picture.switch_of(channel.port), channel.port.position)
        for channel in picture.channels.resolved
        if channel.port is not None
    }
    verdicts: dict[str, list[Stretch]] = defaultdict(list)
    for stretch in book.stretches(FactKind.VERDICT, list(ports)):
        verdicts[stretch.key.subject].append(stretch)
    taken = {run.number: run.taken for run in runs}
    standing = book.stretches(FactKind.FINDING, list(findings))
    return Past(
        ports={ports[key]: tuple(_nights(life, runs[-NIGHTS:])) for key, life in verdicts.items()},
        since={
            stretch.key.subject: taken[stretch.from_run]
            for stretch in standing
            if stretch.to_run is None and stretch.from_run in taken
        },
    )


def _nights(life: Sequence[Stretch], runs: Iterable[Run]) -> Iterator[Night]:
    """One mark per run in which the channel had a verdict."""
    for run in runs:
        here = [s for s in life if s.from_run <= run.number and (s.to_run is None or run.number <= s.to_run)]
        if here:
            yield Night(run.taken, MARK_OF[Verdict(here[-1].fact.value)])
