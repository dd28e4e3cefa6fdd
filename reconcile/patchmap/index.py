"""Looks up what the ends of cords and cables name, and what is plugged in at each place.

A jack has two sides: the installed side takes one fixed cable, the patching side one cord (ISO/IEC 11801). A switch
port and a device's socket have one side, which takes a cord, or a fixed cable that ends in a plug (ANSI/TIA-568.2-D,
modular plug terminated link; from memory).
"""

from __future__ import annotations

import heapq
import re
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from collectors.names import port_key
from reconcile.patchmap.columns import listed
from reconcile.patchmap.messages import Suggestions, quoted
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch, fold

Holder = Switch | Panel | Outlet | Device
"""What ends are on."""


class HolderKind(StrEnum):
    """The kinds of holder."""

    SWITCH = "switch"
    PANEL = "panel"
    OUTLET = "outlet"
    DEVICE = "device"


class LinkKind(StrEnum):
    """What joins two places."""

    FIXED = "fixed cable"
    CORD = "cord"
    AT = "device"  # a device's `at`: a cord that has no row of its own


class Side(StrEnum):
    """Which side of a place a cord or cable is on."""

    INSTALLED = "installed side"
    PATCHING = "patching side"
    ONLY = "socket"  # of a switch port or a device


Slot = tuple[str, str, Side]
"""A place and one side of it: it takes one cord or cable."""


class Place(NamedTuple):
    """A port, jack or socket that exists. `end` has the names as their owner's row spells them."""

    kind: HolderKind
    holder: Holder
    end: End
    key: tuple[str, str]
    two_sided: bool = False
    """True for jacks of panels and outlets."""

    def slot(self, *, fixed: bool) -> Slot:
        """Where a fixed cable, or a cord, is at this place."""
        if not self.two_sided:
            return (*self.key, Side.ONLY)
        return (*self.key, Side.INSTALLED if fixed else Side.PATCHING)


class NoPlace(NamedTuple):
    """An end that names nothing: the code of the fault and the words for its blanks."""

    code: str
    words: Mapping[str, str]


class LinkEnd(NamedTuple):
    """One end of a link: the field of its row, what it names, and which side of it is taken."""

    field: str
    place: Place | NoPlace
    slot: Slot | None


@dataclass(frozen=True, slots=True, eq=False)
class Link:
    """One cord, fixed cable, or device's `at`, with its two ends as far as they exist."""

    kind: LinkKind
    row: Cord | FixedCable | Device
    a: LinkEnd
    b: LinkEnd

    @property
    def fixed(self) -> bool:
        """True for an installed cable."""
        return self.kind is LinkKind.FIXED

    @property
    def ends(self) -> tuple[LinkEnd, LinkEnd]:
        """Both ends."""
        return (self.a, self.b)

    def at(self, slot: Slot) -> LinkEnd:
        """The end at this slot."""
        return self.a if self.a.slot == slot else self.b

    def beyond(self, slot: Slot) -> LinkEnd:
        """The end that is not at this slot."""
        return self.b if self.a.slot == slot else self.a

    @property
    def plugs(self) -> tuple[tuple[tuple[str, str], str], ...]:
        """Each place that it joins to a device, with the device's folded name, whichever socket it is."""
        found = []
        for one, other in ((self.a.place, self.b.place), (self.b.place, self.a.place)):
            if isinstance(one, Place) and isinstance(other, Place) and other.kind is HolderKind.DEVICE:
                found.append((one.key, other.key[0]))
        return tuple(found)

    def __str__(self) -> str:
        label = self.row.name if self.kind is LinkKind.AT else self.row.label  # type: ignore[union-attr]  # by its kind
        words = f"{self.kind} {quoted(label)}" if label else f"a {self.kind}"
        return f"{words} ({self.row.origin})" if self.row.origin.file else words


