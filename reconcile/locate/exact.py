"""A few switches: every topology that fits, where the rules alone leave pairs open.

On two, three and four labelled switches there are 1, 4 and 29 trees of switches and wires. Trying them all, with
every way to give wires to ports, finds the joint constraints of several pairs that the rules of `closure` meet one
at a time: what all that fit agree on is certain, and nothing else is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Ports, Tables
    from reconcile.locate.closure import Closure
    from reconcile.locate.wires import LinkEnd

MOST = 4  # switches
_LIMIT = 100_000  # ways to give wires to ports that are tried for one tree
_ELSEWHERE = -3  # a port that faces none of the switches


class Shape(NamedTuple):
    """A tree of switches 0 .. n-1 and wires. `step[a][b]`, `way[a][w]`: first wire from a to switch b, to wire w."""

    wires: tuple[frozenset[int], ...]
    step: tuple[tuple[int, ...], ...]
    way: tuple[tuple[int, ...], ...]


class Place(NamedTuple):
    """Where a station can be: on a wire, or at a port of a switch that is on no wire (the other one is -1)."""

    wire: int
    switch: int


@cache
def shapes(n: int) -> tuple[Shape, ...]:
    """All trees of n labelled switches and the wires between them."""
    possible = [frozenset(c) for size in range(2, n + 1) for c in combinations(range(n), size)]
    found = []
    for count in range(1, n):
        for wires in combinations(possible, count):
            reach = [_reach(wires, a, n) for a in range(n)]
            if sum(len(w) - 1 for w in wires) == n - 1 and all(len(r) == n + count for r in reach):
                step = tuple(tuple(r.get(b, -1) for b in range(n)) for r in reach)
                way = tuple(tuple(r[n + w] for w in range(count)) for r in reach)
                found.append(Shape(wires, step, way))
    return tuple(found)


def _reach(wires: Sequence[frozenset[int]], start: int, n: int) -> dict[int, int]:
    """The first wire on the way from `start` to each switch b (key b) and wire w (key n + w)."""
    first = {start: -1}
    todo = [start]
    for a in todo:
        for w, members in enumerate(wires):
            if a in members and n + w not in first:
                first[n + w] = w if a == start else first[a]
                for b in members - first.keys():
                    first[b] = first[n + w]
                    todo.append(b)
    return first


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways of one shape that are left. `port[a, w]` is the port of a on its wire w, one entry per way."""

    shape: Shape
    port: dict[tuple[int, int], npt.NDArray[np.int16]]
    count: int

    def keep(self, ok: Bools) -> Ways:
        """Those that are marked."""
        return Ways(self.shape, {slot: p[ok] for slot, p in self.port.items()}, int(ok.sum()))

    def places(self) -> list[Place]:
        """All places of the shape."""
        wires = [Place(w, -1) for w in range(len(self.shape.wires))]
        return wires + [Place(-1, a) for a in range(len(self.shape.step))]


@dataclass(slots=True)
class Agreement:
    """What all topologies that fit agree on. `always`, `ever` [station, flat port]: on the wire of this port."""

    links: set[tuple[LinkEnd, LinkEnd]]
    always: Bools
    ever: Bools


