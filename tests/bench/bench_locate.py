"""How long the placement takes, by what it costs to sort as many numbers: `python -m tests.bench.bench_locate`, or
pytest -m bench -s -n 0 tests/bench/bench_locate.py.

Networks are simulated (`tests/reconcile/locate`), three tiers of switches with twenty stations each, and handed over
as the columns of a snapshot in memory. Every figure is one ratio in one run: the whole of `locate`, from columns to
placements, against `numpy.sort` of as many 64-bit integers as the tables have rows, the two by turns. The clock is the
processor's: both keep one core busy, and what else the machine does counts for neither.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import pytest

from reconcile.frames import Observed
from reconcile.locate import locate
from reconcile.locate.placement import Located
from tests.reconcile.locate.bridges import build, truth
from tests.reconcile.locate.frames import observed
from tests.reconcile.locate.tables import complete, fresh_on_the_way, independent

pytestmark = pytest.mark.bench

TIMES_SORT_COMPLETE, TIMES_SORT_HALF = 1.0, 2.0
MEGABYTES = 100.0
"""Above the input, at 1,000 switches and 21 million rows."""
SECONDS_WORST = 15.0
"""Any input of up to 1,000 switches."""
MILLISECONDS_SMALL = 50.0
"""Three switches, after the first call has loaded what it needs."""
ROUNDS = 3


@dataclass(frozen=True, slots=True)
class Site:
    """One simulated network as columns."""

    switches: int
    observed: Observed

    @property
    def rows(self) -> int:
        """Sightings."""
        return len(self.observed.sightings)


def site(
    switches: int, completeness: float = 1.0, *, in_band: bool = True, shape: str = "three tiers", empty: float = 0.0
) -> Site:
    """A network whose switches were all just asked, with that share of the entries of complete tables."""
    rng = np.random.default_rng(switches)
    network = build(rng, switches, stations=20 * switches, unmanaged=switches // 5, shape=shape, empty=empty)
    real = truth(network)
    tables = complete(network, real, in_band=in_band)
    if completeness < 1:
        independent(tables, rng, completeness, poller=0)
    if in_band:
        fresh_on_the_way(tables, real, 0)
    return Site(switches, observed(network, tables))


def seconds(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The best of some rounds, in seconds of the processor."""

    def once() -> float:
        start = time.process_time()
        work()
        return time.process_time() - start

    return min(once() for _ in range(rounds))


def measured(large: Site) -> tuple[float, str]:
    """The ratio, and a line that tells it."""
    numbers = np.random.default_rng(0).integers(0, 1 << 48, large.rows)
    rounds = [(seconds(lambda: locate(large.observed), 1), seconds(lambda: np.sort(numbers), 1)) for _ in range(ROUNDS)]
    placing, sort = (min(told) for told in zip(*rounds, strict=True))
    ratio = placing / sort
    words = f"{large.switches} switches, {large.rows:,} rows: {placing:.2f} s, the sort {sort:.2f} s, ratio {ratio:.2f}"
    return ratio, words


def megabytes(work: Callable[[], Located]) -> float:
    """The peak above what was there before."""
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return (peak - before) / 1e6


def test_complete_tables_of_a_thousand_switches_take_no_longer_than_a_sort() -> None:
    large = site(1000)
    ratio, words = measured(large)
    print(f"\n{words} (at most {TIMES_SORT_COMPLETE})")
    peak = megabytes(lambda: locate(large.observed))
    print(f"peak {peak:.0f} MB above the input (at most {MEGABYTES:.0f})")
    assert ratio <= TIMES_SORT_COMPLETE
    assert peak <= MEGABYTES


def test_half_of_the_entries_take_no_longer_than_two_sorts() -> None:
    large = site(1000, 0.5)
    ratio, words = measured(large)
    print(f"\n{words} (at most {TIMES_SORT_HALF})")
    peak = megabytes(lambda: locate(large.observed))
    print(f"peak {peak:.0f} MB above the input (at most {MEGABYTES:.0f})")
    assert ratio <= TIMES_SORT_HALF
    assert peak <= MEGABYTES


def test_time_grows_with_the_rows() -> None:
    per_row = {}
    for switches in (100, 300, 1000, 2000):
        large = site(switches)
        took = seconds(lambda large=large: locate(large.observed), 2)
        per_row[switches] = took / large.rows * 1e9
        print(f"\n{switches} switches, {large.rows:,} rows: {took:.2f} s, {per_row[switches]:.0f} ns a row", end="")
        del large
    print()
    assert per_row[2000] <= 2 * per_row[300]


def hard_cases() -> Iterator[tuple[str, Site]]:
    for shape in ("three tiers", "caterpillar", "star", "chain", "random"):
        for completeness in (0.7, 0.5):
            yield (
                f"managed out of band, {shape}, {completeness:.0%}",
                site(1000, completeness, in_band=False, shape=shape),
            )
    yield "a fifth without stations, out of band, half", site(1000, 0.5, in_band=False, empty=0.2)


def test_no_input_of_a_thousand_switches_takes_longer_than_a_quarter_of_a_minute() -> None:
    worst = 0.0
    for name, large in hard_cases():
        took = seconds(lambda large=large: locate(large.observed), 1)
        print(f"\n{name}: {took:.1f} s", end="")
        worst = max(worst, took)
    print(f"\nworst {worst:.1f} s (at most {SECONDS_WORST:.0f})")
    assert worst <= SECONDS_WORST


def test_three_switches_take_no_noticeable_time() -> None:
    small = site(3)
    locate(small.observed)
    took = 1000 * seconds(lambda: locate(small.observed), 10)
    open_case = site(3, 0.5, in_band=False)
    hard = 1000 * seconds(lambda: locate(open_case.observed), 10)
    print(f"\n3 switches: {took:.1f} ms, with half of the entries and out of band {hard:.1f} ms")
    assert max(took, hard) <= MILLISECONDS_SMALL


if __name__ == "__main__":
    raise SystemExit(pytest.main([__file__, "-m", "bench", "-s", "-n", "0", "-q"]))
