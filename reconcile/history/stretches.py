"""Stretches: from which run to which run a fact was so. The difference between two runs is a difference of sets."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from reconcile.history.facts import Fact, Key


class Stretch(NamedTuple):
    """One row of the history. `to_run` is the last run in which it was so; None while it still is."""

    number: int
    key: Key
    fact: Fact
    from_run: int
    to_run: int | None = None


class Change(NamedTuple):
    """What one run ends and what it begins. Whatever stays as it is appears in neither."""

    ended: tuple[Stretch, ...]
    begun: tuple[tuple[Key, Fact], ...]


def difference(
    standing: Mapping[Key, Stretch], seen: Mapping[Key, Fact], may_end: Callable[[Key, Fact], bool] = lambda *_: True
) -> Change:
    """What changes when `seen` follows on `standing`.

    A fact with another value ends the former one of its key. One that is not seen again ends only where `may_end`
    says that the run would have seen it.
    """
    begun = tuple((key, fact) for key, fact in seen.items() if key not in standing or not _same(standing[key], fact))
    others = (standing[key] for key, _ in begun if key in standing)
    missing = (s for key, s in standing.items() if key not in seen and may_end(key, s.fact))
    return Change((*others, *missing), begun)


def _same(standing: Stretch, fact: Fact) -> bool:
    return standing.fact.value == fact.value
