"""What is left after a swap: each kind of trouble, what is in doubt, and the order of work."""

from __future__ import annotations

from dataclasses import replace

import pytest

from collectors.snapshot import Neighbour, Port, Snapshot, Table, TableReport, TableState
from reconcile.patchmap.model import PatchMap
from reconcile.reports.swap import ports_file, render
from reconcile.result import CoverageGap
from reconcile.swap import check_swap, correspond, look
from reconcile.swap.model import Certainty, Left, PortPair, SwapCheck, SwitchPair, Trouble, Unsure, Weight
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade_network import TAKEN, answer, device, heard, port, site, snapshot
from tests.worlds import changes, saltmarsh
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.documented()
TANK, DESK, NEWCOMER = "00:30:de:41:b7:09", "20:47:47:3a:9c:11", "dc:a6:32:9e:04:5b"


def checked(world: World, before: World = WORLD) -> SwapCheck:
    was, now = look(WORLD.record, snapshot_of(before)), look(WORLD.record, snapshot_of(world))
    return check_swap(was, now, correspond(was, now, [], {}))


def compared(patch_map: PatchMap, before: Snapshot, after: Snapshot) -> SwapCheck:
    was, now = look(patch_map, before), look(patch_map, after)
    return check_swap(was, now, correspond(was, now, [], {}))


def one_port(now: Port, was: Port | None = None, *, sighted: str = TANK, vlan: int = 10) -> SwapCheck:
    """A tank on port 1 of one switch, and what became of that port."""
    patch_map = site([device("tank", "sw-a:1", TANK)])
    after = answer("sw-a", [now], heard((sighted, "1")) if sighted else [])
    after.sightings = [row._replace(vlan=vlan) for row in after.sightings]
    return compared(patch_map, snapshot(answer("sw-a", [was or port("1")], heard((TANK, "1")))), snapshot(after))


def test_an_unchanged_site_says_that_nothing_moved() -> None:
    found = checked(WORLD)
    assert (found.exit_code, found.left, found.unsure, found.back) == (0, (), (), found.watched)
    assert "Nothing moved" in render(found, "text")


def test_two_crossed_cords_are_two_things_to_move_with_cord_and_jack() -> None:
    found = checked(changes.cross(WORLD, "acc-1:Gi1/0/3", "acc-1:Gi1/0/4"))
    assert [(left.subject, left.trouble, left.do) for left in found.left] == [
        ("wl-tank-1", Trouble.MOVED, "move cord P103 (jack PP-A:3) from acc-1:Gi1/0/4 to acc-1:Gi1/0/3"),
        ("wl-printer-1", Trouble.MOVED, "move cord P104 (jack PP-A:4) from acc-1:Gi1/0/3 to acc-1:Gi1/0/4"),
    ]


def test_an_uplink_in_another_port_is_told_once_and_before_everything_else() -> None:
    world = changes.replug(changes.unplug(WORLD, "acc-1:Gi1/0/3"), "core-1:Ethernet3", "core-1:Ethernet6")
    world = changes.unplug(world, "acc-2:11")
    found = checked(world)
    assert [(left.weight, left.trouble, left.subject) for left in found.left] == [
        (Weight.LINK, Trouble.MOVED, "link core-1:Ethernet3 - acc-2:24"),
        (Weight.CARRIER, Trouble.MISSING, "ap-bunk"),
        (Weight.SINGLE, Trouble.MISSING, "wl-tank-1"),
    ]


def test_a_pulled_uplink_is_missing() -> None:
    found = checked(changes.unplug(WORLD, "core-1:Ethernet3"))
    link = found.left[0]
    assert (link.trouble, link.weight) == (Trouble.MISSING, Weight.LINK)
    assert link.says in ("core-1:Ethernet3 faces no switch", "acc-2:24 faces no switch")


def test_a_further_link_between_switches_comes_extra() -> None:
    found = checked(WORLD, before=changes.unplug(WORLD, "core-1:Ethernet3"))
    assert (found.left[0].trouble, found.left[0].weight) == (Trouble.EXTRA, Weight.LINK)
    assert {found.left[0].subject} <= {"link core-1:Ethernet3 - acc-2:24", "link acc-2:24 - core-1:Ethernet3"}


def test_a_device_with_link_that_was_not_heard_is_in_doubt_and_not_missing() -> None:
    found = checked(changes.silence(WORLD, "wl-tank-1"))
    assert found.left == ()
    assert [(doubt.subject, doubt.because) for doubt in found.unsure] == [
        ("wl-tank-1", "acc-1:Gi1/0/3 has link; it has not been heard there yet")
    ]
    assert found.exit_code == 3


def test_a_device_that_was_mute_before_is_back_with_its_link() -> None:
    assert checked(changes.unplug(WORLD, "shed-1:ge-0/0/4")).left[0].subject == "bs-wx-1"
    assert not [left for left in checked(WORLD).left if left.subject == "bs-wx-1"]


def test_a_switch_that_does_not_answer_leaves_its_devices_in_doubt() -> None:
    found = checked(changes.change_switch(WORLD, "shed-1", answers=False))
    assert found.exit_code == 3
    assert {doubt.subject for doubt in found.unsure} >= {"bs-ws-1", "bs-cam-1", "bs-wx-1"}
    assert [gap.switch for gap in found.gaps] == ["shed-1"]


