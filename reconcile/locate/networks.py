"""Switches that share addresses belong to one loop-free network; what shares none is proved apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import connected_components

from reconcile.locate.arrays import Tables
from reconcile.locate.inference import prove
from reconcile.locate.witnesses import choose_witnesses

if TYPE_CHECKING:
    from reconcile.locate.arrays import Bools, Counts, Indexes
    from reconcile.locate.facts import Facts
    from reconcile.locate.inference import Inference

Wires = list[tuple[int, int, int, int]]  # switch, port, switch, port
Directions = dict[tuple[int, int], int]  # (switch, port) -> the switch behind it

SEPARATE = 20
"""Addresses that two groups of switches must each know, and share next to none of, to count as two networks.

If they were one, and each table held half of what it could, the odds against that would be 4/3 to the power of 40.
"""
_SAMPLE = 4096


@dataclass(slots=True)
class Network:
    """One loop-free topology: what is proved of it, what little evidence says, and what the map would add.

    `switches` translates its switch numbers into those of the snapshot.
    """

    switches: list[int]
    proved: Inference
    likely: Inference | None = None  # one witness is enough
    mapped: Inference | None = None  # the documented links are taken for true


def solve(facts: Facts, directions: Directions, wires: Wires, documented: Wires, margin: int) -> list[Network]:
    """Proves each network by itself."""
    if not facts.switches:
        return []
    towards = facts.port[:, : facts.switches]
    for (a, p), b in directions.items():
        towards[a, b] = p
    eligible = facts.owner < 0
    eligible[[*facts.barred, *facts.twice]] = False
    groups = _groups(facts, eligible, margin)
    if documented and len(groups) > 1:
        groups = _groups(facts, eligible, margin, documented)
    return [_network(facts, group, eligible, wires, documented, margin) for group in groups]


def _network(facts: Facts, group: list[int], eligible: Bools, wires: Wires, documented: Wires, margin: int) -> Network:
    def tables(witnesses_for: int, more: Wires) -> Tables:
        return _tables(facts, group, eligible, wires, more, witnesses_for)

    network = Network(group, prove(tables(margin, []), margin))
    if network.proved.tree.loose:
        if margin > 1:
            network.likely = prove(tables(1, []), 1)
        inside = [w for w in documented if w[0] in group and w[2] in group]
        if inside:
            network.mapped = prove(tables(margin, inside), margin)
    return network


def _tables(facts: Facts, group: list[int], eligible: Bools, wires: Wires, documented: Wires, margin: int) -> Tables:
    """The part of the facts that concerns some switches; documented wires where nothing observed speaks against."""
    s = facts.switches
    number = {a: k for k, a in enumerate(group)}
    if len(group) == s:
        port = facts.port.copy() if documented else facts.port
    else:
        port = facts.port[np.ix_(group, [*group, *range(s, facts.port.shape[1])])]
    is_open = facts.book.open_ports()[group]
    counts = facts.book.counts()
    ports = [counts[a] for a in group]
    for k, row in enumerate(port):
        heard = np.zeros(max(ports) + 2, bool)
        heard[row] = True  # the two codes for no port are at the end
        is_open[k, : ports[k]] |= heard[: ports[k]]
    adjacent = [(number[a], p, number[b], q) for a, p, b, q in wires if a in number and b in number]
    towards = port[:, : len(group)]
    for a, p, b, q in ((number[a], p, number[b], q) for a, p, b, q in documented):
        if towards[a, b] in (-1, p) and towards[b, a] in (-1, q) and is_open[a, p] and is_open[b, q]:
            towards[a, b], towards[b, a] = p, q
            adjacent.append((a, p, b, q))
    known = np.count_nonzero(towards >= 0) == len(group) * (len(group) - 1)
    witnesses = np.zeros(0, np.intp)
    if not known:
        witnesses = choose_witnesses(port, len(group), max(ports), eligible, margin)
    return Tables(port, is_open, ports, witnesses, eligible, tuple(adjacent))


def _groups(facts: Facts, eligible: Bools, margin: int, documented: Wires | None = None) -> list[list[int]]:
    """Switches that hear one another, or share enough addresses. A group that knows little belongs to every other."""
    s = facts.switches
    joined = facts.port[:, :s] >= 0
    for a, _, b, _ in documented or []:
        joined[a, b] = True
    label = connected_components(joined, directed=False)[1]
    columns = np.flatnonzero(eligible)[:_SAMPLE]
    while (count := int(label.max(initial=0)) + 1) > 1:
        knows = np.zeros((count, len(columns)), np.float32)
        for a in range(s):
            knows[label[a], facts.port[a, s + columns] >= 0] = 1
        again = connected_components(knows @ knows.T >= margin, directed=False)[1]
        if again.max() + 1 == count:
            break
        label = again[label]
    return _spread_small(facts, columns, label, count)


def _spread_small(facts: Facts, columns: Indexes, label: Counts, count: int) -> list[list[int]]:
    members = [np.flatnonzero(label == k) for k in range(count)]
    heard = [(facts.port[np.ix_(m, facts.switches + columns)] >= 0).any(0).sum() for m in members]
    large = [m.tolist() for m, n in zip(members, heard, strict=True) if n >= SEPARATE]
    small = [a for m, n in zip(members, heard, strict=True) if n < SEPARATE for a in m.tolist()]
    return [sorted(m + small) for m in large] or [list(range(facts.switches))]
