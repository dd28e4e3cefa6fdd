"""Counter differences: wraps by arithmetic (RFC 2863, RFC 2578), restarts by sysUpTime (RFC 3418)."""

from __future__ import annotations

from datetime import timedelta

import pytest

from collectors.snapshot import CollectedSwitch, Snapshot, System
from reconcile.limits.counters import difference, not_comparable, restarted, rises
from tests.reconcile.handmade_network import TAKEN, answer, port, snapshot

HOUR = timedelta(hours=1)
TICKS = 360_000  # 1/100 s in an hour


def reading(hours: int, uptime: int | None, **counters: int) -> CollectedSwitch:
    """What sw-a said some hours after the first reading."""
    made = answer("sw-a", [port("Gi1", counters=counters)])
    return made.model_copy(update={"started": TAKEN + hours * HOUR, "system": System(uptime_ticks=uptime)})


def at(hours: int, switch: CollectedSwitch) -> Snapshot:
    made = snapshot(switch)
    return made.model_copy(update={"started": switch.started, "finished": switch.started})


@pytest.mark.parametrize(
    ("before", "now", "rise"),
    [
        (5, 9, 4),
        (7, 7, 0),
        (2**32 - 3, 4, 7),  # Counter32 goes from 4294967295 to 0 (RFC 2578 section 7.1.6)
        (2**31, 2**31 - 2, None),  # almost a whole round: no fault rises like this
        (1000, 3, None),  # cleared by somebody: 3 - 1000 + 2^32 would be a fairy tale
    ],
)
def test_a_fall_counts_as_a_wrap_only_near_the_end_of_the_range(before: int, now: int, rise: int | None) -> None:
    assert difference(before, now) == rise


@pytest.mark.parametrize(
    ("uptime_before", "uptime_now", "comparable"),
    [
        (TICKS, 2 * TICKS, True),
        (TICKS, 500, False),  # it started anew five seconds ago
        (50_000, TICKS - 500, False),  # it had started eight minutes before, and did so again five seconds later
        (TICKS, 9 * TICKS, False),  # another agent answers, or its clock was set
        (2**32 - TICKS // 2, TICKS // 2, True),  # TimeTicks wrap after 497 days: no restart
        (None, TICKS, False),
    ],
)
def test_counters_are_compared_within_one_life_of_the_agent(
    uptime_before: int | None, uptime_now: int | None, comparable: bool
) -> None:
    assert (restarted(reading(0, uptime_before), reading(1, uptime_now)) == "") is comparable


def test_a_later_snapshot_is_not_before() -> None:
    assert restarted(reading(2, 3 * TICKS), reading(1, 2 * TICKS)) == "the other snapshot is not older"


def test_each_port_rises_by_its_own_counters_and_octets_become_bits() -> None:
    before = at(0, reading(0, TICKS, fcs_errors=10, late_collisions=3, in_octets=1000))
    now = at(1, reading(1, 2 * TICKS, fcs_errors=15, late_collisions=1, in_octets=3000))
    (rise,) = rises(before, now)
    assert (rise.errors, rise.unknown, rise.bits, rise.seconds) == (
        {"fcs_errors": 5},
        ("late_collisions",),
        16_000,
        3600,
    )


def test_a_switch_that_restarted_is_named_with_the_reason() -> None:
    before, now = at(0, reading(0, TICKS)), at(1, reading(1, 100))
    assert list(rises(before, now)) == []
    assert not_comparable(before, now) == {"sw-a": "the switch, or its agent, restarted in between"}
