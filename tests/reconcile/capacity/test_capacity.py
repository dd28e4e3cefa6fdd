"""What is free, and how far that can be trusted: one hand-made site, a fact each."""

from __future__ import annotations

from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors.snapshot import Power, PowerGroup, System
from reconcile.capacity import NO_HISTORY, NO_SNAPSHOT, Capacity, capacity
from reconcile.channels import resolve
from reconcile.limits.values import DEFAULT_LIMITS
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.pipeline import compare
from reconcile.proposal import Proposal, _cheapest, propose
from reconcile.site_file import CordsTable
from tests.reconcile.handmade_network import answer, heard, port, snapshot

WEEK = 7 * 24 * 3600 * 100
STRANGER = "00:30:de:41:b7:09"


def site(unit: str = "33", ports: int = 8) -> PatchMap:
    """Two switches in two rooms, a panel beside the first; of three cables to the wet lab one is patched."""
    return PatchMap(
        site="Saltmarsh",
        switches=[
            Switch(name="sw-a", room="comms", rack="R1", unit=unit, ports=tuple(str(n) for n in range(1, ports + 1))),
            Switch(name="sw-b", room="shed", rack="R2", unit="4", ports=("1", "2")),
        ],
        panels=[Panel(name="PP-A", jacks=tuple("12345"), room="comms", rack="R1", unit="40" if unit else "")],
        outlets=[Outlet(name=f"WL-0{n}", room="wet lab") for n in (1, 2, 3)],
        fixed_cables=[
            FixedCable(label=f"F{n}", a=End("PP-A", str(n)), b=End(f"WL-0{n}", "1"), length_m=20 + n, category="6A")
            for n in (1, 2, 3)
        ],
        cords=[Cord(label="P1", a=End("sw-a", "1"), b=End("PP-A", "1"))],
        devices=[Device(name="pump", at=End("WL-01", "1")), Device(name="stray", at=End("WL-03", "1"))],
    )


def looked_at(patch_map: PatchMap, *ports: object, **more: object) -> Capacity:
    """The capacity with what sw-a said."""
    switch = answer("sw-a", ports, heard((STRANGER, "4")))  # type: ignore[arg-type]  # ports made by `port`
    switch.system = System(uptime_ticks=5 * WEEK)
    switch.power_groups = [PowerGroup(group=1, budget_watts=100, used_watts=12)]
    picture = compare(patch_map, snapshot(switch)).picture
    return capacity(patch_map, picture.channels, picture)


SEEN = (
    port("1", power=Power(state="deliveringPower", power_class=3, group=1)),
    port("2", "down", last_change_ticks=2 * WEEK),
    port("3", "down", admin="down"),
    port("4"),
    port("5", "down", last_change_ticks=0),
    port("6", "unknown"),
)


def test_each_free_port_says_what_stands_behind_the_word() -> None:
    free = looked_at(site(), *SEEN)
    states = {p.port: p.state for p in free.ports if p.switch == "sw-a"}
    assert states == {
        "2": "silent",
        "3": "shut",
        "4": "speaks",
        "5": "silent",
        "6": "unknown",
        "7": "unknown",
        "8": "unknown",
    }
    assert free.history == NO_HISTORY


def test_how_long_a_port_has_been_silent_is_told_or_bounded() -> None:
    # RFC 2863: ifLastChange 0 is a state from before the agent started.
    ports = {p.port: p for p in looked_at(site(), *SEEN).ports if p.switch == "sw-a"}
    assert (ports["2"].silent_seconds, ports["2"].at_least) == (3 * WEEK / 100, False)
    assert (ports["5"].silent_seconds, ports["5"].at_least) == (5 * WEEK / 100, True)


def test_a_free_port_that_speaks_names_who_is_there() -> None:
    assert f"{STRANGER} is there" in next(p.because for p in looked_at(site(), *SEEN).ports if p.port == "4")


def test_a_switch_that_was_not_asked_has_no_silent_ports() -> None:
    assert {p.state for p in looked_at(site(), *SEEN).ports if p.switch == "sw-b"} == {"unknown"}


def test_jacks_are_patched_ready_or_bare() -> None:
    (panel,) = looked_at(site(), *SEEN).panels
    assert (panel.patched, panel.ready, panel.bare) == (1, ("2", "3"), ("4", "5"))
    assert (panel.ports_free, panel.suffices) == (2, True)


def test_cables_to_a_room_say_who_is_plugged_in_all_the_same() -> None:
    ready = {jack.outlet: jack for jack in looked_at(site(), *SEEN).ready}
    assert {name: jack.occupied_by for name, jack in ready.items()} == {"WL-02:1": "", "WL-03:1": "stray"}


def test_watts_left_by_draw_and_by_class() -> None:
    # 100 W supply, 12 W drawn, one of class 3 (15.4 W at the switch).
    (left,) = looked_at(site(), *SEEN).power
    assert (left.left_now, left.left_planned) == (88, 84.6)


def test_without_a_snapshot_nothing_is_silent() -> None:
    patch_map = site()
    free = capacity(patch_map, resolve(patch_map), None)
    assert {p.state for p in free.ports} == {"unknown"}
    assert (free.history, free.power) == (NO_SNAPSHOT, [])


def proposed(patch_map: PatchMap, count: int, *ports: object, room: str = "wet lab") -> Proposal:
    free = looked_at(patch_map, *ports)
    return propose(room, count, free, patch_map, resolve(patch_map), CordsTable(), DEFAULT_LIMITS)


def test_a_place_gets_a_free_jack_a_silent_port_and_a_cord() -> None:
    (place,) = proposed(site(), 1, *SEEN, room="Wet Lab").places
    assert (place.outlet, place.jack, place.port, place.cord_m) == ("WL-02:1", "PP-A:2", "sw-a:2", 1.0)


def test_fewer_places_than_asked_for_say_what_is_lacking() -> None:
    assert "1 cables to wet lab" in proposed(site(), 2, *SEEN).lacking
    assert "no outlet in 'attic'" in proposed(site(), 1, *SEEN, room="attic").lacking
    patch_map = site()
    patch_map.devices.pop()
    assert "only 1 free ports" in proposed(patch_map, 2, *SEEN[:2]).lacking


def test_without_a_rack_the_switch_that_serves_the_panel_is_proposed_and_the_length_is_missing() -> None:
    (place,) = proposed(site(unit=""), 1, *SEEN).places
    assert place.port == "sw-a:2"
    assert place.cord_m is None
    assert "the height unit of sw-a" in place.missing


@settings(max_examples=60, deadline=None)
@given(
    st.integers(1, 4).flatmap(
        lambda width: st.lists(st.lists(st.integers(0, 9), min_size=width, max_size=width), min_size=1, max_size=4)
    ),
    st.integers(1, 4),
)
def test_no_other_choice_of_places_has_shorter_cords_in_all(cost: list[list[int]], count: int) -> None:
    # Brute force over every choice of `count` rows and columns.
    found = _cheapest([[float(value) for value in row] for row in cost], count)
    size = min(count, len(cost), len(cost[0]))
    best = min(
        sum(cost[r][c] for r, c in zip(rows, columns, strict=True))
        for rows in combinations(range(len(cost)), size)
        for columns in permutations(range(len(cost[0])), size)
    )
    assert len(found) == size
    assert sum(cost[r][c] for r, c in found) == best


@pytest.mark.parametrize("count", [0, -1])
def test_no_places_take_nothing(count: int) -> None:
    assert _cheapest([[1.0]], count) == []
