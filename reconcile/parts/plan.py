"""One answer about cords: what is asked about, what of it has to be got, what is used again, what to write on them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from reconcile.capacity import capacity
from reconcile.channels import Channels
from reconcile.errors import UsageError
from reconcile.limits.values import Limits
from reconcile.parts.cords import Line, Reuse, Wanted, cords_at, order, reuse, wanted_cords
from reconcile.parts.labels import Label, labels
from reconcile.patchmap.model import PatchMap, fold
from reconcile.picture import Picture
from reconcile.proposal import NEW_DEVICE, cords_of, propose
from reconcile.site_file import CordsTable, LabelsTable


class Asked(NamedTuple):
    """What somebody wants to know. `only` and `free` name switches, panels, rooms, devices or cord labels."""

    only: Sequence[str] = ()
    need: Sequence[tuple[str, int]] = ()
    free: Sequence[str] = ()
    anew: bool = False
    labels: bool = False


class Cords(NamedTuple):
    """The answer. `order` is for what has to be got and is not `reused`; `lacking` says what could not be proposed."""

    site: str
    all: Sequence[Wanted]
    order: Sequence[Line]
    reused: Sequence[Reuse] = ()
    labels: Sequence[Label] = ()
    lacking: Sequence[str] = ()
    anew: bool = False


def plan_cords(
    patch_map: PatchMap,
    channels: Channels,
    picture: Picture | None,
    table: CordsTable,
    texts: LabelsTable,
    limits: Limits,
    asked: Asked,
) -> Cords:
    """With `need` and no `only`, the new cords alone; else those of the map. Raises UsageError for an unknown name."""
    released = cords_at(channels, asked.free)
    found = [] if asked.need and not asked.only else wanted_cords(channels, table, limits, asked.only)
    for names, rows in ((asked.only, found), (asked.free, released)):
        if names and not rows:
            raise UsageError(", ".join(names), "no cord is there", "a switch, panel, room, device or label of the map")
    gone = {frozenset((str(cord.a), str(cord.b))) for cord in released}
    found = [cord for cord in found if frozenset((cord.a, cord.b)) not in gone]
    added, lacking = _added(patch_map, channels, picture, table, limits, asked)
    found += added
    get = found if asked.anew else [cord for cord in found if cord.to_get]
    again = reuse(released, get)
    served = {id(one.to) for one in again}
    new_ends = [(cord.a, cord.b) for cord in added if cord.b != NEW_DEVICE]
    return Cords(
        site=patch_map.site,
        all=found,
        order=order([cord for cord in get if id(cord) not in served], table),
        reused=again,
        labels=_labels(patch_map, texts, new_ends, asked) if asked.labels else (),
        lacking=lacking,
        anew=asked.anew,
    )


def _added(
    patch_map: PatchMap, channels: Channels, picture: Picture | None, table: CordsTable, limits: Limits, asked: Asked
) -> tuple[list[Wanted], list[str]]:
    if not asked.need:
        return [], []
    free = capacity(patch_map, channels, picture)
    proposals = [propose(room, n, free, patch_map, channels, table, limits) for room, n in asked.need]
    cords = [cord for proposal in proposals for cord in cords_of(proposal, channels, table)]
    return cords, [proposal.lacking for proposal in proposals if proposal.lacking]


def _labels(patch_map: PatchMap, texts: LabelsTable, new_ends: Sequence[tuple[str, str]], asked: Asked) -> list[Label]:
    """All are checked against one another; those that were asked about are told."""
    made = labels(patch_map, texts, new_ends)
    if not asked.only:
        return made[-len(new_ends) :] if new_ends else made
    names = {fold(name) for name in asked.only}
    return [label for label in made if names & {fold(end.partition(":")[0]) for end in (label.a, label.b)}]
