"""Everything that a few switches can possibly be, by brute force: the outside judge of what is entailed.

A topology of n switches is a hypertree on n labelled vertices (its edges are the segments with two or more managed
ports) and, for each switch and each of its segments, a port. All of them are tried against all tables. Nothing here
is clever, and nothing here is taken from the inference.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations, permutations, product

import networkx as nx
import numpy as np
import numpy.typing as npt

Bools = npt.NDArray[np.bool_]
PortNumber = tuple[int, int]  # switch, port
UNKNOWN = -1


@cache
def hypertrees(n: int) -> tuple[tuple[frozenset[int], ...], ...]:
    """All labelled hypertrees on n vertices: hyperedges whose incidence graph is a tree."""
    edges = [frozenset(c) for size in range(2, n + 1) for c in combinations(range(n), size)]
    found = []
    for count in range(1, n):
        for chosen in combinations(edges, count):
            if sum(len(e) - 1 for e in chosen) == n - 1:
                incidence = nx.Graph([(v, e) for e in chosen for v in e])
                if len([v for v in incidence if isinstance(v, int)]) == n and nx.is_tree(incidence):
                    found.append(chosen)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Entailed:
    """What every consistent topology agrees on. `models` counts the consistent topologies."""

    models: int
    links: frozenset[tuple[PortNumber, PortNumber]]
    stations: dict[int, frozenset[PortNumber]]
    edge_ports: frozenset[PortNumber]
    homes: dict[int, frozenset[PortNumber]]


def entailed(
    ports: list[int],
    station: npt.NDArray[np.int16],
    switch: npt.NDArray[np.int16],
    adverts: list[tuple[PortNumber, PortNumber]],
) -> Entailed:
    """Tries every topology of `len(ports)` switches, `ports[a]` ports each, against tables and LLDP.

    `stations` of the result has, for each station, the ports whose segment it is on in every model; `homes` every
    port on whose segment it is in some model.
    """
    n, count, most = len(ports), station.shape[1], max(ports)
    always = np.ones((count, n, most), bool)
    ever = np.zeros((count, n, most), bool)
    links: set[tuple[PortNumber, PortNumber]] | None = None
    trunks = np.zeros((n, most), bool)
    models = 0
    for structure in hypertrees(n):
        tried = _Assignments.of(structure, ports)
        tried.keep(tried.fits(switch, adverts))
        homes = [(home, tried.homes(home, station)) for home in (*structure, *range(n))]
        if count:
            tried_ok = np.logical_and.reduce([np.logical_or.reduce([fit[x] for _, fit in homes]) for x in range(count)])
        else:
            tried_ok = np.ones(tried.count, bool)
        if not tried_ok.any():
            continue
        models += int(tried_ok.sum())
        joined = tried.links(tried_ok)
        links = joined if links is None else links & joined
        for (a, _), p in tried.port.items():
            trunks[a, np.unique(p[tried_ok])] = True
        for home, fit in homes:
            for x in range(count):
                possible = fit[x] & tried_ok
                if possible.any():
                    tried.narrow(home, station[:, x], possible, always[x], ever[x])
    cells = np.argwhere
    return Entailed(
        models,
        frozenset(links or ()),
        {x: frozenset((int(a), int(p)) for a, p in cells(always[x]) if p < ports[a]) for x in range(count)},
        frozenset((a, p) for a in range(n) for p in range(ports[a]) if not trunks[a, p]),
        {x: frozenset((int(a), int(p)) for a, p in cells(ever[x]) if p < ports[a]) for x in range(count)},
    )


@dataclass(slots=True)
class _Assignments:
    """All ways to give the segments of one hypertree to ports. `port[a, e]` has the port of `a` on `e`, per way."""

    structure: tuple[frozenset[int], ...]
    ports: list[int]
    port: dict[tuple[int, frozenset[int]], npt.NDArray[np.int16]]
    count: int

    @classmethod
    def of(cls, structure: tuple[frozenset[int], ...], ports: list[int]) -> _Assignments:
        slots = [[e for e in structure if a in e] for a in range(len(ports))]
        ways = [list(permutations(range(p), len(s))) for p, s in zip(ports, slots, strict=True)]
        grid = np.meshgrid(*(np.arange(len(w)) for w in ways), indexing="ij")
        port = {}
        for a, own in enumerate(slots):
            table = np.array(ways[a], np.int16).reshape(len(ways[a]), len(own))
            for k, e in enumerate(own):
                port[a, e] = table[grid[a].ravel(), k]
        return cls(structure, ports, port, grid[0].size)

    def keep(self, ok: Bools) -> None:
        self.port = {key: p[ok] for key, p in self.port.items()}
        self.count = int(ok.sum())

    def towards(self, a: int, goal: int | frozenset[int]) -> npt.NDArray[np.int16]:
        """The port of `a` on the way to another switch or to a segment."""
        return self.port[a, _first_step(self.structure, a, goal)]

    def fits(self, switch: npt.NDArray[np.int16], adverts: list[tuple[PortNumber, PortNumber]]) -> Bools:
        ok = np.ones(self.count, bool)
        for a, b in np.argwhere(switch >= 0).tolist():
            ok &= self.towards(a, b) == switch[a, b]
        for (a, p), (b, q) in adverts:
            same = np.zeros(self.count, bool)
            for e in self.structure:
                if a in e and b in e:
                    same |= (self.port[a, e] == p) & (self.port[b, e] == q)
            ok &= same
        return ok

    def homes(self, home: int | frozenset[int], station: npt.NDArray[np.int16]) -> Bools:
        """Per station and way: whether it may be on this segment, or on a port of this switch that is on none."""
        fit = np.ones((station.shape[1], self.count), bool)
        for b in range(len(self.ports)):
            seen = station[b][:, None]
            if b != home:
                fit &= (seen == UNKNOWN) | (seen == self.towards(b, home)[None, :])
                continue
            own = [self.port[b, e] for e in self.structure if b in e]
            fit &= (seen != UNKNOWN) | (len(own) < self.ports[b])
            for p in own:
                fit &= seen != p[None, :]
        return fit

    def links(self, ok: Bools) -> set[tuple[PortNumber, PortNumber]]:
        """Pairs of ports that share a segment in every way that is left."""
        found = set()
        for e in self.structure:
            for a, b in product(e, e):
                p, q = self.port[a, e][ok], self.port[b, e][ok]
                if a < b and (p == p[0]).all() and (q == q[0]).all():
                    found.add(((a, int(p[0])), (b, int(q[0]))))
        return found

    def narrow(
        self, home: int | frozenset[int], seen: npt.NDArray[np.int16], possible: Bools, always: Bools, ever: Bools
    ) -> None:
        """Takes one kind of home of one station into account: `always` and `ever` are [switch, port]."""
        here = np.zeros_like(always)
        some = np.zeros_like(always)
        if isinstance(home, frozenset):
            for a in home:
                used = np.unique(self.port[a, home][possible])
                some[a, used] = True
                here[a, used] = len(used) == 1
        else:
            free = np.ones((int(possible.sum()), always.shape[1]), bool)
            free[:, self.ports[home] :] = False
            for e in self.structure:
                if home in e:
                    free[np.arange(len(free)), self.port[home, e][possible]] = False
            if seen[home] != UNKNOWN:
                free[:, np.arange(free.shape[1]) != seen[home]] = False
            some[home] = free.any(0)
            here[home] = some[home] & (some[home].sum() == 1)
        always &= here
        ever |= some


@cache
def _first_step(structure: tuple[frozenset[int], ...], a: int, goal: int | frozenset[int]) -> frozenset[int]:
    incidence = nx.Graph([(v, e) for e in structure for v in e])
    step = nx.shortest_path(incidence, a, goal)[1]
    assert isinstance(step, frozenset)
    return step


def orders(n: int) -> Iterator[int]:
    """How many hypertrees there are for 2 .. n vertices."""
    return (len(hypertrees(k)) for k in range(2, n + 1))
