"""Plans carried out in the user's files: first in memory, read again and checked, and only then written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from collectors.snapshot import Snapshot
from reconcile.adopt.planning import plans
from reconcile.adopt.scene import set_scene
from reconcile.adopt.swapped import swapped
from reconcile.adopt.wish import Plan, Wish
from reconcile.channels import resolve
from reconcile.errors import MapError, ReconcileError
from reconcile.findings import Finding
from reconcile.patchmap.check import check_map, check_site
from reconcile.patchmap.edit import keeping
from reconcile.patchmap.edit.book import Book, open_book
from reconcile.patchmap.edit.changes import AddDevice, Change
from reconcile.patchmap.edit.schedule import Schedule
from reconcile.patchmap.edit.sheet import EditError
from reconcile.patchmap.edit.tables import Tables
from reconcile.patchmap.model import Fault, PatchMap, fold
from reconcile.pipeline import Comparison, compare
from reconcile.site import Site
from reconcile.swap.look import look
from reconcile.swap.ports_file import read_ports


class NewFaults(MapError):
    """The change would leave the map with faults that it does not have now; nothing was written."""

    def __init__(self, where: str, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        problem = "the change would bring the map new faults; nothing was written"
        hint = "say what else is so (--off, --at, --name), or change the map by hand"
        ReconcileError.__init__(self, where, problem, hint)


@dataclass(slots=True)
class Adoption:
    """What would be written, and what the comparison says before and after. `write` writes it."""

    site: str
    taken: datetime
    folder: Path
    plans: Sequence[Plan]
    diff: Sequence[str]
    before: dict[Path, bytes]
    after: dict[Path, bytes]
    gone: list[Finding] = field(default_factory=list)
    new: list[Finding] = field(default_factory=list)
    left: int = 0
    kept: list[Path] = field(default_factory=list)

    def write(self) -> None:
        """Replaces the files; the former ones are kept. Raises EditError where one was changed meanwhile, OSError."""
        self.kept = keeping.write(self.before, self.after)


def adopt(site: Site, snapshot: Snapshot, wish: Wish) -> Adoption:
    """What the map has to become so that the differences with these keys are none.

    Raises UsageError for what cannot be adopted as asked, EditError for files that cannot follow, NewFaults.
    """
    return _adopt(site, snapshot, lambda comparison: plans(set_scene(comparison), wish))


def adopt_ports(site: Site, before: Snapshot, after: Snapshot, text: str, where: str) -> Adoption:
    """What the map has to become after a swap whose ports correspond as the CSV `text` says; `where` is its name.

    Raises the same.
    """

    def plan(comparison: Comparison) -> list[Plan]:
        looks = look(comparison.picture.patch_map, before), look(comparison.picture.patch_map, after)
        return [swapped(*looks, read_ports(text, where, *looks))]

    return _adopt(site, after, plan)


def _adopt(site: Site, snapshot: Snapshot, planning: Callable[[Comparison], list[Plan]]) -> Adoption:
    book = open_book(site)
    patch_map, faults = book.reread()
    comparison = compare(patch_map, snapshot, limits=site.limits)
    found = planning(comparison)
    changed = _carried_out(book, patch_map, faults, [change for plan in found for change in plan.changes])
    result = compare(changed, snapshot, limits=site.limits).result
    now = {finding.key for finding in result.findings}
    wanted = {key for plan in found for key in plan.keys}
    if wanted & now:
        first = next(f for f in result.findings if f.key in wanted)
        problem = f"would still differ afterwards: {first.seen}"
        raise EditError(first.key, problem, "toneout trace on what is there, then the change by hand")
    before = {finding.key: finding for finding in comparison.result.findings}
    return Adoption(
        site=result.site,
        taken=result.taken,
        folder=site.folder,
        plans=found,
        diff=list(book.diff()),
        before=book.before,
        after=book.after(),
        gone=[finding for key, finding in before.items() if key not in now],
        new=[finding for finding in result.findings if finding.key not in before],
        left=len(result.findings),
    )


def _carried_out(book: Book, patch_map: PatchMap, faults: Sequence[Fault], changes: Sequence[Change]) -> PatchMap:
    """The map as it will be read. Raises NewFaults where it would be worse than it is."""
    was = _all_faults(book.site, patch_map, faults)
    hands: Callable[[Book, PatchMap], Tables | Schedule] = Schedule if book.site.map.form == "schedule" else Tables
    hands(book, patch_map).carry_out(changes)
    changed, now = book.reread()
    worse = new_faults(was, _all_faults(book.site, changed, now))
    if worse:
        raise NewFaults(str(book.site.map.path), worse)
    names = {fold(device.name) for device in changed.devices}
    for change in changes:
        if isinstance(change, AddDevice) and fold(change.name) not in names:
            raise EditError(
                change.name, "would be read as another name: nothing was written", "--name in plain letters"
            )
    return changed


def _all_faults(site: Site, patch_map: PatchMap, faults: Sequence[Fault]) -> list[Fault]:
    return [*check_site(site, patch_map), *faults, *check_map(patch_map, resolve(patch_map))]


def new_faults(before: Iterable[Fault], after: Iterable[Fault]) -> list[Fault]:
    """Faults of kinds that a file has more of than before: rows may have moved, so their numbers tell nothing."""
    was = list(before)
    count = Counter((fault.code, fault.origin.file) for fault in was)
    now = list(after)
    more = Counter((fault.code, fault.origin.file) for fault in now) - count
    return [f for f in now if (f.code, f.origin.file) in more and f not in was]
