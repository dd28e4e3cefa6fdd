"""Looks up what the ends of cords and cables name, and what is plugged in at each place.

A jack has two sides: the installed side takes one fixed cable, the patching side one cord (ISO/IEC 11801). A switch
port and a device's socket have one side, which takes a cord, or a fixed cable that ends in a plug (ANSI/TIA-568.2-D,
modular plug terminated link; from memory).
"""

from __future__ import annotations

import heapq
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from collectors.names import port_key
from reconcile.patchmap.columns import listed
from reconcile.patchmap.messages import Suggestions, quoted
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch, fold

_Key = Callable[[str], str]

Holder = Switch | Panel | Outlet | Device
"""What ends are on."""

KIND_WORDS: Mapping[type, str] = {Switch: "switch", Panel: "panel", Outlet: "outlet", Device: "device"}


class Side(StrEnum):
    """Which side of a place a cord or cable is on."""

    INSTALLED = "installed side"
    PATCHING = "patching side"
    ONLY = "socket"  # of a switch port or a device


Slot = tuple[str, str, Side]
"""A place and one side of it: it takes one cord or cable."""


@dataclass(frozen=True, slots=True)
class Place:
    """A port, jack or socket that exists. `end` has the names as their owner's row spells them."""

    holder: Holder
    end: End
    key: tuple[str, str]

    @property
    def two_sided(self) -> bool:
        """True for jacks of panels and outlets."""
        return isinstance(self.holder, (Panel, Outlet))

    def slot(self, *, fixed: bool) -> Slot:
        """Where a fixed cable, or a cord, is at this place."""
        if not self.two_sided:
            return (*self.key, Side.ONLY)
        return (*self.key, Side.INSTALLED if fixed else Side.PATCHING)


class NoPlace(NamedTuple):
    """An end that names nothing: the code of the fault and the words for its blanks."""

    code: str
    words: Mapping[str, str]


class Link(NamedTuple):
    """One cord, fixed cable, or device's `at`, with its two ends as far as they exist."""

    row: Cord | FixedCable | Device
    a: Place | NoPlace
    b: Place | NoPlace

    @property
    def fixed(self) -> bool:
        """True for an installed cable."""
        return isinstance(self.row, FixedCable)

    @property
    def plugs(self) -> tuple[tuple[tuple[str, str], str], ...]:
        """Each place that it joins to a device, with the device's folded name, whichever socket it is."""
        ends = [(one, other) for one, other in ((self.a, self.b), (self.b, self.a)) if isinstance(one, Place)]
        return tuple(
            (one.key, fold(other.holder.name))
            for one, other in ends
            if isinstance(other, Place) and isinstance(other.holder, Device)
        )

    @property
    def slots(self) -> tuple[Slot, ...]:
        """The places it takes; fewer than two when an end names nothing."""
        return tuple(end.slot(fixed=self.fixed) for end in (self.a, self.b) if isinstance(end, Place))

    def fields(self) -> Iterator[tuple[str, Place | NoPlace]]:
        """The field of its row behind each end. The socket of a device's `at` is the device itself."""
        yield ("at", self.a) if isinstance(self.row, Device) else ("a", self.a)
        yield ("name", self.b) if isinstance(self.row, Device) else ("b", self.b)

    def __str__(self) -> str:
        if isinstance(self.row, Device):
            words = f"device {quoted(self.row.name)}"
        elif isinstance(self.row, FixedCable):
            words = f"fixed cable {quoted(self.row.label)}" if self.row.label else "a fixed cable"
        else:
            words = f"cord {quoted(self.row.label)}" if self.row.label else "a cord"
        return f"{words} ({self.row.origin})" if self.row.origin.file else words


