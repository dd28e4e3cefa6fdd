"""How long old evidence outlives a moved cord, by the published texts."""

from __future__ import annotations

import pytest

from reconcile.limits.values import Limits, Override
from reconcile.limits.waits import before_asking_again, neighbour_seconds


@pytest.mark.parametrize(
    ("interval", "hold", "by_2005", "seconds"),
    [
        # LLDP-MIB of IEEE 802.1AB-2005: min(65535, interval x hold); LLDP-V2-MIB of 802.1AB-2016: one second more.
        (30, 4, True, 120), (30, 4, False, 121), (32_768, 10, True, 65_535), (32_768, 10, False, 65_535),
    ],
)  # fmt: skip
def test_a_neighbour_lives_for_interval_times_hold(interval: int, hold: int, by_2005: bool, seconds: int) -> None:
    assert neighbour_seconds(interval, hold, by_2005=by_2005) == seconds


def test_forwarding_tables_remember_longest_by_default() -> None:
    # RFC 4188: dot1dTpAgingTime, 300 seconds recommended.
    assert before_asking_again(Limits()) == 300


def test_a_site_with_short_ageing_waits_for_its_neighbours() -> None:
    quick = Limits({"ageing of forwarding tables": Override(value=60, reason="set on all switches")})
    assert before_asking_again(quick) == 121
