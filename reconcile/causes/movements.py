"""Hand movements in an order in which they can be done: every plug goes into an empty place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple


class Step(NamedTuple):
    """One movement: `what` from `now` to `back`; None is the hand, where it waits. Places are any numbers."""

    what: str
    now: int | None
    back: int | None


def in_order(wanted: Iterable[tuple[str, int, int]]) -> list[Step]:
    """Puts movements (what, where it is, where it belongs) in order with the fewest steps.

    A chain starts at the end whose place is empty; a ring needs one cord in the hand while the others move up.
    """
    left = {now: (what, back) for what, now, back in wanted}
    steps: list[Step] = []
    while left:
        free = next((now for now, (_, back) in left.items() if back not in left), None)
        if free is not None:
            steps += _chain(left, free)
        else:
            steps += _ring(left)
    return steps


def _chain(left: dict[int, tuple[str, int]], now: int) -> list[Step]:
    """Moves one cord home, then whoever belongs into the place that it left, and so on."""
    steps = []
    belongs_to = {back: place for place, (_, back) in left.items()}
    here: int | None = now
    while here is not None:
        what, back = left.pop(here)
        steps.append(Step(what, here, back))
        here = belongs_to.get(here)
    return steps


def _ring(left: dict[int, tuple[str, int]]) -> list[Step]:
    first = next(iter(left))
    what, back = left.pop(first)
    belongs_to = {b: place for place, (_, b) in left.items()}
    steps: Sequence[Step] = _chain(left, belongs_to[first]) if first in belongs_to else ()
    return [Step(what, first, None), *steps, Step(what, None, back)]
