"""The tree of switches and wires, once directions are known, and where it is open to switches nothing places.

A wire is a set of ports that cords and unmanaged equipment alone join. Switches whose directions to one another
are all known are the *core*; their tree follows by theorem. The others are *loose*: each is like a station with
several possible places, and whatever is claimed about a wire that it may be on holds unless it is there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Indexes, Ports, Tables

    Misfit = Callable[[int, int], Bools]  # (switch, port) -> per item: was it seen on another port?

LinkEnd = tuple[int, int]  # switch, port


@dataclass(slots=True)
class Tree:
    """The core as a tree. `order` has its switches from the root down; `up` and `parent` are -1 for root and loose.

    `wires` are the trunk wires, the port nearest to the root first; `wire_of[a, p]` is -1 for a port on none.
    """

    order: list[int]
    parent: npt.NDArray[np.intp]
    up: Ports
    wires: list[list[LinkEnd]]
    wire_of: Counts
    below: list[list[int]]  # wires that a switch is the upper end of
    loose: list[int]
    flat_top: list[int]  # flat number of the port of each wire that is nearest to the root
    end_switch: Indexes  # the switches at the ends of all wires, wire after wire
    first_end: Indexes  # where each wire begins in `end_switch`
    walk: Indexes  # the core so that whatever is behind a switch follows it at once
    span: Indexes  # [switch]: how many that are, itself included

    def beyond(self, at_switch: Counts) -> Counts:
        """Sums of [switch, ...] over each switch and all that is further from the root."""
        sums = np.concatenate([np.zeros_like(at_switch[:1]), np.cumsum(at_switch[self.walk], axis=0)])
        start = np.zeros(len(self.span), np.intp)
        start[self.walk] = np.arange(len(self.walk))
        result: Counts = sums[start + self.span] - sums[start]
        return result

    def path_costs(self, misfit: Misfit, items: int) -> tuple[npt.NDArray[np.int16], npt.NDArray[np.int16]]:
        """How many sightings each place contradicts, for `items` items at once.

        The first array is [switch, item]: being at that switch, its own sighting not counted; the second is
        [wire, item]. An item that is at a switch or wire is seen on the port towards it by every other switch:
        upwards by all that it is not behind, so that costs change by two terms from a switch to the next.
        """
        root = self.order[0]
        upwards = {c: misfit(c, int(self.up[c])).astype(np.int16) for c in self.order if c != root}
        at_switch = np.zeros((len(self.parent), items), np.int16)
        at_wire = np.zeros((len(self.wires), items), np.int16)
        for c in upwards:
            at_switch[root] += upwards[c]
        for c in self.order:
            for w in self.below[c]:
                (_, port), *lower = self.wires[w]
                np.add(at_switch[c], misfit(c, port), out=at_wire[w])
                for b, _ in lower:
                    np.subtract(at_wire[w], upwards[b], out=at_switch[b])
        return at_switch, at_wire


def core_of(tables: Tables) -> tuple[list[int], list[int]]:
    """Splits the switches: a set with all directions known among them, and the loose rest.

    Of two that cannot both belong, the one that hears on fewer ports goes: it tells less of the others.
    """
    towards = tables.towards
    missing = towards < 0
    missing |= missing.T
    np.fill_diagonal(missing, False)
    count = missing.sum(1)
    if not count.any():
        return list(range(len(towards))), []
    voice = np.array([np.count_nonzero(np.bincount(row.astype(np.intp) + 2)[2:]) for row in tables.port]) + 0.5
    loose = []
    while count.max(initial=0) > 0:
        worst = int((count / voice).argmax())
        loose.append(worst)
        count -= missing[worst]
        count[worst] = -1
        missing[worst] = missing[:, worst] = False
    return [a for a in range(len(towards)) if count[a] >= 0], sorted(loose)


def grow(tables: Tables, core: list[int], loose: list[int]) -> Tree:
    """The tree of the core, hung up at the switch that most of the others see on few ports."""
    towards = tables.towards
    total = len(towards)
    inner = towards[np.ix_(core, core)]
    root = core[0]
    up_inner = inner[:, 0].copy()
    above = inner != up_inner[:, None]  # [c, a]: c is between the root and a
    above[0] = True
    np.fill_diagonal(above, False)
    depth = above.sum(0)
    rank = np.where(above & (depth[:, None] < depth), depth[:, None], -1)
    parent_inner = rank.argmax(0)
    number = np.array(core)
    parent = np.full(total, -1)
    up = np.full(total, -1, towards.dtype)
    parent[number[1:]] = number[parent_inner[1:]]
    up[number[1:]] = up_inner[1:]
    order = number[np.argsort(depth, kind="stable")].tolist()
    wire_of = np.full(tables.is_open.shape, -1, np.int32)
    wires: list[list[LinkEnd]] = []
    below: list[list[int]] = [[] for _ in range(total)]
    for b in order[1:]:
        a = int(parent[b])
        p = int(towards[a, b])
        if wire_of[a, p] < 0:
            wire_of[a, p] = len(wires)
            below[a].append(len(wires))
            wires.append([(a, p)])
        wire = int(wire_of[a, p])
        wires[wire].append((b, int(up[b])))
        wire_of[b, up[b]] = wire
    assert root == order[0]
    tops = [tables.flat(*ends[0]) for ends in wires]
    ends = np.array([a for wire_ends in wires for a, _ in wire_ends], np.intp)
    first = np.cumsum([0, *(len(wire_ends) for wire_ends in wires)])[:-1]
    return Tree(order, parent, up, wires, wire_of, below, loose, tops, ends, first, *_walk(order, parent))


def _walk(order: list[int], parent: npt.NDArray[np.intp]) -> tuple[Indexes, Indexes]:
    """The switches depth first, and how many each has behind it, itself included."""
    span = np.zeros(len(parent), np.intp)
    span[order] = 1
    for b in reversed(order[1:]):
        span[parent[b]] += span[b]
    walk = np.zeros(len(order), np.intp)
    after = np.zeros(len(parent), np.intp)  # where the next one behind a switch goes
    walk[0], after[order[0]] = order[0], 1
    for b in order[1:]:
        at = after[parent[b]]
        walk[at], after[b] = b, at + 1
        after[parent[b]] += span[b]
    return walk, span


def inconsistencies(tables: Tables, tree: Tree) -> list[tuple[int, int]]:
    """Known directions that the tree contradicts, as (who sees, whom). None in clean data."""
    towards = tables.towards
    wrong = []
    core = np.array(sorted(tree.order))
    for b in tree.order[1:]:
        a = int(tree.parent[b])
        differs = core[towards[core, b] != towards[core, a]]
        wrong += [(int(c), b) for c in differs.tolist() if c not in (a, b)]
        if towards[b, a] != tree.up[b]:
            wrong.append((b, a))
    return wrong
