"""Which labels to print: both ends of cords and cables, and jacks; with a caution where power may be on the wire."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from typing import NamedTuple

from reconcile.channels import BrokenChannel, Channel, Channels
from reconcile.errors import UsageError
from reconcile.parts.labels import Label, labels
from reconcile.patchmap.model import End, Outlet, Panel, PatchMap, fold
from reconcile.picture import Picture
from reconcile.site_file import LabelsTable

POE_CAUTION = "PoE on: shut port first"
"""Contacts may burn when they part under load (common practice): see `reconcile.cautions.POWER`."""

_NAMES = "a cord, jack, panel, switch, outlet, device, room or rack of the map"


class Labelled(StrEnum):
    """What labels are for."""

    CORDS = "cords"
    CABLES = "cables"
    JACKS = "jacks"


class Tag(NamedTuple):
    """What one label says. `more` is a smaller second line, which the QR code leaves out."""

    text: str
    more: str = ""
    caution: str = ""


class Tags(NamedTuple):
    """Labels in the order of the map, those of one cord side by side, and what is wrong with their texts."""

    tags: list[Tag]
    problems: list[str]


def tags(kind: Labelled, what: Sequence[str], patch_map: PatchMap, table: LabelsTable, picture: Picture | None) -> Tags:
    """Labels for everything of a kind, or for what is named: a cord, jack, panel, switch, outlet, device, room, rack.

    Raises UsageError when nothing of that kind bears a name or is at it.
    """
    places = _Places(patch_map)
    live = powered(picture.channels, picture) if picture else frozenset()
    rows = list(_jacks(patch_map, live) if kind is Labelled.JACKS else _cables(kind, patch_map, table, live))
    if not rows:
        raise UsageError(f"the {kind}", "the map has none to label", "toneout check")
    wanted = {fold(one) for one in what}
    if wanted:
        _all_known(what, rows, places, kind)
        rows = [row for row in rows if wanted & row.names(places)]
    found = [tag for row in rows for tag in row.tags if tag.text.strip()]
    return Tags(found, [row.problem for row in rows if row.problem])


def powered(channels: Channels, picture: Picture) -> frozenset[str]:
    """The ends, folded, of all cords and cables behind a port on which PoE is enabled or delivers (RFC 3621).

    Fixed cables pass power on: it is on the whole channel.
    """
    found: set[str] = set()
    paths: list[Channel | BrokenChannel] = [*channels.resolved, *channels.broken]
    for path in paths:
        ref = picture.port_of(path.port)
        power = picture.ports[ref].power if ref else None
        if power and (power.enabled or power.state == "deliveringPower"):
            found |= {fold(str(step.end)) for step in path.steps if step.end is not None}
    return frozenset(found)


class _Row(NamedTuple):
    """The labels of one cord, cable or jack, with its own name and where its ends are."""

    tags: tuple[Tag, ...]
    name: str
    ends: tuple[str, ...]
    problem: str = ""

    def names(self, places: _Places) -> set[str]:
        """Every name, folded, under which somebody may ask for it."""
        own = {fold(self.name), *(fold(tag.text) for tag in self.tags)} - {""}
        return own | {name for end in self.ends for name in places.names(end)}


class _Places:
    """Under which names an end is known: its own, and those of its holder, room and rack."""

    def __init__(self, patch_map: PatchMap) -> None:
        self._holders: dict[str, set[str]] = {}
        for holder in patch_map.holders():
            words = (holder.name, holder.room, getattr(holder, "rack", ""))
            self._holders[fold(holder.name)] = {fold(word) for word in words if word}

    def names(self, end: str) -> set[str]:
        """Folded. The name of a holder may itself hold colons: the longest that fits is meant."""
        pieces = fold(end).split(":")
        for length in range(len(pieces), 0, -1):
            holder = ":".join(pieces[:length])
            if holder in self._holders:
                return {fold(end)} | self._holders[holder]
        return {fold(end)}


def _cables(kind: Labelled, patch_map: PatchMap, table: LabelsTable, live: frozenset[str]) -> Iterator[_Row]:
    own = {(str(row.a), str(row.b)): row.label for row in patch_map.cables()}
    for label in labels(patch_map, table):
        if (label.kind == "cord") is (kind is Labelled.CORDS):
            caution = POE_CAUTION if {fold(label.a), fold(label.b)} & live else ""
            both = (Tag(label.at_a, caution=caution), Tag(label.at_b, caution=caution))
            yield _Row(both, own.get((label.a, label.b), ""), (label.a, label.b), _problem(label))


def _problem(label: Label) -> str:
    return f"{label.kind} from {label.a} to {label.b}: {label.problem}" if label.problem else ""


def _jacks(patch_map: PatchMap, live: frozenset[str]) -> Iterator[_Row]:
    beyond = {one.key: other for row in patch_map.fixed_cables for one, other in ((row.a, row.b), (row.b, row.a))}
    holders: list[Panel | Outlet] = [*patch_map.panels, *patch_map.outlets]
    for holder in holders:
        for position in holder.jacks:
            end = End(holder.name, position)
            there = beyond.get(end.key)
            caution = POE_CAUTION if fold(str(end)) in live else ""
            yield _Row((Tag(str(end), f"to {there}" if there else "", caution),), "", (str(end),))


def _all_known(what: Iterable[str], rows: Sequence[_Row], places: _Places, kind: Labelled) -> None:
    known = sorted(set().union(*(row.names(places) for row in rows)))
    for one in what:
        if fold(one) not in known:
            near = difflib.get_close_matches(fold(one), known, n=3)
            raise UsageError(one, f"the map has no {kind} of this name or at this place", " or ".join(near) or _NAMES)
