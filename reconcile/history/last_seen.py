"""When something last gave a sign of life: an address that was heard, a port that had a link."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from collectors.snapshot import Table
from reconcile.history.facts import FactKind
from reconcile.history.store import Book


def last_seen(book: Book, macs: Collection[str], until: datetime) -> dict[str, datetime]:
    """By address, and by port as SWITCH:PORT: the last run up to `until` that heard it, or saw its link.

    A stretch goes on while its switch cannot be read: such runs saw nothing, and do not count.
    """
    taken = {run.number: run.taken for run in book.runs() if run.taken <= until}
    if not taken:
        return {}
    blind = _blind(book, max(taken))
    found: dict[str, datetime] = {}
    for stretch in book.stretches(FactKind.STATION, macs):
        last = max(taken) if stretch.to_run is None else stretch.to_run
        seen = [run for run in taken if stretch.from_run <= run <= last and run not in blind[stretch.fact.switch]]
        if seen:
            moment = taken[max(seen)]
            found[stretch.key.subject] = max(moment, found.get(stretch.key.subject, moment))
    linked = {port: run for port, (_, run) in book.links(max(taken)).items() if run is not None}
    return found | {port: taken[run] for port, run in linked.items() if run in taken}


def _blind(book: Book, last_run: int) -> defaultdict[str, set[int]]:
    """The runs in which the forwarding table of a switch could not be read, by switch."""
    found: defaultdict[str, set[int]] = defaultdict(set)
    for gap in book.all_of(FactKind.GAP):
        if gap.key.subject in (gap.fact.switch, f"{gap.fact.switch} {Table.FORWARDING}"):
            found[gap.fact.switch] |= set(range(gap.from_run, (gap.to_run or last_run) + 1))
    return found
