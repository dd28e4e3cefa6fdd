"""MAU types, negotiation and names of ports, against published lists."""

from __future__ import annotations

import pytest

from reconcile.limits.media import MAU, PAIRS, PRIORITY, negotiated, speed_by_name

GIGABIT = {"10BASE-T half", "10BASE-T full", "100BASE-TX half", "100BASE-TX full", "1000BASE-T full"}
FAST = {"10BASE-T half", "10BASE-T full", "100BASE-TX half", "100BASE-TX full"}


@pytest.mark.parametrize(
    ("mau", "name", "speed", "full"),
    [
        # IANA-MAU-MIB 2014-08; types 16, 30 and 54 are told there with their duplex
        (16, "100BASE-TX", 100, True), (30, "1000BASE-T", 1000, True), (54, "10GBASE-T", 10000, True),
        (29, "1000BASE-T", 1000, False), (15, "100BASE-TX", 100, False), (36, "10GBASE-SR", 10000, True),
    ],
)  # fmt: skip
def test_a_mau_type_tells_speed_and_duplex(mau: int, name: str, speed: int, full: bool) -> None:
    assert MAU[mau][:3] == (speed, full, name)


def test_ten_gigabit_and_faster_know_no_half_duplex() -> None:
    # IANA-MAU-MIB: "full duplex only".
    assert all(medium.full for medium in MAU.values() if medium.speed_mbps >= 10000)


def test_fast_ethernet_needs_two_pairs_and_gigabit_four() -> None:
    # IANA-MAU-MIB: "2 pair category 5" and "four-pair category 5".
    assert (PAIRS[100], PAIRS[1000]) == (2, 4)


def test_two_ends_choose_the_best_mode_that_both_have() -> None:
    # IEEE 802.3 annex 28B.3.
    assert negotiated(GIGABIT, FAST) == "100BASE-TX full"
    assert negotiated(GIGABIT, GIGABIT) == "1000BASE-T full"
    assert negotiated({"1000BASE-T full"}, FAST) is None


def test_100base_t2_full_duplex_goes_before_100base_tx_full_duplex() -> None:
    # IEEE 802.3 annex 28B.3 as listed by temu.terma.com.
    assert PRIORITY.index("100BASE-T2 full") < PRIORITY.index("100BASE-TX full")


def test_an_end_that_negotiates_with_a_forced_one_falls_to_half_duplex() -> None:
    # Manual of Dell switches: the forced end sends no negotiation, so the other takes half duplex: a mismatch.
    assert negotiated({"100BASE-TX half", "100BASE-TX full"}, None) == "100BASE-TX half"


@pytest.mark.parametrize(
    ("name", "speed"),
    [("Gi1/0/1", 1000), ("ge-0/0/3", 1000), ("GigabitEthernet0/2", 1000), ("Fa0/1", 100), ("Te1/1/1", 10000),
     ("xe-0/1/0", 10000), ("TwentyFiveGigE1/0/1", 25000), ("Ethernet1", None), ("12", None), ("gibberish", None)],
)  # fmt: skip
def test_some_port_names_tell_what_the_port_can_do(name: str, speed: int | None) -> None:
    # Naming habits of makers: common practice.
    assert speed_by_name(name) == speed