def test_somebody_else_in_the_place_of_a_device_is_one_missing_and_one_extra() -> None:
    found = checked(changes.new_address(WORLD, "im-scope-cam", NEWCOMER))
    assert [(left.trouble, left.subject) for left in found.left] == [
        (Trouble.MISSING, "im-scope-cam"),
        (Trouble.EXTRA, f"undocumented {NEWCOMER}"),
    ]


def test_clients_of_an_access_point_come_and_go_without_a_word() -> None:
    box = WORLD.box("ap-bunk")
    fewer = changes.replace_box(WORLD, "ap-bunk", stations=box.stations[:1])
    more = (*box.stations, replace(box.stations[-1], mac=NEWCOMER))
    assert checked(fewer).exit_code == 0
    assert checked(changes.replace_box(WORLD, "ap-bunk", stations=more)).exit_code == 0


@pytest.mark.parametrize(
    ("now", "was", "trouble", "says"),
    [
        (port("1", speed_mbps=100), port("1"), Trouble.SLOWER, "sw-a:1 runs at 100 Mbit/s; at 1000 before"),
        (port("1", duplex="half"), port("1", duplex="full"), Trouble.SLOWER, "sw-a:1 runs half duplex; full before"),
        (port("1", pvid=30), port("1", pvid=10), Trouble.OTHER_VLAN, "sw-a:1 has VLAN 30 untagged; 10 before"),
        (
            port("1", power={"state": "searching"}), port("1", power={"state": "deliveringPower"}),
            Trouble.NO_POWER, "sw-a:1 delivers no power, and did before",
        ),
        (
            port("1"), port("1", power={"state": "deliveringPower"}),
            Trouble.NO_POWER, "sw-a:1 has no PoE that its switch tells of, and it delivered power before",
        ),
        (
            port("1"), port("1", aggregate="ae0"),
            Trouble.UNBUNDLED, "sw-a:1 is a member of no aggregation; of ae0 before",
        ),
    ],
)  # fmt: skip
def test_what_is_back_and_worse_is_told(now: Port, was: Port, trouble: Trouble, says: str) -> None:
    found = one_port(now, was)
    assert [(left.trouble, left.says) for left in found.left if left.trouble is not Trouble.MOVED] == [(trouble, says)]


def test_power_that_the_switch_no_longer_tells_of_is_not_lost_power() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK)])
    was = answer("sw-a", [port("1", power={"state": "deliveringPower"})], heard((TANK, "1")))
    refused = {Table.POWER: TableReport(state=TableState.REFUSED, reason="no access")}
    now = answer("sw-a", [port("1")], heard((TANK, "1")), tables=refused)
    assert compared(patch_map, snapshot(was), snapshot(now)).left == ()


def test_a_station_that_talks_in_another_vlan_is_told() -> None:
    found = one_port(port("1"), vlan=30)
    assert [(left.trouble, left.says) for left in found.left] == [
        (Trouble.OTHER_VLAN, f"{TANK} talks in VLAN 30 at sw-a:1, and did in 10")
    ]


def test_a_shut_port_is_why_its_device_is_missing() -> None:
    found = one_port(port("1", "down", admin="down"), sighted="")
    assert [(left.trouble, left.says) for left in found.left] == [(Trouble.MISSING, "sw-a:1 is administratively down")]


def test_a_table_that_remembers_who_was_on_a_port_without_link_is_not_believed() -> None:
    assert [left.trouble for left in one_port(port("1", "down")).left] == [Trouble.MISSING]


def test_a_neighbour_without_an_address_is_known_again_by_what_it_calls_itself() -> None:
    patch_map = site()
    says = Neighbour(port="1", chassis_id="10.20.20.31", system_name="phone")
    was = answer("sw-a", [port("1"), port("2", "down")], neighbours=[says])
    now = answer("sw-a", [port("1", "down"), port("2")], neighbours=[says.model_copy(update={"port": "2"})])
    found = compared(patch_map, snapshot(was), snapshot(now))
    assert [(left.trouble, left.now_at) for left in found.left] == [(Trouble.MOVED, "sw-a:2")]


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_no_report_of_a_swap_lets_hostile_text_act(text: str) -> None:
    left = Left(trouble=Trouble.MISSING, weight=Weight.SINGLE, subject=text, was_at=text, says=text, do=text)
    doubt = Unsure(subject=text, weight=Weight.SINGLE, was_at=text, because=text)
    pair = PortPair(old=text, new=text, certainty=Certainty.OPEN, because=text)
    found = SwapCheck(
        site=text, before=TAKEN, after=TAKEN, watched=2, left=(left,), unsure=(doubt,), notes=(text,),
        switches=(SwitchPair(old=text, new=text, orders=(text,), pairs=(pair,)),),
        gaps=(CoverageGap(switch=text, state=text, reason=text, hint=text),),
    )  # fmt: skip
    for form in ("text", "csv"):
        assert acting_characters(render(found, form).replace("\r\n", "\n")) == set()
    assert acting_characters(ports_file(found.switches).replace("\r\n", "\n")) == set()
    if "\ud83d" not in text:  # JSON in a model is UTF-8, where half a character cannot be
        assert acting_characters(render(found, "json")) == set()
