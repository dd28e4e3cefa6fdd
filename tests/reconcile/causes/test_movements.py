"""Hand movements can be done in the order in which they are told, and are as few as possible."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from reconcile.causes.movements import Step, in_order


def done(wanted: list[tuple[str, int, int]], steps: list[Step]) -> dict[int, str]:
    """Does the steps by hand: nothing may be plugged into a taken place, and one hand holds one plug."""
    places = {now: what for what, now, _ in wanted}
    hand: list[str] = []
    for step in steps:
        if step.now is None:
            assert hand.pop() == step.what
        else:
            assert places.pop(step.now) == step.what
        if step.back is None:
            assert not hand
            hand.append(step.what)
        else:
            assert step.back not in places
            places[step.back] = step.what
    assert not hand
    return places


@st.composite
def re_plugs(draw: st.DrawFn) -> list[tuple[str, int, int]]:
    """Any cords, in any places, that belong in any other places."""
    now = draw(st.lists(st.integers(0, 30), unique=True, max_size=12))
    back = draw(st.lists(st.integers(0, 30), unique=True, min_size=len(now), max_size=len(now)))
    return [(f"cord {a}", a, b) for a, b in zip(now, back, strict=True) if a != b]


@given(re_plugs())
def test_every_plug_goes_into_an_empty_place_and_ends_where_it_belongs(wanted: list[tuple[str, int, int]]):
    moved = [(what, now, back) for what, now, back in wanted if now != back]
    stuck = {back for _, _, back in moved} & ({now for _, now, _ in wanted} - {now for _, now, _ in moved})
    if not stuck:
        assert done(moved, in_order(moved)) == {back: what for what, _, back in moved}


@given(st.permutations(range(10)))
def test_a_ring_costs_one_movement_more_than_it_has_cords(order: list[int]):
    # networkx as an outside check: the rings are the cycles of the permutation longer than one.
    rings = [ring for ring in nx.simple_cycles(nx.DiGraph(list(enumerate(order)))) if len(ring) > 1]
    wanted = [(f"cord {a}", a, b) for a, b in enumerate(order) if a != b]
    steps = in_order(wanted)
    assert len(steps) == len(wanted) + len(rings)
    assert done(wanted, steps) == {back: what for what, _, back in wanted}


def test_a_row_moved_up_goes_back_from_its_free_end():
    assert [step.what for step in in_order([("c", 4, 3), ("a", 2, 1), ("b", 3, 2)])] == ["a", "b", "c"]
