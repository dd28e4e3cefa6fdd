"""The proof for one loop-free topology, from tables to homes: directions, tree, loose switches, stations."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import UNKNOWN
from reconcile.locate.closure import Closure
from reconcile.locate.exact import MOST, Puzzle
from reconcile.locate.loose import openings, settle
from reconcile.locate.stations import Choice, Reason, edge_sightings, edges_of, place
from reconcile.locate.wires import core_of, grow, inconsistencies

if TYPE_CHECKING:
    from reconcile.locate.arrays import Counts, Indexes, Ports, Tables
    from reconcile.locate.exact import Agreement
    from reconcile.locate.loose import Openings
    from reconcile.locate.stations import Homes
    from reconcile.locate.wires import LinkEnd, Tree

_LOOKS = 4
"""Times that each switch is looked at, at most, while loose ones join the core one wire at a time: many are dear."""
_DOUBTS = 3  # switches whose own addresses are left out, one after the other, where they contradict one another


@dataclass
class Inference:
    """What follows from one set of tables, and all that it follows from.

    `agreed_links` are pairs of ports on one wire that only the trial of all topologies proved.
    """

    tables: Tables
    closure: Closure
    tree: Tree
    openings: Openings
    homes: Homes
    towards: Ports
    agreed_links: set[tuple[LinkEnd, LinkEnd]] = field(default_factory=set)
    doubted: list[int] = field(default_factory=list)  # switches whose own addresses contradict one another

    def unless(self, x: int) -> tuple[int, ...]:
        """The loose switches that the place of station x may belong to instead.

        One that sees the station where it would see this end of the wire has it not behind itself.
        """
        if self.homes.reason[x] == Reason.ALL_AGREE or not self.tree.loose:
            return ()
        n, w = int(self.homes.at[x]), int(self.homes.wire[x])
        on = self.openings.on_wire[w] if w >= 0 else self.openings.on_port[n]
        side = self.openings.wire_side[self.tree.first_end[w]] if w >= 0 else self.openings.port_side[n]
        seen = self.tables.port[self._loose, self.tables.switches + x]
        return tuple(self._loose[on & ~((side >= 0) & (side == seen))].tolist())

    @cached_property
    def _loose(self) -> Indexes:
        return np.array(self.tree.loose, np.intp)

    @cached_property
    def settled_there(self) -> frozenset[int]:
        """Loose switches for which one place alone is left."""
        places = self.openings.on_wire.sum(0) + self.openings.on_port.sum(0)
        return frozenset(g for g, n in zip(self.tree.loose, places.tolist(), strict=True) if n == 1)

    def joined(self, w: int) -> list[list[LinkEnd]]:
        """The ends of a trunk wire, in groups that are on one wire whatever loose switch may be there."""
        on = np.flatnonzero(self.openings.on_wire[w]) if self.tree.loose else np.zeros(0, np.intp)
        groups: dict[tuple[int, ...], list[LinkEnd]] = {}
        for m, end in enumerate(self.tree.wires[w]):
            sides = tuple(self.openings.wire_side[self.tree.first_end[w] + m, on].tolist())
            groups.setdefault(sides if -1 not in sides else (-1, m), []).append(end)
        return list(groups.values())


def prove(tables: Tables, margin: int) -> Inference:
    """Everything that `margin` witnesses prove. Facts that cannot be true together are left out, and named."""
    doubted: list[int] = []
    while True:
        result = infer(tables, margin)
        wrong = inconsistencies(tables, result.tree)
        tables.adjacent = tuple(x for x in tables.adjacent if _is_kept(result.tree, x))
        if not wrong or len(doubted) >= _DOUBTS:
            result.doubted = doubted + [b for _, b in wrong]
            return result
        culprit = Counter(b for _, b in wrong).most_common(1)[0][0]
        doubted.append(culprit)
        tables.direct[:, culprit] = UNKNOWN


def _is_kept(tree: Tree, pair: tuple[int, int, int, int]) -> bool:
    """False for two ports that are on different wires, although LLDP shows them to one another."""
    a, p, b, q = pair
    loose = a in tree.loose or b in tree.loose
    return loose or (tree.wire_of[a, p] >= 0 and tree.wire_of[a, p] == tree.wire_of[b, q])


def infer(tables: Tables, margin: int) -> Inference:
    """One attempt at the proof, all facts taken as true."""
    tables.forget()
    closure = Closure(tables, margin)
    closure.run()
    looks = _LOOKS * tables.switches
    while True:
        tree = grow(tables, *core_of(tables))
        found = openings(closure, tree, _single_homes(tables, tree))
        looks -= len(tree.loose)
        if not tree.loose or not settle(tables, tree, found):
            break
        closure.spread()
        if looks <= 0:
            break
    homes = place(tables, tree, found, margin)
    result = Inference(tables, closure, tree, found, homes, tables.towards.copy())
    if tree.loose and tables.switches <= MOST and (agreement := Puzzle.of(closure).agreement()):
        _agree(result, agreement)
    return result


def _single_homes(tables: Tables, tree: Tree) -> Counts:
    """Where stations with one edge sighting in the core are: witnesses of what loose switches see."""
    if not tree.loose:
        return np.zeros(0, np.int32)
    at, count = edge_sightings(tables, edges_of(tables, tree))
    return np.where((count == 1) & tables.eligible, at, -1)


def _agree(result: Inference, agreement: Agreement) -> None:
    """Adds what every topology that fits has in common."""
    homes = result.homes
    result.agreed_links = agreement.links
    heard = (result.tables.port[:, result.tables.switches :] >= 0).any(0) & result.tables.eligible
    for x in np.flatnonzero(heard).tolist():
        if agreement.always[x].any():
            if homes.at[x] < 0 or not agreement.always[x, homes.at[x]]:
                homes.at[x] = int(agreement.always[x].argmax())
            homes.reason[x] = Reason.ALL_AGREE
            homes.wire[x] = result.tree.wire_of[result.tables.end(int(homes.at[x]))]
        elif result.closure.margin == 1 and agreement.ever[x].any() and x in homes.choices:
            homes.choices[x] = Choice(ports=np.flatnonzero(agreement.ever[x]))