class MapIndex:
    """Look-ups over one patch map: `links` in the order of their tables, `at_slot` the links at each place's side.

    `crowded` says, for a side with more links than it takes, which they are.
    """

    def __init__(self, patch_map: PatchMap) -> None:
        self._suggest = Suggestions()
        self._holders: dict[str, tuple[HolderKind, Holder]] = {}
        for kind, holders in (
            (HolderKind.SWITCH, patch_map.switches),
            (HolderKind.PANEL, patch_map.panels),
            (HolderKind.OUTLET, patch_map.outlets),
            (HolderKind.DEVICE, patch_map.devices),
        ):
            for holder in holders:
                self._holders.setdefault(fold(holder.name), (kind, holder))
        self._names = [holder.name for _, holder in self._holders.values()]
        self._positions: dict[str, dict[str, str]] = {}
        self.links = [self._link(LinkKind.FIXED, row, ("a", row.a), ("b", row.b)) for row in patch_map.fixed_cables]
        self.links += [self._link(LinkKind.CORD, row, ("a", row.a), ("b", row.b)) for row in patch_map.cords]
        # A device whose `at` only repeats what its cord says has one cord, not two.
        recorded = {plug for link in self.links for plug in link.plugs}
        for row in patch_map.devices:
            if row.at:
                link = self._link(LinkKind.AT, row, ("at", row.at), ("name", End(row.name)))
                if not any(plug in recorded for plug in link.plugs):
                    self.links.append(link)
        self.at_slot: dict[Slot, list[Link]] = defaultdict(list)
        for link in self.links:
            for slot in {end.slot for end in link.ends if end.slot}:
                self.at_slot[slot].append(link)
        self.crowded = {slot: _users(links) for slot, links in self.at_slot.items() if len(links) > 1}

    def _link(self, kind: LinkKind, row: Cord | FixedCable | Device, *ends: tuple[str, End]) -> Link:
        a, b = (self._end(field, end, fixed=kind is LinkKind.FIXED) for field, end in ends)
        return Link(kind, row, a, b)

    def _end(self, field: str, end: End, *, fixed: bool) -> LinkEnd:
        place = self.place(end)
        return LinkEnd(field, place, place.slot(fixed=fixed) if isinstance(place, Place) else None)

    def holder(self, name: str) -> Holder | None:
        """The switch, panel, outlet or device of that name."""
        found = self._holders.get(fold(name))
        return found[1] if found else None

    def place(self, end: End) -> Place | NoPlace:
        """What an end names, or why it names nothing."""
        key = fold(end.name)
        found = self._holders.get(key)
        if found is None:
            hint = self._suggest(end.name, self._names, "add it to its table, or correct the name")
            return NoPlace("unknown-name", {"name": quoted(end.name), "suggestion": hint})
        kind, holder = found
        if isinstance(holder, Device):
            return Place(kind, holder, End(holder.name, end.position), (key, fold(end.position)))
        if isinstance(holder, Switch):
            if end.position:
                return self._port(key, holder, end.position)
        elif end.position or len(holder.jacks) == 1:
            return self._jack(key, kind, holder, end.position or holder.jacks[0])
        part = "PORT" if kind is HolderKind.SWITCH else "JACK"
        return NoPlace("no-position", {"name": holder.name[:60], "kind": kind.value, "part": part})

    def _port(self, key: str, switch: Switch, position: str) -> Place | NoPlace:
        """A port in any usual spelling; one of the switch's own list where it has one."""
        name = position
        if switch.ports:
            known = self._spellings(key, switch.ports, port_key)
            name = known.get(fold(position)) or known.get(port_key(position)) or ""
        if not name:
            hint = self._suggest(position, switch.ports, f"it has {_span(switch.ports)}")
            words = {"name": quoted(switch.name), "position": quoted(position), "suggestion": hint}
            return NoPlace("no-such-port", words)
        return Place(
            HolderKind.SWITCH, switch, End(switch.name, name), (key, fold(name) if switch.ports else port_key(name))
        )

    def _jack(self, key: str, kind: HolderKind, holder: Panel | Outlet, position: str) -> Place | NoPlace:
        """A jack; 7 and 07 are the same one, unless the panel has both."""
        known = self._spellings(key, holder.jacks, _unpadded)
        name = known.get(fold(position)) or known.get(_unpadded(position))
        if not name:
            words = {"kind": kind.value, "name": quoted(holder.name), "position": quoted(position)}
            return NoPlace("no-such-jack", words | {"have": _span(holder.jacks)})
        return Place(kind, holder, End(holder.name, name), (key, fold(name)), two_sided=True)

    def _spellings(self, key: str, names: tuple[str, ...], loosely: Callable[[str], str]) -> dict[str, str]:
        """The position that each spelling means; a loose spelling that means several is left out."""
        found = self._positions.get(key)
        if found is None:
            loose: dict[str, set[str]] = defaultdict(set)
            for name in names:
                loose[loosely(name)].add(name)
            found = {spelling: min(meant) for spelling, meant in loose.items() if len(meant) == 1}
            found |= {fold(name): name for name in names}
            self._positions[key] = found
        return found


def _users(links: list[Link]) -> str:
    words = heapq.nsmallest(3, map(str, links))
    more = [f"{len(links) - 3} more"] if len(links) > 3 else []
    return listed(words + more)


def _unpadded(position: str) -> str:
    return re.sub(r"(?<!\d)0+(?=\d)", "", fold(position))


def _span(names: tuple[str, ...]) -> str:
    """Positions for a sentence: all of a few, else the first and the last."""
    return listed(names) if len(names) <= 4 else f"{names[0]} to {names[-1]}"


@lru_cache(maxsize=1 << 16)
def natural(text: str) -> tuple[tuple[int, str], ...]:
    """A key that sorts names as people do: PP-2 before PP-10."""
    parts = re.findall(r"\d{1,18}|\D+", fold(text))  # bounded: int() refuses thousands of digits
    return tuple((int(p), "") if p.isdecimal() and p.isascii() else (-1, p) for p in parts)
