"""The cheapest set of events that leaves nothing unexplained, as an exact cover solved by HiGHS through scipy.

Rows: every device has one fate (stays, is gone, or an event moves it), every port as many occupants as parties were
heard there (or one silent occupant, or nobody). Columns: fates and events, priced in bits. Components share no row,
so many of them, and many variants of each, go to the solver as one block-diagonal problem.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from reconcile.causes.facts import Facts
from reconcile.causes.plan import NOWHERE, Deed, Event, Link, Move
from reconcile.causes.prices import UNHEARD_OF

Floats = npt.NDArray[np.float64]


_LIKED = 1e-5  # bits; far above the solver's tolerances, far below any price


class NoStory(ArithmeticError):
    """The solver found no cover in time. Findings are then told one by one."""


@dataclass(frozen=True, slots=True)
class Column:
    """One choice: an event, or a fate. `tells` is what it reports; None for fates that are no news."""

    bits: float
    rows: tuple[int, ...]
    tells: Event | None = None


@dataclass(frozen=True, slots=True)
class Component:
    """Columns that compete for rows, and their constraints as triplets (row, column, value)."""

    columns: Sequence[Column]
    costs: Floats
    entries: tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], Floats]
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Solution:
    """The chosen columns of one component, and their bits, surcharges included."""

    bits: float
    columns: frozenset[int]


@dataclass(frozen=True, slots=True)
class Cut:
    """At most so many of these columns may be chosen together, or else at the price `UNHEARD_OF`."""

    columns: frozenset[int]
    most: int


@dataclass(frozen=True, slots=True)
class Variant:
    """One component to solve, with `dearer` columns that cost `UNHEARD_OF` more, and cuts. Among equal covers the one
    with most of the `liked` columns is taken, so that nothing changes without need."""

    component: int
    dearer: frozenset[int] = frozenset()
    liked: frozenset[int] = frozenset()
    cuts: tuple[Cut, ...] = ()


class Cover:
    """The problem of one site, cut into components."""

    def __init__(self, facts: Facts, events: Sequence[Event]) -> None:
        self.devices, self.ports = _touched(facts, events)
        columns = [_event_column(facts, event) for event in events]
        columns += [column for device in sorted(self.devices) for column in _fates(facts, device)]
        columns += [column for port in sorted(self.ports) for column in _vacancies(facts, port)]
        self.components = _split(facts, columns, events)

    def solve(self, variants: Iterable[Variant]) -> list[Solution]:
        """The cheapest cover of each variant."""
        parts = [_variant(self.components[v.component], v) for v in variants]
        chosen = zip(parts, _minimise(parts), strict=True)
        return [Solution(float(part.costs[x].sum()), frozenset(np.flatnonzero(x).tolist())) for part, x in chosen]


def _variant(part: Component, variant: Variant) -> Component:
    """The component with what a variant adds: each cut is one more row, and one more column that pays for it."""
    if not variant.dearer and not variant.cuts:
        return part
    costs = np.concatenate([part.costs, np.full(len(variant.cuts), UNHEARD_OF)])
    costs[list(variant.dearer)] += UNHEARD_OF
    costs[list(variant.liked)] -= _LIKED
    height, width = len(part.low), len(part.costs)
    added = [(height + i, c, 1.0) for i, cut in enumerate(variant.cuts) for c in cut.columns]
    added += [(height + i, width + i, -1.0) for i in range(len(variant.cuts))]
    at, of, value = part.entries
    if added:
        more_at, more_of, more_value = zip(*added, strict=True)
        at, of, value = np.append(at, more_at), np.append(of, more_of), np.append(value, more_value)
    most = [float(cut.most) for cut in variant.cuts]
    low, high = np.append(part.low, np.full(len(most), -1.0)), np.append(part.high, most)
    return Component(part.columns, costs, (at, of, value), low, high)


def _touched(facts: Facts, events: Sequence[Event]) -> tuple[set[int], set[int]]:
    """Devices and ports that some event would change, and the tenants of those ports."""
    devices = {move.device for event in events for move in event.moves}
    ports = {port for event in events for move in event.moves for port in (move.origin, move.target)}
    ports |= {port for event in events for port in event.newcomers}
    ports.discard(NOWHERE)
    devices |= {facts.tenant[port] for port in ports}
    devices |= {device for port in ports for device in facts.heard_at.get(port, ())}
    devices.discard(NOWHERE)
    ports |= {facts.home[d] for d in devices if facts.home[d] >= 0}
    return devices, ports


def _event_column(facts: Facts, event: Event) -> Column:
    ports = [move.target for move in event.moves if move.target >= 0] + list(event.newcomers)
    rows = (*event.devices, *(_port_row(facts, port) for port in ports))
    return Column(event.bits, rows, event)


def _port_row(facts: Facts, port: int) -> int:
    return facts.plan.devices + port


def _fates(facts: Facts, device: int) -> list[Column]:
    """A device stays, or is nowhere."""
    home = facts.home[device]
    found = []
    stays = facts.at_bits(device, home) if home >= 0 else inf
    if stays < inf and (facts.tenant[home] == device or facts.at[device] == home):
        dark = facts.at[device] < 0 and facts.link[home] == Link.DOWN
        tells = Event(Deed.GONE, stays, (Move(device, home, NOWHERE),)) if dark else None
        found.append(Column(stays, (device, _port_row(facts, home)), tells=tells))
    gone = facts.gone_bits(device)
    if gone < inf:
        tells = Event(Deed.GONE, gone, (Move(device, home, NOWHERE),)) if home >= 0 else None
        found.append(Column(gone, (device,), tells=tells))
    return found


def _vacancies(facts: Facts, port: int) -> list[Column]:
    """A port holds a stranger, or nobody."""
    row = (_port_row(facts, port),)
    come = facts.come_bits(port)
    if come < inf:
        return [Column(come, row, tells=Event(Deed.COME, come, newcomers=(port,)))]
    return [Column(0.0, row)] if facts.open(port) else []


def _split(facts: Facts, columns: Sequence[Column], events: Sequence[Event]) -> list[Component]:
    """Connected components of columns over shared rows and over what an event needs or excludes."""
    if not columns:
        return []
    cols, rows = np.array([(c, row) for c, column in enumerate(columns) for row in column.rows]).T
    known, rows = np.unique(rows, return_inverse=True)
    # The events are the first columns, in their order.
    bound = [(i, other) for i, e in enumerate(events) for other in (*e.needs, *e.excludes)]
    pairs = np.array(bound, dtype=np.int64).reshape(-1, 2)
    one, other = np.concatenate([cols, pairs[:, 0]]), np.concatenate([rows + len(columns), pairs[:, 1]])
    size = len(columns) + len(known)
    graph = coo_array((np.ones(len(one)), (one, other)), shape=(size, size))
    count, label = connected_components(graph, directed=False)
    members: list[list[int]] = [[] for _ in range(count)]
    for column in range(len(columns)):
        members[label[column]].append(column)
    return [_component(facts, columns, events, part) for part in members]


def _component(facts: Facts, columns: Sequence[Column], events: Sequence[Event], part: Sequence[int]) -> Component:
    """The columns of one component (`part` holds their numbers) as a matrix of its own."""
    rows = {row: i for i, row in enumerate(sorted({row for c in part for row in columns[c].rows}))}
    place = {c: i for i, c in enumerate(part)}
    entries = [(rows[row], place[c], 1.0) for c in part for row in columns[c].rows]
    low = [_occupants(facts, row) for row in rows]
    high = list(low)
    for c in part[: bisect_left(part, len(events))]:
        for needed in events[c].needs:  # x[event] - x[needed] <= 0
            entries += [(len(low), place[c], 1.0), (len(low), place[needed], -1.0)]
            low.append(-1.0)
            high.append(0.0)
        for excluded in events[c].excludes:  # x[event] + x[excluded] <= 1
            entries += [(len(low), place[c], 1.0), (len(low), place[excluded], 1.0)]
            low.append(0.0)
            high.append(1.0)
    at, of, value = zip(*entries, strict=True)
    return Component(
        [columns[c] for c in part],
        np.array([columns[c].bits for c in part]),
        (np.array(at), np.array(of), np.array(value)),
        np.array(low),
        np.array(high),
    )


def _occupants(facts: Facts, row: int) -> float:
    """The sum that a row must have."""
    if row < facts.plan.devices:
        return 1.0
    return float(max(1, facts.parties(row - facts.plan.devices)))


def _minimise(parts: Sequence[Component]) -> list[npt.NDArray[np.bool_]]:
    """One call of the solver for all of them: they share nothing, so their sum is least when each of them is."""
    if not parts:
        return []
    column_from = np.concatenate([[0], np.cumsum([len(part.costs) for part in parts])])
    row_from = np.concatenate([[0], np.cumsum([len(part.low) for part in parts])])
    at = np.concatenate([part.entries[0] + start for part, start in zip(parts, row_from, strict=False)])
    of = np.concatenate([part.entries[1] + start for part, start in zip(parts, column_from, strict=False)])
    value = np.concatenate([part.entries[2] for part in parts])
    matrix = coo_array((value, (at, of)), shape=(row_from[-1], column_from[-1])).tocsr()
    low, high = np.concatenate([part.low for part in parts]), np.concatenate([part.high for part in parts])
    result = milp(
        np.concatenate([part.costs for part in parts]),
        constraints=LinearConstraint(matrix, low, high),
        integrality=np.ones(column_from[-1]),
        bounds=Bounds(0, 1),
        # A relative gap would be whole bits on a large site; no run waits for a story longer than half a minute.
        options={"mip_rel_gap": 0.0, "time_limit": 30.0},
    )
    if result.x is None:
        raise NoStory(result.message)
    return np.split(result.x > 0.5, column_from[1:-1])
