"""Switches that pairs of ports do not place: where they may be, judged by all that they see of the tree.

A switch on a wire sees everything beyond one end of that wire on one port. Stations with a known home and switches
of the core, counted per end of the wire and per port, say which wires fit; where one place alone is left, the
directions follow. What stays open is handed on: which loose switch may be on which wire, or behind which port.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Ports, Tables
    from reconcile.locate.closure import Closure
    from reconcile.locate.wires import LinkEnd, Tree

_FEW = 8  # possible places up to which what they have in common is worked out


@dataclass(slots=True)
class Openings:
    """Where switches that nothing places may be, and which ports surely face no switch.

    `on_wire[w, k]`, `on_port[n, k]`: the k-th loose switch may be on this trunk wire, or behind this port (flat
    number) that is on none. `wire_side[m, k]`, `port_side[n, k]`: the port on which it would then see the m-th end of
    all wires, or the port; -1 if open. `own_edge[n]`: no switch can be behind this port of a loose switch.
    """

    loose: list[int]
    on_wire: Bools
    on_port: Bools
    wire_side: Ports
    port_side: Ports
    own_edge: Bools


def openings(closure: Closure, tree: Tree, home: Counts) -> Openings:
    """Places the loose switches as far as can be. `home[x]`: the core port (flat) that station x is at, or -1."""
    tables = closure.tables
    behind, own_edge = _pairwise(closure, tree)
    on_switch, on_wire = (c == 0 for c in tree.path_costs(lambda c, p: ~behind[tables.flat(c, p)], len(tree.loose)))
    on_port = behind & on_switch[tables.owner]
    on_port[~_edges(tables, tree)] = False
    found = Openings(
        tree.loose,
        on_wire,
        on_port,
        np.full((len(tree.end_switch), len(tree.loose)), UNKNOWN, np.int16),
        np.full(on_port.shape, UNKNOWN, np.int16),
        own_edge,
    )
    for k, g in enumerate(tree.loose):
        _view(closure, tree, home, found, k, g)
    return found


def _edges(tables: Tables, tree: Tree) -> Bools:
    """Flat: ports of core switches that something may be behind and that are on no trunk wire."""
    edge = tables.is_open & (tree.wire_of < 0)
    edge[tree.loose] = False
    return tables.flattened(edge)


def _pairwise(closure: Closure, tree: Tree) -> tuple[Bools, Bools]:
    """For each loose switch the ports it may be behind, pair by pair; and its own ports that nobody is behind."""
    tables, towards = closure.tables, closure.tables.towards
    behind = np.zeros((len(tree.loose), len(tables.owner)), bool)  # turned round at the end: rows are written faster
    own_edge = np.zeros(len(tables.owner), bool)
    numbers = (np.arange(len(tables.owner)) - tables.base[tables.owner]).astype(towards.dtype)
    for k, g in enumerate(tree.loose):
        there, here = closure.facing_all(g)
        theirs, mine = towards[:, g], towards[g]
        told = theirs[tables.owner]
        behind[k] = np.where(told >= 0, numbers == told, there)
        behind[k, tables.base[g] : tables.base[g + 1]] = False
        faces = np.where(mine[:, None] >= 0, np.arange(here.shape[1]) == mine[:, None], here)
        faces[g] = False
        own_edge[tables.base[g] : tables.base[g + 1]] = tables.is_open[g, : tables.ports[g]] & ~faces.any(0)
    return np.ascontiguousarray(behind.T), own_edge


def _view(closure: Closure, tree: Tree, home: Counts, found: Openings, k: int, g: int) -> None:
    """Drops the places that what g sees excludes, and notes on which port it would see each end of the others."""
    margin = closure.margin
    at_port, at_switch = _seen_homes(closure.tables, home, g, margin)
    beyond = tree.beyond(at_switch)
    total = beyond[tree.order[0]]
    if tree.wires:
        sides = beyond[tree.end_switch]
        sides[tree.first_end] = 0
        sides[tree.first_end] = total - np.add.reduceat(sides, tree.first_end, axis=0)
        found.wire_side[:, k], wrong = _one_port(sides, margin)
        found.on_wire[:, k] &= np.add.reduceat(wrong, tree.first_end) < margin
    ports = np.flatnonzero(found.on_port[:, k])
    found.port_side[ports, k], wrong = _one_port(total - at_port[ports], margin)
    found.on_port[ports, k] = wrong < margin


def _seen_homes(tables: Tables, home: Counts, g: int, margin: int) -> tuple[Counts, Counts]:
    """How many different witnesses at each port, and at each switch, g sees on each of its ports.

    A switch whose direction is settled counts as much as the margin asks.
    """
    width = tables.ports[g]
    seen = tables.port[g, tables.switches :]
    use = (seen >= 0) & (home >= 0)
    cells = home[use].astype(np.int64) * width + seen[use]
    count = np.bincount(cells, minlength=len(tables.owner) * width).reshape(-1, width)
    at_port: Counts = (count > 0 if margin > 1 else count).astype(np.int32)
    at_switch = np.add.reduceat(at_port, tables.base[:-1], axis=0)
    known = np.flatnonzero(tables.towards[g] >= 0)
    at_switch[known, tables.towards[g, known]] += margin
    return at_port, at_switch


def _one_port(sides: Counts, margin: int) -> tuple[npt.NDArray[np.int16], Counts]:
    """Per side the one port that the witnesses beyond it are seen on, if it is clear; and how many contradict it."""
    best = sides.argmax(1)
    most = sides[np.arange(len(sides)), best]
    wrong = sides.sum(1, dtype=np.int32) - most
    return np.where((most >= margin) & (wrong < margin), best, UNKNOWN).astype(np.int16), wrong


def settle(tables: Tables, tree: Tree, found: Openings) -> bool:
    """Writes the directions that follow where one place is left; true when there was something new."""
    towards = tables.towards
    before = np.count_nonzero(towards >= 0)
    for k, g in enumerate(tree.loose):
        wires, ports = np.flatnonzero(found.on_wire[:, k]), np.flatnonzero(found.on_port[:, k])
        if not 0 < len(wires) + len(ports) <= _FEW:
            continue
        places = []
        for w in wires.tolist():
            first = int(tree.first_end[w])
            places.append((tree.wires[w], found.wire_side[first : first + len(tree.wires[w]), k]))
        for n in ports.tolist():
            end = (int(tables.owner[n]), int(n - tables.base[tables.owner[n]]))
            places.append(([end], found.port_side[n : n + 1, k]))
        views = [_directions(tree, ends, sides) for ends, sides in places]
        for known, mine_or_theirs in ((towards[:, g], 0), (towards[g], 1)):
            told = views[0][mine_or_theirs]
            agreed = np.logical_and.reduce([v[mine_or_theirs] == told for v in views])
            new = agreed & (told >= 0) & (known < 0)
            known[new] = told[new]
    return bool(np.count_nonzero(towards >= 0) > before)


def _directions(tree: Tree, ends: list[LinkEnd], sides: Ports) -> tuple[Ports, Ports]:
    """If a switch were between these ends: the port of every switch towards it, and its port towards every switch."""
    theirs = np.full(len(tree.parent), UNKNOWN, np.int16)
    mine = np.full(len(tree.parent), UNKNOWN, np.int16)
    top = ends[0][0]
    theirs[tree.order] = tree.up[tree.order]
    mine[tree.order] = sides[0]
    a, p = ends[0]
    theirs[a] = p
    while tree.parent[a] >= 0:
        b, a = a, int(tree.parent[a])
        theirs[a] = tree.wires[tree.wire_of[b, tree.up[b]]][0][1]
    lower = {b: int(side) for (b, _), side in zip(ends[1:], sides[1:].tolist(), strict=True)}
    for b in tree.order[tree.order.index(top) :] if lower else []:
        if b in lower:
            mine[b] = lower[b]
        elif int(tree.parent[b]) in lower:
            lower[b] = lower[int(tree.parent[b])]
            mine[b] = lower[b]
    return theirs, mine
