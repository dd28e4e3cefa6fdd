"""Where each station is, once the tree is known: one port, one wire, or the places that fit.

A station on a wire is seen by every switch where that switch sees the wire. Sighted on a port that faces no switch,
it is there; else its place is whatever no sighting contradicts.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Indexes, Tables
    from reconcile.locate.loose import Openings
    from reconcile.locate.wires import Tree

_BATCH = 4096  # stations at once: keeps the working arrays within some ten megabytes
_LAW_SAMPLE = 500  # placed stations on which the order of ageing is tested
_LAW_GAPS = 0.02  # share of steps without the address up to which that order is taken to hold


class Reason(IntEnum):
    """What a placement rests on."""

    UNSEEN = 0  # no switch of this tree names a port
    EDGE = 1  # sighted on a port that faces no switch
    WIRE = 2  # sighted by every switch at the ends of a trunk wire
    EXCLUDED = 3  # every other place is contradicted
    LAWFUL = 4  # the one place whose own switches all have it, as is the rule on this network
    LONE = 5  # sighted from all ends of a trunk wire, but too few others are
    DISPUTED = 6  # sighted on one edge port, contradicted by some
    EDGES = 7  # sighted on several edge ports
    OPEN = 8  # several places fit
    CONTRADICTED = 9  # no one place fits all sightings
    ALL_AGREE = 10  # every topology of these few switches that fits has it there


@dataclass(frozen=True, slots=True)
class Choice:
    """Places that fit equally well, as bits: trunk wires, and switches on an edge port of which the station may be.

    `ports` are flat port numbers where the places are known as such.
    """

    wire_bits: npt.NDArray[np.uint8] | None = None
    switch_bits: npt.NDArray[np.uint8] | None = None
    ports: Indexes | None = None

    def wires(self) -> Indexes:
        """The trunk wires among the places."""
        return _set_bits(self.wire_bits)

    def flat_ports(self, tables: Tables, tree: Tree) -> Indexes:
        """The ports among the places that are on no trunk wire."""
        if self.ports is not None:
            return self.ports
        switches = np.zeros(len(tables.port), bool)
        switches[_set_bits(self.switch_bits)] = True
        return np.flatnonzero(switches[tables.owner] & tables.flattened(tables.is_open & (tree.wire_of < 0)))


def _set_bits(bits: npt.NDArray[np.uint8] | None) -> Indexes:
    return np.zeros(0, np.intp) if bits is None else np.flatnonzero(np.unpackbits(bits))


@dataclass(slots=True)
class Homes:
    """Per station. `at` is a flat port number (-1: none), `wire` its trunk wire or -1, `reason` a `Reason`.

    `against` counts the sightings that contradict the place, `support` those that bear it out. `choices` has the
    places that fit a station which several fit.
    """

    at: Counts
    wire: Counts
    reason: npt.NDArray[np.int8]
    against: Counts
    support: Counts
    choices: dict[int, Choice]

    @classmethod
    def none(cls, count: int) -> Homes:
        """Nobody placed yet."""
        at, wire, against, support = (np.full(count, v, np.int32) for v in (-1, -1, 0, 0))
        return cls(at, wire, np.zeros(count, np.int8), against, support, {})


def edge_sightings(tables: Tables, edge: Bools) -> tuple[Counts, npt.NDArray[np.int16]]:
    """Per station the port (flat) of a set of edge ports that it was sighted on, and on how many of them it was."""
    at = np.full(len(tables.eligible), UNKNOWN, np.int32)
    count = np.zeros(len(tables.eligible), np.int16)
    for a in range(tables.switches):
        row = tables.port[a, tables.switches :]
        is_edge = np.append(edge[tables.base[a] : tables.base[a + 1]], [False, False])  # [-2] and [-1]: no port
        if not is_edge.any():
            continue
        hit = is_edge[row]
        np.copyto(at, row + tables.base[a], where=hit, casting="unsafe")
        count += hit
    return at, count


def edges_of(tables: Tables, tree: Tree, openings: Openings | None = None) -> Bools:
    """Flat: ports of the core that are on no trunk wire, and ports of loose switches that no switch is behind."""
    edge = tree.wire_of < 0
    edge[tree.loose] = False
    flat = tables.flattened(edge)
    return flat | openings.own_edge if openings else flat


def place(tables: Tables, tree: Tree, openings: Openings, margin: int) -> Homes:
    """The home of every station column."""
    edge = edges_of(tables, tree, openings)
    at, count = edge_sightings(tables, edge)
    count[~tables.eligible] = -1
    homes = Homes.none(len(at))
    homes.at[count == 1] = at[count == 1]
    _agreement(tables, homes)
    homes.reason[count == 1] = Reason.EDGE
    homes.reason[(count == 1) & (homes.against > 0)] = Reason.DISPUTED
    homes.reason[count > 1] = Reason.EDGES
    others = np.flatnonzero(count == 0)
    for i in range(0, len(others), _BATCH):
        _Exclusion.of(tables, tree, others[i : i + _BATCH]).enter(tree, homes, margin)
    _few_on_a_wire(homes, margin)
    if (homes.reason == Reason.OPEN).any() and _is_lawful(tables, tree, homes):
        _apply_law(tables, tree, homes)
    return homes


def _agreement(tables: Tables, homes: Homes) -> None:
    """Counts for each placed station the switches that see it where they see its switch, and those that do not."""
    owner = np.append(tables.owner, 0)[homes.at]
    placed = homes.at >= 0
    against, total = np.zeros(len(owner), np.int16), np.zeros(len(owner), np.int16)
    for a in range(tables.switches):
        row = tables.port[a, tables.switches :]
        expected = tables.towards[a][owner]
        told = (row >= 0) & (expected >= 0)
        total += told
        against += told & (row != expected)
    homes.against[:] = against * placed
    homes.support[:] = (total - against) * placed


@dataclass(slots=True)
class _Exclusion:
    """Stations that no edge port has, and the places that the fewest sightings contradict.

    A place is a trunk wire, or the unsighted edge ports of a switch that has not heard the station.
    """

    stations: Indexes
    known: Bools  # [switch, station]
    fits_wire: Bools  # [wire, station]
    fits_switch: Bools  # [switch, station]
    edges: list[Indexes]  # edge ports (flat) of each switch of the core
    wrong: Counts  # contradicted sightings of the best places

    @classmethod
    def of(cls, tables: Tables, tree: Tree, stations: Indexes) -> _Exclusion:
        seen = np.ascontiguousarray(tables.port[:, stations + tables.switches])
        known = seen >= 0
        at_switch, at_wire = tree.path_costs(lambda c, p: known[c] & (seen[c] != p), len(stations))
        edge = tables.flattened(tables.is_open & (tree.wire_of < 0))
        edges = [np.flatnonzero(edge[tables.base[c] : tables.base[c + 1]]) + tables.base[c] for c in range(len(known))]
        at_switch += known
        at_switch[[c for c in range(len(known)) if not len(edges[c])]] = np.iinfo(np.int16).max
        at_switch[tree.loose] = np.iinfo(np.int16).max
        best = np.minimum(at_switch.min(0), at_wire.min(0, initial=np.iinfo(np.int16).max))
        return cls(stations, known, at_wire == best, at_switch == best, edges, best.astype(np.int32))

    def enter(self, tree: Tree, homes: Homes, margin: int) -> None:
        """Writes what follows into `homes`."""
        heard = self.known.any(0)
        width = np.array([len(e) for e in self.edges], np.int32)
        places = self.fits_wire.sum(0) + width @ self.fits_switch
        clean = heard & (self.wrong == 0)
        self._reason(homes, heard & ~clean, Reason.CONTRADICTED)
        self._reason(homes, clean & (places > 1), Reason.OPEN)
        alone = clean & (places == 1)
        self._reason(homes, alone, Reason.EXCLUDED if margin == 1 else Reason.LONE)
        homes.support[self.stations] = self.known.sum(0)
        homes.against[self.stations] = np.where(heard, self.wrong, 0)
        self._reason(homes, alone & (self.known.sum(0) >= margin), Reason.EXCLUDED)
        for k in np.flatnonzero(alone).tolist():
            x = self.stations[k]
            wires = np.flatnonzero(self.fits_wire[:, k])
            if len(wires):
                ends = tree.wires[wires[0]]
                homes.wire[x] = wires[0]
                homes.at[x] = tree.flat_top[wires[0]]
                if all(self.known[a, k] for a, _ in ends):
                    homes.reason[x] = Reason.WIRE
            else:
                homes.at[x] = self.edges[int(self.fits_switch[:, k].argmax())][0]
        self._choices(homes, heard & ~alone)

    def _reason(self, homes: Homes, which: Bools, reason: Reason) -> None:
        homes.reason[self.stations[which]] = reason

    def _choices(self, homes: Homes, which: Bools) -> None:
        columns = np.flatnonzero(which)
        wires = np.packbits(np.ascontiguousarray(self.fits_wire[:, columns].T), axis=1)
        switches = np.packbits(np.ascontiguousarray(self.fits_switch[:, columns].T), axis=1)
        for x, wire_bits, switch_bits in zip(self.stations[columns].tolist(), wires, switches, strict=True):
            homes.choices[x] = Choice(wire_bits, switch_bits)


def _few_on_a_wire(homes: Homes, margin: int) -> None:
    """A station heard from both ends of a trunk is on an unmanaged switch, or it moved: one alone is no proof."""
    on_wire = np.isin(homes.reason, (Reason.WIRE, Reason.EXCLUDED)) & (homes.wire >= 0)
    if margin > 1 and on_wire.any():
        company = np.bincount(homes.wire[on_wire])
        homes.reason[on_wire & (company[np.maximum(homes.wire, 0) * on_wire] < margin)] = Reason.LONE


def _is_lawful(tables: Tables, tree: Tree, homes: Homes) -> bool:
    """Whether a switch that has an address shares it with the next switch on the way to it, as even ageing makes it.

    Along the way from a station, switches heard it last at the same time or longer ago (IEEE 802.1D: every relayed
    frame is learned), so that with equal ageing times whoever has an address, its own switch has it too.
    """
    placed = np.flatnonzero(homes.reason == Reason.EDGE)[:_LAW_SAMPLE]
    if not len(placed):
        return False
    known = tables.port[:, placed + tables.switches] >= 0
    towards = tables.towards[:, tables.owner[homes.at[placed]]]
    steps = gaps = 0
    for c in tree.order[1:]:
        above = int(tree.parent[c])
        upwards = known[c] & (towards[c] == tree.up[c]) & (towards[above] != tables.towards[above, c])
        steps += int(upwards.sum())
        gaps += int((upwards & ~known[above]).sum())
    return steps > 0 and gaps < _LAW_GAPS * steps


def _apply_law(tables: Tables, tree: Tree, homes: Homes) -> None:
    """Of several places that fit, one alone may be a wire whose switches all have the station."""
    for x in np.flatnonzero(homes.reason == Reason.OPEN).tolist():
        wires = homes.choices[x].wires()
        column = tables.port[:, x + tables.switches]
        full = [w for w in wires.tolist() if all(column[a] >= 0 for a, _ in tree.wires[w])]
        if len(full) == 1:
            homes.reason[x] = Reason.LAWFUL
            homes.wire[x], homes.at[x] = full[0], tree.flat_top[full[0]]
