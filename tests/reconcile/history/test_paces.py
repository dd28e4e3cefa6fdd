"""How fast a port was: its spells, what is a fall and what a habit. One hand-written year per sentence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.snapshot import Snapshot
from reconcile.findings import Finding, Kind, Severity
from reconcile.history.facts import Fact, FactKind, Key, port_words, speed_in
from reconcile.history.paces import paces_of
from reconcile.history.store import reading, writing
from reconcile.limits.pace import Paces, PartOfDay, part_of
from reconcile.locate.placement import PortRef
from reconcile.pipeline import compare
from reconcile.recalled import Recalled
from reconcile.result import Result
from tests.reconcile.handmade_network import answer, device, heard, port, site

PUMP, OTHER = "00:30:de:41:b7:09", "00:30:de:41:b7:0a"
AT = PortRef("sw-a", "Gi1")
NOON = datetime(2026, 3, 1, 12, 0).astimezone()
HALF_A_DAY = timedelta(hours=12)
MAP = site([device("pump", "sw-a:Gi1", PUMP)])


def seen(speed: int | None, run: int, mac: str = PUMP) -> Snapshot:
    """One switch with one port; None: no link."""
    state = port("Gi1", "down") if speed is None else port("Gi1", speed_mbps=speed)
    taken = NOON + HALF_A_DAY * run
    rows = heard((mac, "Gi1")) if speed is not None and mac else []
    return Snapshot(started=taken, finished=taken, switches=[answer("sw-a", [state], rows)])


def remember(folder: Path, speeds: Iterable[int | None], mac: str = PUMP) -> None:
    """Writes a run every twelve hours, the first at noon."""
    for run, speed in enumerate(speeds):
        snapshot = seen(speed, run, mac)
        facts = {Key(FactKind.PORT, str(AT)): Fact(port_words(snapshot.switches[0].ports[0]), "sw-a")}
        if speed is not None and mac:
            facts[Key(FactKind.STATION, mac)] = Fact(str(AT), "sw-a")
        with writing(folder) as book:
            number = book.begin_run(Result(taken=snapshot.finished), "", snapshot.finished)
            book.remember(number, (FactKind.PORT, FactKind.STATION), facts)


def paces(folder: Path, now: Snapshot, before: Snapshot | None = None) -> Paces:
    with reading(folder) as book:
        assert book is not None
        return paces_of(book, now, before)


def fell(folder: Path, speeds: Sequence[int | None]) -> bool:
    """Whether the last of these speeds is a fall, after the others were written down."""
    remember(folder, speeds[:-1])
    assert speeds[-1]
    return AT in paces(folder, seen(speeds[-1], len(speeds) - 1)).faster


@pytest.mark.parametrize(
    ("speeds", "is_fall"),
    [
        ([1000, 1000, 1000, 1000, 100], True),  # a noon slower than the noons before
        ([1000, 1000, 1000, 1000, 1000], False),
        ([100, 100, 100, 100, 1000], False),
        ([1000, 100, 1000, 100, 1000, 100], False),  # asleep in every night
        ([1000, 100, 1000, 100, 1000, 10], True),  # deeper than in any other night
        ([1000, 100, 1000, 100, 100], True),  # asleep at noon, which it never was
        ([1000, 100], False),  # the first night: nothing is known of nights
        ([1000, None, None, None, 100], True),  # nights without a link say nothing
        ([100, 1000, 100], False),  # of noons, none was faster
    ],
)
def test_a_noon_is_compared_with_noons_and_a_night_with_nights(
    tmp_path: Path, speeds: list[int | None], is_fall: bool
) -> None:
    assert fell(tmp_path, speeds) is is_fall


def nights(*speeds: int) -> list[int | None]:
    """Days at a gigabit, and nights at these speeds."""
    return [speed for night in speeds for speed in (1000, night)]


@pytest.mark.parametrize(
    ("speeds", "is_fall"), [((1000, 1000, 100), True), ((1000, 100) * 2, True), ((1000, 100) * 3, False)]
)
def test_a_device_that_sleeps_in_some_nights_is_a_fall_twice_and_then_a_habit(
    tmp_path: Path, speeds: tuple[int, ...], is_fall: bool
) -> None:
    assert fell(tmp_path, nights(*speeds)) is is_fall


def test_a_habit_of_one_night_does_not_cover_a_week(tmp_path: Path) -> None:
    assert fell(tmp_path, nights(1000, 100, 1000, 100, 1000, *[100] * 7))


def test_the_last_spell_at_the_higher_speed_is_told_with_its_days_and_who_was_there(tmp_path: Path) -> None:
    remember(tmp_path, [1000, 100, 1000, 100, 100])
    ran = paces(tmp_path, seen(100, 6)).faster[AT]
    assert (ran.speed_mbps, ran.since, ran.until, ran.runs) == (1000, NOON, NOON + 2 * HALF_A_DAY, 2)
    assert (ran.part, ran.macs) == (PartOfDay.DAY, {PUMP})
    assert str(ran) == "1000 Mbit/s by day until 2026-03-02 (2 runs)"


def test_the_run_of_the_snapshot_itself_and_later_ones_are_no_past(tmp_path: Path) -> None:
    remember(tmp_path, [100, 1000, 1000, 1000, 1000])
    assert paces(tmp_path, seen(100, 2)).faster == {}  # before the third run there was one noon, as slow as this


def test_a_port_that_usually_sleeps_is_known_and_so_the_snapshot_of_the_day_before_is_no_measure(
    tmp_path: Path,
) -> None:
    remember(tmp_path, nights(100, 100, 100))
    tonight = seen(100, 7)
    assert paces(tmp_path, tonight, seen(1000, 6)) == Paces(frozenset({AT}))
    assert slow(tmp_path, tonight, seen(1000, 6)) == []
    with_snapshots_alone = compare(MAP, tonight, before=seen(1000, 6)).result.findings
    assert [f.kind for f in with_snapshots_alone] == [Kind.SLOW_LINK]


def slow(folder: Path, now: Snapshot, before: Snapshot | None = None) -> list[Finding]:
    result = compare(MAP, now, before=before, recalled=Recalled(paces=paces(folder, now, before))).result
    return [f for f in result.findings if f.kind is Kind.SLOW_LINK]


def test_a_device_that_ran_faster_until_some_day_is_a_slow_link_with_that_day(tmp_path: Path) -> None:
    remember(tmp_path, [1000] * 9)
    (found,) = slow(tmp_path, seen(100, 10))
    assert found.severity is Severity.MEDIUM
    assert "ran at 1000 Mbit/s by day until 2026-03-05 (5 runs)" in found.documented
    assert found.evidence[0][:3] == ("sw-a", "Gi1", "history")
    assert "4-5 or 7-8" in found.advice


def test_whether_the_same_device_is_on_it_is_asked_where_nobody_is_heard(tmp_path: Path) -> None:
    remember(tmp_path, [1000] * 4)
    (found,) = slow(tmp_path, seen(100, 4, mac=""))
    assert found.severity is Severity.LOW
    assert found.advice.startswith("see whether the same device is on it; ")


def test_another_device_on_the_port_may_do_no_more(tmp_path: Path) -> None:
    remember(tmp_path, [1000] * 4)
    assert slow(tmp_path, seen(100, 4, mac=OTHER)) == []


def test_the_key_is_the_same_whatever_the_finding_rests_on(tmp_path: Path) -> None:
    remember(tmp_path, [1000] * 4)
    (found,) = slow(tmp_path, seen(100, 4))
    (other,) = [f for f in compare(MAP, seen(100, 4), before=seen(1000, 3)).result.findings if f.kind is Kind.SLOW_LINK]
    assert found.key == other.key


@given(st.sampled_from(["up", "down", "dormant"]), st.none() | st.integers(0, 999_999_999), st.booleans())
def test_the_speed_that_was_written_is_the_speed_that_is_read(oper: str, speed: int | None, shut: bool) -> None:
    state = port("Gi1", oper, speed_mbps=speed, admin="down" if shut else "up")
    assert speed_in(port_words(state)) == (speed if oper == "up" and speed else None)


def test_half_of_the_clock_is_day() -> None:
    hours = [part_of(datetime(2026, 1, 5, hour, tzinfo=UTC)) for hour in range(24)]
    assert [hours.count(part) for part in (PartOfDay.DAY, PartOfDay.NIGHT)] == [12, 12]
    assert all(one is not other for one, other in zip(hours[:12], hours[12:], strict=True))
