"""What is free, and how far that can be trusted: one hand-made site, a fact each."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors.snapshot import Port, Power, PowerGroup, System
from reconcile.capacity import NO_HISTORY, NO_SNAPSHOT, Capacity, capacity
from reconcile.channels import resolve
from reconcile.free_ports import FreePort
from reconcile.limits.values import DEFAULT_LIMITS
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.pipeline import compare
from reconcile.proposal import Place, Proposal, _cheapest, propose
from reconcile.recalled import Recalled, Silence
from reconcile.reports import spare
from reconcile.site_file import CordsTable
from tests.reconcile.handmade_network import TAKEN, answer, heard, port, snapshot

DAY_TICKS = 24 * 3600 * 100
WEEK = 7 * DAY_TICKS
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


DAY = timedelta(days=1)
YEAR = Recalled(40, TAKEN - 60 * DAY)


def with_history(silence: Silence, ticks: int | None, uptime: int = 5 * WEEK) -> FreePort:
    """Free port 2, of which the switch and the history say this."""
    switch = answer("sw-a", [port("2", "down", last_change_ticks=ticks)])
    switch.system = System(uptime_ticks=uptime)
    past = replace(YEAR, silent={PortRef("sw-a", "2"): silence})
    picture = compare(site(), snapshot(switch), recalled=past).picture
    return next(p for p in capacity(site(), picture.channels, picture).ports if (p.switch, p.port) == ("sw-a", "2"))


def days(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / 86_400


def test_the_history_goes_further_back_than_a_switch_that_was_restarted() -> None:
    # RFC 2863: ifLastChange 0 is a state from before the agent started; others give the moment of their start-up.
    for at_start in (0, 1200):
        found = with_history(Silence(TAKEN - 60 * DAY, 40), at_start)
        assert (days(found.silent_seconds), found.at_least, found.silent_runs) == (60, True, 40)


def test_a_switch_knows_to_the_second_what_the_history_knows_to_the_night() -> None:
    found = with_history(Silence(TAKEN - 20 * DAY, 20, TAKEN - 21 * DAY, STRANGER), WEEK * 5 - 205 * DAY_TICKS // 10)
    assert (days(found.silent_seconds), found.at_least) == (20.5, False)
    assert (found.last_link, found.last_mac) == (TAKEN - 21 * DAY, STRANGER)


def test_a_run_that_saw_a_link_is_believed_before_a_switch_that_denies_it() -> None:
    found = with_history(Silence(TAKEN - 2 * DAY, 3, TAKEN - 3 * DAY), WEEK)
    assert (days(found.silent_seconds), found.at_least) == (2, True)


def test_a_link_that_no_run_saw_is_somebody_at_other_hours() -> None:
    found = with_history(Silence(TAKEN - 60 * DAY, 40), WEEK * 5 - DAY_TICKS // 2)
    assert (days(found.silent_seconds), found.at_least) == (0.5, False)
    assert "other hours" in found.because


def test_how_many_weeks_stand_behind_the_word_free_is_told() -> None:
    picture = compare(site(), snapshot(answer("sw-a", SEEN)), recalled=YEAR).picture
    free = capacity(site(), picture.channels, picture)
    assert free.history.startswith("9 weeks of history, 40 runs since 2026-01-13")
    assert (free.runs, free.history_days) == (40, 60)


def test_a_port_at_which_a_link_was_seen_of_late_is_proposed_last_and_says_so() -> None:
    patch_map = site()
    seen = [port("2", "down"), port("3", "down")]
    past = replace(YEAR, silent={PortRef("sw-a", "2"): Silence(TAKEN - DAY, 1, TAKEN - 2 * DAY)})

    def first(ports: list[Port]) -> Place:
        picture = compare(patch_map, snapshot(answer("sw-a", ports)), recalled=past).picture
        free = capacity(patch_map, picture.channels, picture)
        return propose("wet lab", 1, free, patch_map, picture.channels, CordsTable(), DEFAULT_LIMITS).places[0]

    assert (first(seen).port, first(seen).last_link) == ("sw-a:3", None)
    assert (first(seen[:1]).port, first(seen[:1]).last_link) == ("sw-a:2", TAKEN - 2 * DAY)


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


@pytest.mark.parametrize(
    ("silence", "ticks", "words"),
    [
        (Silence(TAKEN - 60 * DAY, 40), 0, "2 (at least 8 weeks, none in 40 runs)"),
        (
            Silence(TAKEN - 9 * DAY, 9, TAKEN - 10 * DAY, STRANGER),
            0,
            f"2 (at least 1 week, last link 2026-03-04, {STRANGER})",
        ),
        (Silence(TAKEN - 60 * DAY, 40), 5 * WEEK - DAY_TICKS // 2, "2 (12 hours, after a link that no run saw: in use"),
    ],
)
def test_people_read_how_long_a_port_has_been_silent_and_what_the_nights_saw(
    silence: Silence, ticks: int, words: str
) -> None:
    free = Capacity(ports=[with_history(silence, ticks)])
    assert words in " ".join(spare.render(free, [], "text", width=200).split())
    assert words.partition(", ")[2].rstrip(")") in spare.render(free, [], "csv")
