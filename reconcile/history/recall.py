"""Reads out of the history what one comparison wants to know of the runs before it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from collectors.snapshot import Snapshot, Table
from reconcile.history.facts import FactKind
from reconcile.history.paces import paces_of
from reconcile.history.store import Book, Run
from reconcile.locate.placement import PortRef
from reconcile.recalled import NOTHING, Recalled, Silence


def recalled(book: Book, snapshot: Snapshot, before: Snapshot | None = None) -> Recalled:
    """What the runs before this snapshot say of its ports, itself counted as one more. `before`: see `paces_of`."""
    runs = [run for run in book.runs() if run.taken < snapshot.finished]
    if not runs:
        return NOTHING
    return Recalled(len(runs) + 1, runs[0].taken, silences(book, snapshot, runs), paces_of(book, snapshot, before))


def silences(book: Book, snapshot: Snapshot, runs: Sequence[Run]) -> dict[PortRef, Silence]:
    """The ports of a snapshot that have no link and that these earlier runs know."""
    links = book.links(runs[-1].number)
    blind = _blind(book, runs[-1].number)
    found: dict[PortRef, Silence] = {}
    for port in _without_link(snapshot):
        first, last_up = links.get(str(port), (None, None))
        if first is None:
            continue
        begin = first if last_up is None else last_up + 1
        silent = [run for run in runs if run.number >= begin and run.number not in blind[port.switch]]
        since = silent[0].taken if silent else snapshot.finished
        link = next((run.taken for run in reversed(runs) if run.number == last_up), None)
        found[port] = Silence(since, len(silent) + 1, link)
    return _with_stations(found, book)


def _with_stations(found: Mapping[PortRef, Silence], book: Book) -> dict[PortRef, Silence]:
    """Each with the station that was there last, where there was a link once."""
    linked = {str(port) for port, silence in found.items() if silence.last_link}
    last = {s.fact.value: s.key.subject for s in book.stretches(FactKind.STATION, values=linked)}  # the youngest wins
    return {port: silence._replace(last_mac=last.get(str(port), "")) for port, silence in found.items()}


def _without_link(snapshot: Snapshot) -> Iterator[PortRef]:
    for switch in snapshot.switches:
        yield from (PortRef(switch.name, port.name) for port in switch.ports if port.oper not in ("up", "dormant"))


def _blind(book: Book, last_run: int) -> defaultdict[str, set[int]]:
    """The runs in which the ports of a switch could not be looked at, by switch."""
    found: defaultdict[str, set[int]] = defaultdict(set)
    for gap in book.all_of(FactKind.GAP):
        if gap.key.subject in (gap.fact.switch, f"{gap.fact.switch} {Table.INTERFACES}"):
            found[gap.fact.switch] |= set(range(gap.from_run, (gap.to_run or last_run) + 1))
    return found
