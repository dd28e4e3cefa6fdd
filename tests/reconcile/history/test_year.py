"""A year of nights: how large the file becomes, and that a night costs what changed in it."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from reconcile.history.facts import Fact, FactKind, Key
from reconcile.history.night import SEEN
from reconcile.history.store import history_of, reading, writing
from tests.reconcile.history.making import FIRST, NIGHT, result

SWITCHES, PORTS, STATIONS = 50, 28, 1000


def site_facts() -> dict[Key, Fact]:
    """An unchanged site: every port of 50 switches, 1,000 stations, a verdict for each of them."""
    names = [(f"building-3-floor-{n // 5}-{n:02}", f"GigabitEthernet1/0/{p}") for n in range(SWITCHES)
             for p in range(1, PORTS + 1)]  # fmt: skip
    facts = {Key(FactKind.PORT, f"{s}:{p}"): Fact("link up, 1000 Mbit/s", s) for s, p in names}
    for number, (switch, port) in enumerate(names[:STATIONS]):
        mac = f"00:30:de:00:{number >> 8:02x}:{number & 255:02x}"
        facts[Key(FactKind.STATION, mac)] = Fact(f"{switch}:{port}", switch)
        facts[Key(FactKind.VERDICT, f"{switch}:{port}")] = Fact("confirmed", switch)
    return facts


def live(folder: Path, nights: range, facts: dict[Key, Fact]) -> int:
    """Writes these nights; how many stretches they began and ended."""
    changed = 0
    for night in nights:
        with writing(folder) as book:
            run = book.begin_run(result(night), "nothing new", FIRST + night * NIGHT)
            change = book.remember(run, SEEN, facts)
            changed += len(change.begun) + len(change.ended)
    return changed


@pytest.mark.long
def test_365_nights_of_an_unchanged_site_of_50_switches_and_1000_stations_stay_under_5_mb(tmp_path: Path) -> None:
    facts = site_facts()
    assert live(tmp_path, range(1), facts) == len(facts)
    after_one = history_of(tmp_path).stat().st_size
    assert live(tmp_path, range(1, 365), facts) == 0
    after_all = history_of(tmp_path).stat().st_size
    assert after_all < 5_000_000
    assert after_all - after_one < 365 * 300  # a night without a change is one row


@pytest.mark.long
def test_a_year_in_which_things_move_grows_by_what_moved_and_can_be_forgotten(tmp_path: Path) -> None:
    facts = site_facts()
    live(tmp_path, range(1), facts)
    after_one = history_of(tmp_path).stat().st_size
    stations = [key for key in facts if key.kind is FactKind.STATION]
    for night in range(1, 120):
        for key in stations[night % 7 :: 100]:  # ten stations a night at another port
            facts[key] = Fact(f"{facts[key].switch}:elsewhere-{night}", facts[key].switch)
        live(tmp_path, range(night, night + 1), facts)
    moves = 119 * 10
    assert history_of(tmp_path).stat().st_size - after_one < moves * 400
    with writing(tmp_path) as book:
        _, ended = book.prune(timedelta(days=10), FIRST + 119 * NIGHT)
    assert 0.8 * moves < ended < moves
    with reading(tmp_path) as book:
        assert book is not None
        standing = book.standing(FactKind.STATION)
    assert {key: stretch.fact.value for key, stretch in standing.items()} == {key: facts[key].value for key in stations}
