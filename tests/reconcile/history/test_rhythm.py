"""When an absence is usual."""

from __future__ import annotations

from datetime import timedelta

from reconcile.history.rhythm import REMEMBERED, Absence, within_rhythm
from tests.reconcile.history.making import FIRST


def away(*days: float) -> list[Absence]:
    """Absences of so many days, one after another."""
    return [Absence(FIRST, FIRST + timedelta(days=day)) for day in days]


def usual(past: list[Absence], now: float) -> bool:
    return within_rhythm(past, away(now)[0])


def test_a_device_that_never_was_away_has_no_rhythm() -> None:
    assert not usual([], 1)


def test_one_absence_makes_no_habit() -> None:
    assert not usual(away(3), 1)


def test_a_laptop_that_is_away_over_weekends_is_silent_on_a_sunday_and_missed_on_a_wednesday() -> None:
    weekends = away(2, 2, 2)
    assert usual(weekends, 1)
    assert usual(weekends, 2)
    assert not usual(weekends, 4)


def test_one_long_absence_does_not_let_the_next_one_pass() -> None:
    assert not usual(away(1, 1, 21), 10)


def test_a_night_that_began_some_minutes_late_is_one_night() -> None:
    assert usual(away(1, 1), 1 + 10 / 1440)


def test_a_habit_of_long_ago_is_forgotten() -> None:
    assert not usual(away(9, 9, *[1] * REMEMBERED), 9)
