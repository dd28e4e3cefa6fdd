"""Where a station may be of which no single place fits all sightings: the places that do so in pairs.

A station that was plugged in elsewhere a moment ago is seen by each switch where it is or, for as long as entries
last, where it was (300 s by default, IEEE 802.1D table 7-5; from memory). So it may be at a place when all sightings
that contradict that place fit one other place. The one that the fewest contradict is the likeliest, but it is not
always the true one: if most switches on the way have not heard it since, it is where it was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import UNKNOWN

if TYPE_CHECKING:
    from reconcile.locate.arrays import Bools, Indexes, Ports, Tables
    from reconcile.locate.wires import Tree


def places_in_pairs(tables: Tables, tree: Tree, x: int) -> list[int]:
    """The ports (flat) of each of two places that together account for all sightings of station x.

    Those of the place that the fewest sightings contradict come first. Empty when no two places do.
    """
    seen = tables.port[:, tables.switches + x]
    heard = np.array(sorted(c for c in tree.order if seen[c] >= 0), np.intp)
    row = {c: k for k, c in enumerate(heard.tolist())}
    homes = np.array([c for c in tree.order if _edges(tables, tree, c)], np.intp)
    sighted = np.array([c for c in heard.tolist() if tree.wire_of[c, seen[c]] < 0], np.intp)
    wrong = np.hstack(
        [
            _at_switches(tables, seen, heard, homes, own=True),
            _on_wires(tables, tree, seen, heard),
            _at_switches(tables, seen, heard, sighted, own=False),
        ]
    )

    def misfit(c: int, port: int) -> Bools:
        k = row.get(c)
        return np.zeros(wrong.shape[1], np.bool_) if k is None else wrong[k] & (seen[c] != port)

    at_port, at_wire = tree.path_costs(misfit, wrong.shape[1])
    at_switch = at_port.copy()
    for c, k in row.items():
        at_switch[c] += wrong[k]  # its own sighting fits none of its other ports
    explained = (at_switch[homes] == 0).any(0) | (at_wire == 0).any(0) | (at_port[sighted] == 0).any(0)
    ports = [_edges(tables, tree, c, but=int(seen[c])) for c in homes.tolist()]
    ports += [[tables.flat(*end) for end in ends] for ends in tree.wires]
    ports += [[tables.flat(c, int(seen[c]))] for c in sighted.tolist()]
    likeliest = np.argsort(wrong.sum(0), kind="stable")
    return [port for n in likeliest.tolist() if explained[n] for port in ports[n]]


def _at_switches(tables: Tables, seen: Ports, heard: Indexes, homes: Indexes, *, own: bool) -> Bools:
    """[heard switch, place]: whether its sighting contradicts an edge port of that switch; `own`: its own does too."""
    wrong: Bools = tables.towards[np.ix_(heard, homes)] != seen[heard, None]
    wrong[heard[:, None] == homes] = own
    return wrong


def _on_wires(tables: Tables, tree: Tree, seen: Ports, heard: Indexes) -> Bools:
    """The same of every trunk wire."""
    row = {c: k for k, c in enumerate(heard.tolist())}
    tops = np.array([ends[0][0] for ends in tree.wires], np.intp)
    wrong: Bools = tables.towards[np.ix_(heard, tops)] != seen[heard, None]
    for n, ends in enumerate(tree.wires):
        for c, port in ends:
            if c in row:
                wrong[row[c], n] = seen[c] != port
    return wrong


def _edges(tables: Tables, tree: Tree, c: int, but: int = UNKNOWN) -> list[int]:
    """The ports (flat) of a switch that something may be behind and that are on no trunk wire."""
    free = tables.is_open[c] & (tree.wire_of[c] < 0)
    return [tables.flat(c, p) for p in np.flatnonzero(free[: tables.ports[c]]).tolist() if p != but]