@dataclass(slots=True)
class Puzzle:
    """A few switches and what they saw. `facing[a][b]`: ports of a that b may be behind."""

    tables: Tables
    margin: int
    facing: list[list[list[int]]]

    @classmethod
    def of(cls, closure: Closure) -> Puzzle:
        """All switches of the closure, as far as pairs have come."""
        tables = closure.tables
        n = tables.switches
        facing: list[list[list[int]]] = [[[] for _ in range(n)] for _ in range(n)]
        for a, b in combinations(range(n), 2):
            there, here = closure.facing(a, b, tables.witnesses)
            facing[a][b], facing[b][a] = there.tolist(), here.tolist()
        return cls(tables, closure.margin, facing)

    def agreement(self) -> Agreement | None:
        """Tries everything; None where that is too much, or nothing fits."""
        patterns, weight = self._patterns()
        stations = self.tables.port[:, self.tables.switches :]
        result = None
        for shape in shapes(self.tables.switches):
            ways = self._ways(shape)
            if ways is None:
                return None
            homeless = ~np.logical_or.reduce([self._fits(patterns, ways, place) for place in ways.places()])
            ways = ways.keep(weight @ homeless < self.margin)
            if ways.count:
                result = result or self._nothing_yet(ways)
                result.links &= _links(ways)
                for place in ways.places():
                    self._narrow(result, stations, ways, place)
        return result

    def _patterns(self) -> tuple[Ports, Counts]:
        """The different ways in which witnesses were seen, and how many of each there are."""
        witnesses = self.tables.witnesses[self.tables.witnesses >= self.tables.switches]
        seen = self.tables.port[:, witnesses].astype(np.int16)
        for a, row in enumerate(seen):
            trunk = sorted({p for b in self.facing[a] for p in b})
            row[(row >= 0) & ~np.isin(row, trunk)] = _ELSEWHERE
        patterns, weight = np.unique(seen, axis=1, return_counts=True)
        return patterns, weight.astype(np.int32)

    def _ways(self, shape: Shape) -> Ways | None:
        slots = [(a, w) for w, members in enumerate(shape.wires) for a in sorted(members)]
        domains = []
        for a, w in slots:
            beyond = [set(self.facing[a][b]) for b, first in enumerate(shape.step[a]) if first == w]
            domains.append(np.array(sorted(set.intersection(*beyond)), np.int16))
        size = int(np.prod([len(d) for d in domains]))
        if size > _LIMIT:
            return None
        port = dict(zip(slots, (g.ravel() for g in np.meshgrid(*domains, indexing="ij")), strict=True))
        ok = np.ones(size, bool)
        for (a, v), (b, w) in combinations(slots, 2):
            if a == b:
                ok &= port[a, v] != port[b, w]
        for a, p, b, q in self.tables.adjacent:
            both = [w for w, members in enumerate(shape.wires) if a in members and b in members]
            ok &= np.logical_or.reduce([(port[a, w] == p) & (port[b, w] == q) for w in both] or [ok & False])
        return Ways(shape, port, size).keep(ok)

    def _fits(self, seen: Ports, ways: Ways, place: Place) -> Bools:
        """[column of `seen`, way]: a station that was seen so may be at this place."""
        fit = np.ones((seen.shape[1], ways.count), bool)
        shape = ways.shape
        for a, row in enumerate(seen[:, :, None]):
            unseen = row == UNKNOWN
            if a != place.switch:
                first = shape.step[a][place.switch] if place.switch >= 0 else shape.way[a][place.wire]
                fit &= unseen | (row == ways.port[a, first][None, :])
                continue
            own = [ways.port[a, w] for w, members in enumerate(shape.wires) if a in members]
            fit &= ~unseen | (int(self.tables.is_open[a].sum()) > len(own))
            for p in own:
                fit &= row != p[None, :]
        return fit

    def _nothing_yet(self, ways: Ways) -> Agreement:
        shape = (self.tables.port.shape[1] - self.tables.switches, len(self.tables.owner))
        return Agreement(_links(ways), np.ones(shape, bool), np.zeros(shape, bool))

    def _narrow(self, result: Agreement, stations: Ports, ways: Ways, place: Place) -> None:
        """Takes one place of one shape into account."""
        fits = self._fits(stations, ways, place)
        for x in np.flatnonzero(fits.any(1)).tolist():
            on = np.zeros((int(fits[x].sum()), len(self.tables.owner)), bool)
            for a, ports in self._ports_at(ways, place, fits[x], stations[:, x]):
                on[:, self.tables.base[a] : self.tables.base[a + 1]] = ports
            several = place.switch >= 0 and on.sum(1).max() > 1  # unsighted edge ports: any one of them
            result.always[x] &= False if several else on.all(0)
            result.ever[x] |= on.any(0)

    def _ports_at(self, ways: Ways, place: Place, which: Bools, seen: Ports) -> Iterator[tuple[int, Bools]]:
        """Switches with an end at this place, and their ports there as [way, port]."""
        numbers = [np.arange(n) for n in self.tables.ports]
        if place.wire >= 0:
            for a in ways.shape.wires[place.wire]:
                yield a, ways.port[a, place.wire][which][:, None] == numbers[a]
            return
        a = place.switch
        free = np.repeat(self.tables.is_open[a, None, : len(numbers[a])], int(which.sum()), 0)
        for w, members in enumerate(ways.shape.wires):
            if a in members:
                free &= ways.port[a, w][which][:, None] != numbers[a]
        yield a, free if seen[a] == UNKNOWN else free & (numbers[a] == seen[a])


def _links(ways: Ways) -> set[tuple[LinkEnd, LinkEnd]]:
    """Pairs of ports that share a wire in every way."""
    found: set[tuple[LinkEnd, LinkEnd]] = set()
    for w, members in enumerate(ways.shape.wires):
        ends = [(a, int(ways.port[a, w][0])) for a in sorted(members) if (ways.port[a, w] == ways.port[a, w][0]).all()]
        found.update(combinations(ends, 2))
    return found
