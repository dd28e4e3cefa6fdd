"""What a night costs the history: `python -m tests.bench.bench_history`, or pytest -m bench -s -n 0.

Ratios within one run: a night after a year against a night after a week, and a night in which ten times as much
changed. The site has 50 switches and 1,000 stations.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from statistics import median

import pytest

from reconcile.history.facts import Fact, FactKind, Key
from reconcile.history.store import history_of
from tests.reconcile.history.test_year import live, site_facts

pytestmark = pytest.mark.bench

YEAR_BY_WEEK = 2.0
"""A night after a year may take so many times as long as one after a week: it must not grow with the nights."""
SAMPLE = 15


def night_seconds(folder: Path, first: int, facts: dict[Key, Fact], changes: int = 0) -> float:
    """The median of some nights in each of which so many stations move."""
    stations = [key for key in facts if key.kind is FactKind.STATION][:changes]
    taken = []
    for night in range(first, first + SAMPLE):
        moved = facts | {key: Fact(f"sw:{night}", "sw") for key in stations}
        start = time.perf_counter()
        live(folder, range(night, night + 1), moved)
        taken.append(time.perf_counter() - start)
    return median(taken)


def test_a_night_does_not_grow_with_the_nights_before_it() -> None:
    facts = site_facts()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        live(folder, range(7), facts)
        week = night_seconds(folder, 7, facts)
        live(folder, range(30, 365), facts)
        size = history_of(folder).stat().st_size
        year = night_seconds(folder, 400, facts)
        few, many = (night_seconds(folder, 400 + SAMPLE * n, facts, changed) for n, changed in ((1, 10), (2, 1000)))
    print(f"a night after a week {week * 1000:.1f} ms, after a year {year * 1000:.1f} ms ({year / week:.2f} times)")
    print(f"with 10 moves {few * 1000:.1f} ms, with 1,000 {many * 1000:.1f} ms; {size / 1e6:.2f} MB after a year")
    assert year < YEAR_BY_WEEK * week


if __name__ == "__main__":
    test_a_night_does_not_grow_with_the_nights_before_it()
