"""The network's shape: what is drawn, and that it can be read at any size."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collectors.snapshot import Neighbour
from reconcile.patchmap.model import Cord
from reconcile.pipeline import compare
from reconcile.reports.page import page_of
from reconcile.reports.page.shape import BOX_HEIGHT, BOX_WIDTH, Shape, shape_of
from tests.browser.sites import saltmarsh, wired
from tests.reconcile.handmade_network import answer, port, site, snapshot
from tests.worlds import changes
from tests.worlds.model import end
from tests.worlds.snapshots import snapshot_of
from tests.worlds.strategies import Small, small_worlds


def drawn(count: int) -> Shape:
    return shape_of(compare(*wired(count, 6)).picture)


@pytest.mark.parametrize("count", [1, 3, 20, 100])
def test_no_two_switches_overlap_and_all_are_inside_the_drawing(count: int) -> None:
    shape = drawn(count)
    assert len(shape.boxes) == count
    for a, b in itertools.combinations(shape.boxes, 2):
        assert abs(a.x - b.x) >= BOX_WIDTH or abs(a.y - b.y) >= BOX_HEIGHT
    assert all(b.x + BOX_WIDTH <= shape.width and b.y + BOX_HEIGHT <= shape.height for b in shape.boxes)


def test_links_that_are_as_documented_say_so() -> None:
    shape = drawn(20)
    assert [line.state for line in shape.lines] == ["as documented"] * 19
    assert all(line.tree for line in shape.lines)


def test_the_switch_from_which_most_others_are_near_stands_first() -> None:
    """Both sw-000 and sw-001 are in the middle of a tree of 100; the former joins eight times as many."""
    assert drawn(100).boxes[0].name == "sw-000"


def test_every_link_and_every_switch_knows_its_sockets_and_its_front() -> None:
    page = page_of(saltmarsh())
    for line in page.shape.lines:
        ends = [page.spots[number].name.replace(":", " port ") for number in line.spots]
        assert line.words == " to ".join(ends)
    assert [page.holders[box.holder].name for box in page.shape.boxes] == [box.name for box in page.shape.boxes]


def test_a_loop_of_cords_between_ports_of_one_switch_that_is_seen_draws_no_link_either() -> None:
    """A cord between two ports of one switch: each hears the other (IEEE 802.1AB names sender and port)."""
    mirror = [
        Neighbour(port=here, system_name="sw-a", port_id=there, port_id_kind="interfaceName", chassis_id="sw-a")
        for here, there in (("p1", "p2"), ("p2", "p1"))
    ]
    patch_map = site(cords=[("sw-a:p1", "sw-a:p2")], switches="sw-a")
    seen = answer("sw-a", [port("p1"), port("p2")], neighbours=mirror)
    page = page_of(compare(patch_map, snapshot(seen)))
    assert page.shape.lines == ()
    assert [box.name for box in page.shape.boxes] == ["sw-a"]


def test_a_replugged_uplink_is_drawn_where_it_is_and_where_the_map_has_it() -> None:
    lines = {line.words: line.state for line in shape_of(saltmarsh().picture).lines}
    assert lines["core-1 port Ethernet3 to acc-2 port 24"] == "only in the map"
    assert lines["core-1 port Ethernet6 to acc-2 port 24"] == "only seen"
    assert lines["core-1 port Ethernet2 to acc-1 port Gi1/0/24"] == "as documented"


def test_a_documented_link_to_a_switch_that_did_not_answer_was_not_looked_at() -> None:
    patch_map = site(cords=[("sw-a:p1", "sw-b:p1")])
    shape = shape_of(compare(patch_map, snapshot(answer("sw-a", [port("p1")]), failed=["sw-b"])).picture)
    assert [line.state for line in shape.lines] == ["not looked at"]
    assert {box.name: box.state for box in shape.boxes} == {"sw-a": "answered", "sw-b": "did not answer"}


def test_a_silent_switch_that_its_neighbour_names_is_joined_as_documented() -> None:
    """It tells no port of its own, and its neighbour may have been given none by it."""
    patch_map = site(cords=[("sw-a:p1", "sw-b:p9")])
    named = Neighbour(port="p1", system_name="sw-b", capabilities=["bridge"], chassis_id="sw-b")
    seen = snapshot(answer("sw-a", [port("p1")], neighbours=[named]), failed=["sw-b"])
    lines = shape_of(compare(patch_map, seen).picture).lines
    assert [(line.words, line.state) for line in lines] == [("sw-a port p1 to sw-b port p9", "as documented")]


def test_a_switch_that_nobody_wrote_down_is_drawn_when_another_one_names_it() -> None:
    stranger = Neighbour(port="p1", system_name="attic", port_id="9", capabilities=["bridge"], chassis_id="attic")
    shape = shape_of(
        compare(site(switches="sw-a"), snapshot(answer("sw-a", [port("p1")], neighbours=[stranger]))).picture
    )
    assert {box.name: box.state for box in shape.boxes} == {"sw-a": "answered", "attic": "not asked"}
    assert [line.state for line in shape.lines] == ["only seen"]


def test_a_port_that_is_documented_as_plugged_into_itself_or_its_own_switch_draws_no_link() -> None:
    patch_map = site(cords=[("sw-a:p1", "sw-a:p1"), ("sw-a:p2", "sw-a:p3")], switches="sw-a")
    ports = [port(name) for name in ("p1", "p2", "p3")]
    assert shape_of(compare(patch_map, snapshot(answer("sw-a", ports))).picture).lines == ()


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_worlds(least_devices=1), st.data())
def test_any_small_network_is_drawn_after_any_move_and_with_a_made_up_cord(small: Small, data: st.DataObject) -> None:
    one, other, to = data.draw(st.permutations(small.free).map(lambda ports: ports[:3]), "free ports")
    small.world.record.cords.append(Cord(label="made up", a=end(one), b=end(other)))
    moves = [*((at, to) for at in small.at.values()), *small.trunks]
    world = changes.replug(small.world, *data.draw(st.sampled_from(moves), "move"))
    page = page_of(compare(world.record, snapshot_of(world)))
    assert {box.name for box in page.shape.boxes} >= {switch.name for switch in world.record.switches}
    assert all(finding.spot is not None for finding in page.findings)
