"""What a teardown would do on whole small networks, and the check afterwards."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from collectors.snapshot import Neighbour
from reconcile.errors import UsageError
from reconcile.reports.teardown import render, render_after
from reconcile.result import CoverageGap
from reconcile.swap import look
from reconcile.swap.look import Look
from reconcile.teardown import check_after, plan_teardown
from reconcile.teardown.model import (
    AfterCheck,
    Alive,
    Dark,
    Gateway,
    KeptPlan,
    Load,
    Pull,
    Spare,
    TeardownPlan,
    Why,
)
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade_network import TAKEN, answer, device, heard, port, site, snapshot
from tests.worlds import changes, saltmarsh
from tests.worlds.equipment import host
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.documented()
SHED = ["bs-ws-1", "bs-phone-1", "bs-cam-1", "bs-tide-1", "bs-wx-1", "bs-ais-1", "bs-door-1", "bs-chart-1"]
TANK, NEWCOMER, ROUTER = "00:30:de:41:b7:09", "dc:a6:32:9e:04:5b", "74:78:a6:0c:91:f2"


def seen(world: World = WORLD) -> Look:
    return look(world.record, snapshot_of(world))


def names(plan: TeardownPlan, why: Why | None = None) -> list[str]:
    return [dark.name for dark in plan.dark if why in (None, dark.why)]


def test_a_switch_takes_its_devices_with_it_and_leaves_them_their_outlets() -> None:
    plan = plan_teardown(["shed-1"], seen())
    assert names(plan, Why.ITSELF) == ["shed-1"]
    assert names(plan, Why.UNPLUGGED) == SHED
    assert [pull.cord for pull in plan.pulls] == [*(f"P30{n}" for n in range(1, 9)), "U3", "U4"]
    assert [pull.link for pull in plan.pulls] == [False] * 8 + [True] * 2
    assert plan.spare.ports == ("core-1:Ethernet4",)
    assert set(plan.spare.jacks) == {*(f"PP-S:{n}" for n in [*range(1, 9), 11]), "PP-B:23"}
    assert plan.spare.outlets == ()
    assert plan.exit_code == 0


def test_a_room_goes_with_everything_in_it_and_the_cords_elsewhere_that_served_it() -> None:
    plan = plan_teardown(["Boat  Shed"], seen())
    assert names(plan, Why.ITSELF) == ["shed-1", *SHED]
    assert "own lead of bs-cam-1" in [pull.cord for pull in plan.pulls]
    assert {"1B-S01", "B1", "B2"} <= set(plan.spare.cables)
    assert plan.spare.jacks == ("PP-B:23",)


def test_a_core_switch_takes_everybody_behind_it() -> None:
    plan = plan_teardown(["core-1"], seen())
    behind = {dark.name: dark.through for dark in plan.dark if dark.kind == "switch" and dark.why is Why.ONLY_THROUGH}
    assert behind == {"acc-1": "core-1", "acc-2": "core-1", "shed-1": "core-1"}
    assert {"wl-tank-1", "bs-cam-1", "im-ws-1"} <= set(names(plan, Why.ONLY_THROUGH))
    assert {"nas-1", "hv-1"} <= set(names(plan, Why.UNPLUGGED))
    assert plan.pulls[-1].cord == "U5"  # the way to the gateway, to the very end
    assert plan.exit_code == 1


def test_a_pulled_cord_between_switches_is_named_as_what_the_others_hang_on() -> None:
    plan = plan_teardown(["U3"], seen())
    assert [(d.name, d.through) for d in plan.dark if d.kind == "switch"] == [("shed-1", "link core-1 - shed-1")]
    assert names(plan, Why.UNPLUGGED) == []


def test_a_pc_goes_with_the_telephone_that_it_is_behind() -> None:
    plan = plan_teardown(["wl-phone-1"], seen())
    assert [(d.name, d.why, d.through) for d in plan.dark] == [
        ("wl-phone-1", Why.ITSELF, ""),
        ("wl-pc-1", Why.ONLY_THROUGH, "wl-phone-1"),
    ]
    assert plan.ports == ("acc-1:Gi1/0/2",)


def test_a_pc_behind_a_telephone_leaves_the_telephone_alone() -> None:
    plan = plan_teardown(["wl-pc-1"], seen())
    assert (names(plan), plan.ports) == (["wl-pc-1"], ())


def test_a_panel_takes_the_links_that_run_through_it() -> None:
    plan = plan_teardown(["PP-B"], seen())
    assert {"bh-tv-1", "bh-door-1"} <= set(names(plan, Why.UNPLUGGED))
    assert "shed-1" in names(plan, Why.ONLY_THROUGH)
    assert plan.pulls[-1].cord in ("U3", "U4")
    assert "acc-2:13" in plan.spare.ports


@pytest.mark.parametrize(
    ("word", "dark"),
    [
        ("acc-1:Gi1/0/3-4", {"wl-tank-1", "wl-printer-1"}),
        ("acc-1:3", {"wl-tank-1"}),
        ("PP-A:3", {"wl-tank-1"}),
        ("1A-A03", {"wl-tank-1"}),
        ("P103", {"wl-tank-1"}),
        ("WL-02", {"wl-tank-1", "wl-printer-1"}),
        ("shed-1:ge-0/0/0-1", {"bs-ws-1", "bs-phone-1"}),
        ("device:wl-tank-1", {"wl-tank-1"}),
        ("rack:R2", {"shed-1", *SHED}),
    ],
)
def test_what_is_torn_down_can_be_named_in_many_ways(word: str, dark: set[str]) -> None:
    assert set(names(plan_teardown([word], seen()))) == dark


@pytest.mark.parametrize(
    ("word", "words"),
    [
        ("acc-3", "acc-3: nothing in the map has this name; try: acc-"),
        ("acc-1:Gi1/0/99", "acc-1:Gi1/0/99: acc-1 has no Gi1/0/99; try: "),
        ("PP-A:77", "PP-A:77: PP-A has no 77; try: "),
        ("acc-1:Gi1/0/9-1", "acc-1:Gi1/0/9-1: is no list of positions: it runs backwards; try: "),
    ],
)
def test_a_name_that_means_nothing_is_refused_with_what_to_try(word: str, words: str) -> None:
    with pytest.raises(UsageError) as caught:
        plan_teardown([word], seen())
    assert str(caught.value).startswith(words)


def test_a_name_of_several_things_asks_which() -> None:
    record = WORLD.record.model_copy(deep=True)
    record.devices.append(device("boat shed"))
    with pytest.raises(UsageError, match=r"means several things.*'device:boat shed' or 'room:boat shed'"):
        plan_teardown(["boat shed"], look(record, snapshot_of(WORLD)))


def test_strangers_on_its_ports_are_told() -> None:
    plan = plan_teardown(["acc-2"], seen(changes.add_box(WORLD, host("pi", NEWCOMER), "acc-2:20")))
    assert [(d.name, d.at) for d in plan.dark if d.name == NEWCOMER] == [(NEWCOMER, "acc-2:20")]
    (pull,) = [pull for pull in plan.pulls if not pull.documented]
    assert (pull.a, pull.b) == ("acc-2:20", NEWCOMER)
    assert plan.more_than_asked


def test_a_device_that_was_moved_goes_dark_where_it_really_is() -> None:
    world = changes.replug(WORLD, "acc-2:5", "acc-2:19")
    assert "im-ws-2" not in names(plan_teardown(["acc-2:5"], seen(world)))
    assert names(plan_teardown(["acc-2:19"], seen(world))) == ["im-ws-2"]
    plan = plan_teardown(["acc-2:5"], seen(world))
    assert plan.notes == ("the map has im-ws-2 at acc-2:5, and it was heard at acc-2:19",)


def ring() -> World:
    """A second cord between core-1 and acc-1, blocked by spanning tree."""
    world = changes.change_port(changes.change_port(WORLD, "core-1:Ethernet20", blocked=True), "acc-1:Gi1/0/20")
    return changes.plug(world, "core-1:Ethernet20", "acc-1:Gi1/0/20")


def test_a_blocked_spare_cord_is_a_way_all_the_same() -> None:
    plan = plan_teardown(["U1"], seen(ring()))
    assert plan.dark == ()
    assert plan.stays == ("acc-1 - core-1 keeps 1 of 2 cords",)
    assert plan.now_single == ("acc-1 - core-1",)


def test_a_blocked_spare_cord_is_pulled_before_the_one_that_carries() -> None:
    links = [pull for pull in plan_teardown(["acc-1"], seen(ring())).pulls if pull.link]
    assert [(pull.cord, pull.documented) for pull in links] == [("", False), ("U1", True)]


def test_one_member_of_an_aggregation_may_go() -> None:
    def says(port_name: str, system: str, far: str) -> Neighbour:
        return Neighbour(
            port=port_name, system_name=system, chassis_id=f"02:00:00:00:00:0{1 if system == 'sw-a' else 2}",
            chassis_id_kind="macAddress", port_id=far, port_id_kind="interfaceName", capabilities=["bridge"],
        )  # fmt: skip

    members = [port("1", aggregate="ae0"), port("2", aggregate="ae0"), port("ae0", if_type=161)]
    a = answer("sw-a", [*members, port("3")], heard((TANK, "ae0")), [says("1", "sw-b", "1"), says("2", "sw-b", "2")],
               own=["02:00:00:00:00:01"])  # fmt: skip
    b = answer("sw-b", [*members, port("3")], heard((TANK, "3")), [says("1", "sw-a", "1"), says("2", "sw-a", "2")],
               own=["02:00:00:00:00:02"])  # fmt: skip
    patch_map = site([device("tank", "sw-b:3", TANK)], [("sw-a:1", "sw-b:1"), ("sw-a:2", "sw-b:2")])
    one = plan_teardown(["C-1"], look(patch_map, snapshot(a, b)), start="sw-a")
    assert one.dark == ()
    assert one.notes == (
        "aggregation sw-a:ae0 keeps 1 of its 2 members",
        "aggregation sw-b:ae0 keeps 1 of its 2 members",
    )
    both = plan_teardown(["C-1", "C-2"], look(patch_map, snapshot(a, b)), start="sw-a")
    assert names(both) == ["sw-b", "tank"]


def test_a_device_with_two_sockets_stays_when_one_of_them_goes() -> None:
    patch_map = site([device("nas", "", TANK)], [("sw-a:1", "nas:eth0"), ("sw-a:2", "nas:eth1")])
    looked = look(patch_map, snapshot(answer("sw-a", [port("1"), port("2")], heard((TANK, "1")))))
    plan = plan_teardown(["sw-a:1"], looked)
    assert plan.dark == ()
    assert plan.stays == ("nas loses sw-a:1 and keeps sw-a:2",)


def test_tearing_down_the_firewall_leaves_the_rest_up_without_a_way_out() -> None:
    plan = plan_teardown(["fw-1"], seen())
    assert names(plan) == ["fw-1"]
    assert plan.root == "core-1, where fw-1 is plugged in"
    assert plan.gateways == (Gateway(name="fw-1", at="core-1:Ethernet1", torn_down=True),)
    assert {"acc-1", "acc-2", "core-1", "shed-1", "wl-tank-1"} <= set(plan.lose_gateway)
    assert plan.exit_code == 1


def test_the_place_of_the_person_is_kept_reachable_to_the_end() -> None:
    plan = plan_teardown(["core-1"], seen(), start="acc-2")
    assert plan.root == "acc-2, as asked for"
    assert plan.pulls[-1].cord == "U2"
    with pytest.raises(UsageError, match="--from acc-9: is no switch, port or device"):
        plan_teardown(["core-1"], seen(), start="acc-9")


def test_who_answers_for_a_virtual_gateway_address_is_a_way_out() -> None:
    # RFC 9568 section 7.3: 00-00-5E-00-01-{VRID} is the virtual router's address.
    patch_map = site([device("tank", "sw-a:1", TANK)])
    rows = heard((TANK, "1"), ("00:00:5e:00:01:0a", "2"))
    plan = plan_teardown(["sw-a:2"], look(patch_map, snapshot(answer("sw-a", [port("1"), port("2")], rows))))
    assert [(way.name, way.at) for way in plan.gateways] == [("00:00:5e:00:01:0a", "sw-a:2")]
    assert "tank" in {*plan.lose_gateway, *names(plan)}


def test_power_loads_and_who_is_alive_are_told() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK), device("mute", "sw-a:2", ROUTER), device("off", "sw-a:3")])
    fed = port("1", power={"state": "deliveringPower", "watts": 6.5})
    looked = look(patch_map, snapshot(answer("sw-a", [fed, port("2"), port("3", "down")], heard((TANK, "1")))))
    before = datetime(2026, 3, 1, tzinfo=UTC)
    plan = plan_teardown(["sw-a"], looked, last_seen={ROUTER: before})
    assert plan.loads == (Load(port="sw-a:1", watts=6.5),)
    assert {d.name: (d.alive, d.last_seen) for d in plan.dark if d.kind == "device"} == {
        "tank": (Alive.HEARD, TAKEN),
        "mute": (Alive.LINK, before),
        "off": (Alive.NO_LINK, None),
    }


def torn(world: World, switch: str, *ports: str) -> World:
    """The switch without power, its cords pulled at these places."""
    for place in ports:
        world = changes.unplug(world, place)
    return changes.change_switch(world, switch, answers=False)


SHED_PORTS = [f"shed-1:ge-0/0/{n}" for n in [*range(8), 11]]


def test_when_just_the_plan_went_dark_the_check_says_so() -> None:
    plan = plan_teardown(["shed-1"], seen())
    found = check_after(plan, seen(), seen(torn(WORLD, "shed-1", *SHED_PORTS, "core-1:Ethernet4")))
    assert (found.exit_code, found.still_alive, found.also_dark, found.unsure) == (0, (), (), ())
    assert {"switch shed-1", "bs-ws-1", "bs-wx-1"} <= set(found.as_planned)


def test_what_went_dark_beyond_the_plan_is_told() -> None:
    plan = plan_teardown(["shed-1"], seen())
    world = changes.unplug(torn(WORLD, "shed-1", *SHED_PORTS, "core-1:Ethernet4"), "acc-1:Gi1/0/3")
    found = check_after(plan, seen(), seen(world))
    assert found.also_dark == ("wl-tank-1 (acc-1:Gi1/0/3): acc-1:Gi1/0/3 has no link",)
    assert found.exit_code == 1


def test_what_is_still_alive_though_planned_dark_is_told() -> None:
    plan = plan_teardown(["acc-1:Gi1/0/3-4"], seen())
    found = check_after(plan, seen(), seen(changes.unplug(WORLD, "acc-1:Gi1/0/3")))
    assert found.as_planned == ("wl-tank-1",)
    assert found.still_alive == ("wl-printer-1 is still at acc-1:Gi1/0/4",)


def test_another_switch_that_fell_silent_was_not_planned() -> None:
    plan = plan_teardown(["acc-1:Gi1/0/3"], seen())
    world = changes.change_switch(changes.unplug(WORLD, "acc-1:Gi1/0/3"), "shed-1", answers=False)
    found = check_after(plan, seen(), seen(world))
    assert found.exit_code == 1
    assert found.also_dark[0].startswith("switch shed-1 does not answer")


def test_a_plan_reads_back_as_it_was_kept() -> None:
    kept = KeptPlan(plan=plan_teardown(["acc-2"], seen()), patch_map=WORLD.record)
    assert KeptPlan.model_validate_json(kept.model_dump_json()) == kept


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_no_report_of_a_teardown_lets_hostile_text_act(text: str) -> None:
    texts, gaps = (text,), (CoverageGap(switch=text, state=text, reason=text),)
    plan = TeardownPlan(
        site=text, taken=TAKEN, what=texts, root=text, lose_gateway=texts, stays=texts, now_single=texts, notes=texts,
        dark=tuple(Dark(name=text, kind="device", why=why, through=text, at=text, room=text) for why in Why),
        gateways=(Gateway(name=text, at=text),), loads=(Load(port=text),),
        pulls=(Pull(cord=text, a=text, b=text, mind=texts),), gaps=gaps,
        spare=Spare(ports=texts, jacks=texts, outlets=texts, cords=texts, cables=texts),
    )  # fmt: skip
    after = AfterCheck(
        site=text, what=texts, before=TAKEN, after=TAKEN, as_planned=texts, still_alive=texts, also_dark=texts,
        unsure=texts, gaps=gaps,
    )  # fmt: skip
    for form in ("text", "csv"):
        for shown in (render(plan, form), render_after(after, form)):
            assert acting_characters(shown.replace("\r\n", "\n")) == set()
