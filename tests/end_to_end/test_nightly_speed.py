"""Stories of several days and nights about the speed of one link, told by the real commands twice a day."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.end_to_end.nights import Nights, lists
from tests.worlds import changes
from tests.worlds.stories import station

WORLD = station().build()
SLOW = changes.replace_box(WORLD, "tank", speed=100)
ASLEEP = changes.replace_box(SLOW, "tank", stations=(), adverts=())
"""A computer that waits for its wake-up call: its link at the lowest speed, and not a word."""

TANK_IS_SLOW = "slow link tank"


@pytest.fixture
def nights(tmp_path: Path) -> Nights:
    return Nights(tmp_path / "site", WORLD)


def test_a_link_that_came_up_slower_than_in_its_own_past_is_new_once_and_says_until_when_it_was_faster(
    nights: Nights,
) -> None:
    for _ in range(4):
        assert lists(nights.told(WORLD)[1]) == {}
    code, report = nights.told(SLOW)
    assert (code, lists(report)) == (1, {"new": [TANK_IS_SLOW]})
    (found,) = report["new"]
    assert "1000 Mbit/s" in found["documented"]
    assert "until 2026-03-21 (4 runs)" in found["documented"]
    assert found["seen"] == "the link runs at 100 Mbit/s"
    for _ in range(8):
        assert lists(nights.told(SLOW)[1]) == {"still": [TANK_IS_SLOW]}
    assert lists(nights.told(WORLD)[1]) == {"gone": [TANK_IS_SLOW]}


def test_every_command_tells_the_same_of_it(nights: Nights) -> None:
    for world in (WORLD, WORLD, SLOW, SLOW):
        _, report = nights.told(world)
    (key,) = [found["key"] for found in report["still"]]
    reconciled = json.loads(nights.run("reconcile", "--format", "json").stdout)
    assert [found["key"] for found in reconciled["findings"]] == [key]
    assert [cause["kind"] for cause in reconciled["causes"]] == ["slow link"]
    limits = json.loads(nights.run("limits", "--format", "json").stdout)
    assert [found["key"] for found in limits["findings"]] == [key]
    assert "slow link" in (nights.folder / "page.html").read_text("utf-8")
    assert nights.run("waive", key, "--until", "2099-01-31", "--reason", "cord is ordered").exit_code == 0
    assert lists(nights.told(SLOW)[1]) == {"waived": [TANK_IS_SLOW]}
    life = json.loads(nights.run("history", "tank", "--format", "json").stdout)["lived"]
    speeds = [(row["value"], row["still"]) for row in life if row["kind"] == "port"]
    assert speeds == [("link up, 1000 Mbit/s", False), ("link up, 100 Mbit/s", True)]


def test_a_computer_that_sleeps_every_night_at_a_low_speed_is_no_slow_link(nights: Nights) -> None:
    told = [lists(nights.told(world, days=0.5)[1]) for world in (WORLD, ASLEEP) * 6]
    assert not any("slow link" in str(lines) for lines in told)


def test_a_computer_that_is_as_slow_by_day_as_it_is_in_its_sleep_is_a_slow_link(nights: Nights) -> None:
    for world in (WORLD, ASLEEP) * 4:
        nights.told(world, days=0.5)
    assert lists(nights.told(SLOW, days=0.5)[1])["new"] == [TANK_IS_SLOW]