class MapIndex:
    """Look-ups over one patch map: `links` in the order of their tables, `at_slot` the links at each place's side.

    `crowded` says, for a side with more links than it takes, which they are.
    """

    def __init__(self, patch_map: PatchMap) -> None:
        self._suggest = Suggestions()
        self._holders: dict[str, Holder] = {}
        for holder in patch_map.holders():
            self._holders.setdefault(fold(holder.name), holder)
        self._names = [holder.name for holder in self._holders.values()]
        self._positions: dict[str, dict[str, str]] = {}
        self.links = [Link(row, self.place(row.a), self.place(row.b)) for row in patch_map.cables()]
        # A device whose `at` only repeats what its cord says has one cord, not two.
        recorded = {plug for link in self.links for plug in link.plugs}
        plugged = (Link(row, self.place(row.at), self.place(End(row.name))) for row in patch_map.devices if row.at)
        self.links += [link for link in plugged if not (recorded & set(link.plugs))]
        self.at_slot: dict[Slot, list[Link]] = defaultdict(list)
        for link in self.links:
            for slot in set(link.slots):
                self.at_slot[slot].append(link)
        self.crowded = {slot: _users(links) for slot, links in self.at_slot.items() if len(links) > 1}

    def holder(self, name: str) -> Holder | None:
        """The switch, panel, outlet or device of that name."""
        return self._holders.get(fold(name))

    def place(self, end: End) -> Place | NoPlace:
        """What an end names, or why it names nothing."""
        holder = self.holder(end.name)
        if holder is None:
            hint = self._suggest(end.name, self._names, "add it to its table, or correct the name")
            return NoPlace("unknown-name", {"name": quoted(end.name), "suggestion": hint})
        if isinstance(holder, Device):
            return Place(holder, End(holder.name, end.position), (fold(holder.name), fold(end.position)))
        if not end.position and not (isinstance(holder, (Panel, Outlet)) and len(holder.jacks) == 1):
            part = "PORT" if isinstance(holder, Switch) else "JACK"
            words = {"name": holder.name[:60], "kind": KIND_WORDS[type(holder)], "part": part}
            return NoPlace("no-position", words)
        if isinstance(holder, Switch):
            return self._port(holder, end.position)
        return self._jack(holder, end.position or holder.jacks[0])

    def _port(self, switch: Switch, position: str) -> Place | NoPlace:
        """A port in any usual spelling; one of the switch's own list where it has one."""
        known = self._spellings(switch, switch.ports, port_key)
        name = known.get(fold(position)) or known.get(port_key(position)) if switch.ports else position
        if not name:
            hint = self._suggest(position, switch.ports, f"it has {_span(switch.ports)}")
            words = {"name": quoted(switch.name), "position": quoted(position), "suggestion": hint}
            return NoPlace("no-such-port", words)
        key = fold(name) if switch.ports else port_key(name)
        return Place(switch, End(switch.name, name), (fold(switch.name), key))

    def _jack(self, holder: Panel | Outlet, position: str) -> Place | NoPlace:
        """A jack; 7 and 07 are the same one, unless the panel has both."""
        known = self._spellings(holder, holder.jacks, _unpadded)
        name = known.get(fold(position)) or known.get(_unpadded(position))
        if not name:
            words = {"kind": KIND_WORDS[type(holder)], "name": quoted(holder.name), "position": quoted(position)}
            return NoPlace("no-such-jack", words | {"have": _span(holder.jacks)})
        return Place(holder, End(holder.name, name), (fold(holder.name), fold(name)))

    def _spellings(self, holder: Holder, names: tuple[str, ...], key: _Key) -> dict[str, str]:
        """The position that each spelling means; a loose spelling that means several is left out."""
        found = self._positions.get(fold(holder.name))
        if found is None:
            loose: dict[str, set[str]] = defaultdict(set)
            for name in names:
                loose[key(name)].add(name)
            found = {spelling: min(meant) for spelling, meant in loose.items() if len(meant) == 1}
            found |= {fold(name): name for name in names}
            self._positions[fold(holder.name)] = found
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


def natural(text: str) -> tuple[tuple[int, str], ...]:
    """A key that sorts names as people do: PP-2 before PP-10."""
    parts = re.findall(r"\d+|\D+", fold(text))
    return tuple((int(p), "") if p.isdecimal() and p.isascii() else (-1, p) for p in parts)
