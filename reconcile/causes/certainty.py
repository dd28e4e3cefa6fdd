"""How sure a story is: what the best story without it would cost, and which stories are about as cheap."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import accumulate

from reconcile.causes.cover import Component, Cover, Cut, Solution, Variant
from reconcile.causes.facts import Facts
from reconcile.causes.plan import Deed, Event, Link, Move
from reconcile.causes.prices import EQUAL, UNHEARD_OF

_ROUNDS = 4  # stories looked for beside the best one
_MOST_WORK = 30_000  # columns times events; three hundred switches with a hundred faults have some 9,000

_PROVABLE = frozenset({Deed.MOVED, Deed.CROSSED, Deed.ROTATED, Deed.SHIFTED, Deed.RENUMBERED, Deed.COME})
"""Deeds that can be sure. Gone, replaced and re-plugged speak of somebody who was heard nowhere, or of no order."""

_FATES = frozenset({Deed.GONE, Deed.COME})

_EMPTY = frozenset({Link.DOWN, Link.NO_PORT})
"""States in which nobody can have taken a place unheard."""


@dataclass(frozen=True, slots=True)
class Explained:
    """One event of the best story.

    `gap`: bits by which the best story of another effect costs more. `others`: stories that cost less than `EQUAL`
    more, each the events that would stand in its place. `silent`: members that it moves but nobody heard.
    """

    event: Event
    gap: float
    sure: bool
    others: tuple[tuple[Event, ...], ...] = ()
    silent: tuple[int, ...] = ()


@dataclass(slots=True)
class _Doubt:
    """One chosen column, and what was found instead of it so far."""

    component: int
    column: int
    twins: frozenset[int]
    gap: float = UNHEARD_OF
    cuts: list[Cut] = field(default_factory=list)
    others: list[tuple[Event, ...]] = field(default_factory=list)
    unsettled: bool = False  # every story found so far comes to the same, or none was looked for


def explained(facts: Facts, cover: Cover, best: Sequence[Solution], distrusted: frozenset[int]) -> list[Explained]:
    """Every telling event of the best story with its confidence. On a distrusted switch single hands never are."""
    doubts = [
        _Doubt(i, column, frozenset(_same_effect(facts, cover.components[i], column)))
        for i, solution in enumerate(best)
        for column in sorted(solution.columns)
        if cover.components[i].columns[column].tells is not None
    ]
    crowded = _crowded(cover, doubts)
    for doubt in doubts:
        doubt.unsettled = doubt.component in crowded
    open_doubts = [d for d in doubts if not (d.unsettled or _forced(cover.components[d.component], d))]
    for _ in range(_ROUNDS):
        solved = cover.solve(
            Variant(d.component, d.twins, best[d.component].columns, tuple(d.cuts)) for d in open_doubts
        )
        pairs = zip(open_doubts, solved, strict=True)
        open_doubts = [d for d, found in pairs if _noted(facts, cover, d, best[d.component], found)]
    return [_explained(facts, cover, doubt, distrusted) for doubt in doubts]


def alone(facts: Facts, event: Event) -> Explained:
    """An event that no other story competes with."""
    return Explained(event, UNHEARD_OF, _sure(facts, event, UNHEARD_OF), silent=_silent(facts, event))


def _crowded(cover: Cover, doubts: Iterable[_Doubt]) -> set[int]:
    """Components in which so many events compete that there is no use in asking for each how sure it is: none is.

    Where whole sites are in disorder, the least disordered parts are asked for, as far as the work allows.
    """
    events = Counter(doubt.component for doubt in doubts)
    work = {i: count * len(cover.components[i].columns) for i, count in events.items()}
    cheapest_first = sorted(work, key=lambda i: (work[i], i))
    spent = accumulate(work[i] for i in cheapest_first)
    return {i for i, sum_so_far in zip(cheapest_first, spent, strict=True) if sum_so_far > _MOST_WORK}


def _forced(part: Component, doubt: _Doubt) -> bool:
    """True when some row can be filled by nothing but this column and its twins."""
    takers = Counter(row for column in part.columns for row in column.rows)
    own = Counter(row for twin in doubt.twins for row in part.columns[twin].rows)
    return any(takers[row] == own[row] for row in part.columns[doubt.column].rows)


def _noted(facts: Facts, cover: Cover, doubt: _Doubt, best: Solution, found: Solution) -> bool:
    """Writes down what was found instead; True when there may be more of its kind."""
    part = cover.components[doubt.component]
    gap = found.bits - best.bits
    changed = _concerned(part, doubt.column, best.columns ^ found.columns)
    instead = {c: t for c in changed - best.columns if (t := part.columns[c].tells)}
    displaced = [t for c in changed & best.columns if (t := part.columns[c].tells)]
    alike = _effect(instead.values()) == _effect(displaced)
    doubt.unsettled = alike and gap < _limit(part, doubt)
    if not doubt.unsettled:
        doubt.gap = min(doubt.gap, gap)
    if gap >= _limit(part, doubt) or not instead:
        return False
    if not alike or any(tells.order for tells in (*instead.values(), *displaced)):
        doubt.others.append(tuple(instead[c] for c in sorted(instead)))
    # The next story must differ in an event, if this one has any, and not only in who is off.
    leading = [c for c, tells in instead.items() if tells.deed not in _FATES] or list(instead)
    twins = frozenset(t for c in leading for t in _same_effect(facts, part, c)) - best.columns
    doubt.cuts.append(Cut(twins, len(leading) - 1))
    return True


def _concerned(part: Component, column: int, changed: frozenset[int]) -> frozenset[int]:
    """Of all columns that differ, those that hang together with this one by the rows that they fill."""
    rows = {c: set(part.columns[c].rows) for c in changed if c < len(part.columns)}
    found, reached = {column}, set(part.columns[column].rows)
    while more := {c for c in rows.keys() - found if rows[c] & reached}:
        found |= more
        reached |= {row for c in more for row in rows[c]}
    return frozenset(found)


def _effect(events: Iterable[Event]) -> tuple[frozenset[tuple[int, int]], frozenset[int]]:
    """Who is where in the end, whatever it is called: two crossed cords are two moves."""
    told = list(events)
    moves = frozenset((move.device, move.target) for event in told for move in event.moves)
    return moves, frozenset(port for event in told for port in event.newcomers)


def _limit(part: Component, doubt: _Doubt) -> float:
    """Below how many bits another story is told. One that fits any picture has to win by more."""
    tells = part.columns[doubt.column].tells
    return 2 * EQUAL if tells is not None and tells.deed is Deed.REPLUGGED else EQUAL


def _explained(facts: Facts, cover: Cover, doubt: _Doubt, distrusted: frozenset[int]) -> Explained:
    event = cover.components[doubt.component].columns[doubt.column].tells
    assert event is not None  # only telling columns are doubted
    single = event.order is None and any(facts.switch[m.origin] in distrusted for m in event.moves if m.origin >= 0)
    sure = _sure(facts, event, doubt.gap) and not single and not doubt.unsettled
    return Explained(event, doubt.gap, sure, tuple(doubt.others), _silent(facts, event))


def _same_effect(facts: Facts, part: Component, column: int) -> Iterable[int]:
    """Columns that say the same of everybody heard: other ends of one block, one step told as a map."""
    own = part.columns[column].tells
    if own is None or own.order is None:
        effect = own and (own.deed, own.moves, own.newcomers)
        return [
            c
            for c, other in enumerate(part.columns)
            if c == column or (other.tells and (other.tells.deed, other.tells.moves, other.tells.newcomers) == effect)
        ]
    heard = _heard(facts, own)
    return [
        c
        for c, other in enumerate(part.columns)
        if other.tells is not None
        and other.tells.order is not None
        and len(heard & _heard(facts, other.tells)) * 2 >= min(len(heard), len(_heard(facts, other.tells)))
    ]


def _heard(facts: Facts, event: Event) -> set[Move]:
    return {move for move in event.moves if facts.at[move.device] >= 0}


def _silent(facts: Facts, event: Event) -> tuple[int, ...]:
    return tuple(move.device for move in event.moves if move.target >= 0 and facts.at[move.device] < 0)


def _sure(facts: Facts, event: Event, gap: float) -> bool:
    """Large gap, everyone it moves heard for certain, and nobody unaccounted for at either end."""
    if gap < EQUAL or event.deed not in _PROVABLE:
        return False
    moved = set(event.devices)
    if any(facts.at[d] < 0 or not facts.heard.firm[d] for d in moved):
        return False
    arrived = {move.target for move in event.moves}
    left = {move.origin for move in event.moves} - arrived - {-1}
    pushed = {facts.tenant[port] for port in (*arrived, *event.newcomers)} - moved - {-1}
    return (
        all(facts.at[d] >= 0 and facts.at[d] != facts.home[d] for d in pushed)
        and all(facts.link[port] in _EMPTY or not facts.open(port) for port in left)
        and all(facts.strangers[port] > 0 for port in event.newcomers)
        and (
            event.order is not None
            or all(map(facts.vouched, {port for m in event.moves for port in m[1:] if port >= 0}))
        )
    )
