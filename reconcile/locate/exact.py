"""A few switches: every topology that fits, where the rules alone leave pairs open.

On two, three and four labelled switches there are 1, 4 and 29 trees of switches and wires. Trying them all, with
every way to give wires to ports, finds the joint constraints of several pairs that the rules of `closure` meet one
at a time: what all that fit agree on is certain, and nothing else is.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import combinations
from math import prod
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Ports, Tables
    from reconcile.locate.closure import Closure
    from reconcile.locate.wires import LinkEnd

MOST = 4  # switches
_MOST_WAYS = 100_000  # ways to give the wires of one tree to ports that are tried
_MOST_WORK = 20_000_000  # all ways times the different ways in which stations were seen: a few tenths of a second
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
    """A few switches and what they saw. `facing[a][b]`: ports of a that b may be behind.

    `silent[a]`: ports of a on which nothing was heard. They are all alike, so that one stands for all of them.
    """

    tables: Tables
    margin: int
    facing: list[list[list[int]]]
    silent: list[list[int]]

    @classmethod
    def of(cls, closure: Closure) -> Puzzle:
        """All switches of the closure, as far as pairs have come."""
        tables = closure.tables
        n = tables.switches
        silent = [_silent_ports(tables, a) for a in range(n)]
        facing: list[list[list[int]]] = [[[] for _ in range(n)] for _ in range(n)]
        for a, b in combinations(range(n), 2):
            there, here = closure.facing(a, b, tables.witnesses)
            facing[a][b] = [p for p in there.tolist() if p not in silent[a][1:]]
            facing[b][a] = [p for p in here.tolist() if p not in silent[b][1:]]
        return cls(tables, closure.margin, facing, silent)

    def agreement(self) -> Agreement | None:
        """Tries everything; None where that is too much, or nothing fits."""
        patterns, weight = self._patterns()
        domains = [self._domains(shape) for shape in shapes(self.tables.switches)]
        sizes = [prod(len(d) for d in domain.values()) for domain in domains]
        if max(sizes) > _MOST_WAYS or sum(sizes) * patterns.shape[1] > _MOST_WORK:
            return None
        stations = self.tables.port[:, self.tables.switches :]
        result = None
        for shape, domain in zip(shapes(self.tables.switches), domains, strict=True):
            ways = self._ways(shape, domain)
            homeless = ~np.logical_or.reduce([self._fits(patterns, ways, place) for place in ways.places()])
            ways = ways.keep(weight @ homeless < self.margin)
            if ways.count:
                result = result or self._nothing_yet(ways)
                result.links &= _links(ways)
                fits = {place: self._fits(stations, ways, place) for place in ways.places()}
                somewhere = np.logical_or.reduce(list(fits.values()))
                result.always[~somewhere.all(1)] = False  # one of the few that the margin lets contradict a way
                for place, fit in fits.items():
                    self._narrow(result, stations, ways, place, fit)
        return self._for_all_silent(result) if result else None

    def _for_all_silent(self, result: Agreement) -> Agreement:
        """What holds for the silent port that stands for others may hold for each of them, and is certain for none."""
        for a, ports in enumerate(self.silent):
            if len(ports) > 1:
                flat = self.tables.base[a] + np.array(ports)
                result.always[:, flat] = False
                result.ever[:, flat] = np.any(result.ever[:, flat], axis=1, keepdims=True)
                result.links = {link for link in result.links if not any(x == a and p in ports for x, p in link)}
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

    def _domains(self, shape: Shape) -> dict[tuple[int, int], list[int]]:
        """The ports that each switch may have on each of its wires."""
        domains = {}
        for w, members in enumerate(shape.wires):
            for a in sorted(members):
                beyond = [set(self.facing[a][b]) for b, first in enumerate(shape.step[a]) if first == w]
                domains[a, w] = sorted(set.intersection(*beyond))
        return domains

    def _ways(self, shape: Shape, domains: dict[tuple[int, int], list[int]]) -> Ways:
        grid = np.meshgrid(*(np.array(d, np.int16) for d in domains.values()), indexing="ij")
        port = {slot: g.ravel() for slot, g in zip(domains, grid, strict=True)}
        ok = np.ones(grid[0].size, bool)
        for a, silent in enumerate(self.silent):
            used = np.zeros(len(ok), np.intp)
            for slot in [slot for slot in port if slot[0] == a] if silent else ():
                is_silent = port[slot] == silent[0]
                port[slot] = np.where(is_silent, np.array([*silent, -1])[np.minimum(used, len(silent))], port[slot])
                used += is_silent
            ok &= used <= len(silent)
        for (a, v), (b, w) in combinations(port, 2):
            if a == b:
                ok &= port[a, v] != port[b, w]
        for a, p, b, q in self.tables.adjacent:
            both = [w for w, members in enumerate(shape.wires) if a in members and b in members]
            ok &= np.logical_or.reduce([(port[a, w] == p) & (port[b, w] == q) for w in both] or [ok & False])
        return Ways(shape, port, len(ok)).keep(ok)

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

    def _narrow(self, result: Agreement, stations: Ports, ways: Ways, place: Place, fits: Bools) -> None:
        """Takes one place of one shape into account: in how many of the ways that fit each port is on that wire."""
        possible = fits.any(1)
        fit = fits.astype(np.float32)
        on = np.zeros((len(fits), len(self.tables.owner)), np.float32)
        for a in ways.shape.wires[place.wire] if place.wire >= 0 else (place.switch,):
            numbers = np.arange(self.tables.ports[a])
            own = slice(self.tables.base[a], self.tables.base[a + 1])
            if place.wire >= 0:
                on[:, own] = fit @ (ways.port[a, place.wire][:, None] == numbers)
                continue
            free = np.repeat(self.tables.is_open[a, None, : len(numbers)], ways.count, 0)
            for w, members in enumerate(ways.shape.wires):
                if a in members:
                    free &= ways.port[a, w][:, None] != numbers
            unseen = stations[a] == UNKNOWN
            on[:, own] = (fit @ free) * (unseen[:, None] | (stations[a][:, None] == numbers))
            result.always[unseen & (fit @ (free.sum(1) > 1) > 0)] = False  # any one of several ports
        result.always[possible] &= (on == fit.sum(1)[:, None])[possible]
        result.ever |= on > 0


def _silent_ports(tables: Tables, a: int) -> list[int]:
    heard = set(tables.port[a].tolist()) | {p for x, p, y, q in tables.adjacent if x == a}
    heard |= {q for x, p, y, q in tables.adjacent if y == a}
    return [p for p in np.flatnonzero(tables.is_open[a, : tables.ports[a]]).tolist() if p not in heard]


def _links(ways: Ways) -> set[tuple[LinkEnd, LinkEnd]]:
    """Pairs of ports that share a wire in every way."""
    found: set[tuple[LinkEnd, LinkEnd]] = set()
    for w, members in enumerate(ways.shape.wires):
        ends = [(a, int(ways.port[a, w][0])) for a in sorted(members) if (ways.port[a, w] == ways.port[a, w][0]).all()]
        found.update(combinations(ends, 2))
    return found
