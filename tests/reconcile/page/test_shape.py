"""The network's shape: what is drawn, and that it can be read at any size."""

from __future__ import annotations

import itertools

import pytest

from collectors.snapshot import Neighbour
from reconcile.pipeline import compare
from reconcile.reports.page.shape import BOX_HEIGHT, BOX_WIDTH, Shape, shape_of
from tests.browser.sites import saltmarsh, wired
from tests.reconcile.handmade_network import answer, port, site, snapshot


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


def test_a_replugged_uplink_is_drawn_where_it_is_and_where_the_map_has_it() -> None:
    lines = {line.words: line.state for line in shape_of(saltmarsh().picture).lines}
    assert lines["core-1 Ethernet3 to acc-2 24"] == "only in the map"
    assert lines["core-1 Ethernet6 to acc-2 24"] == "only seen"
    assert lines["core-1 Ethernet2 to acc-1 Gi1/0/24"] == "as documented"


def test_a_documented_link_to_a_switch_that_did_not_answer_was_not_looked_at() -> None:
    patch_map = site(cords=[("sw-a:p1", "sw-b:p1")])
    shape = shape_of(compare(patch_map, snapshot(answer("sw-a", [port("p1")]), failed=["sw-b"])).picture)
    assert [line.state for line in shape.lines] == ["not looked at"]
    assert {box.name: box.state for box in shape.boxes} == {"sw-a": "answered", "sw-b": "did not answer"}


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
