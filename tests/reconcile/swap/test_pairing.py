"""Which new port stands for which old one."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import End
from reconcile.reports.swap import ports_file
from reconcile.swap import Replacement, check_swap, correspond, end_changes, look
from reconcile.swap.likeness import Traits, likeness
from reconcile.swap.model import Certainty, Trouble
from reconcile.swap.orders import describe, predict, strays
from reconcile.swap.pairing import assign, margins
from reconcile.swap.ports_file import read_ports
from tests.reconcile.swap.replacing import replace_switch
from tests.worlds import changes, saltmarsh
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.documented()
BEFORE = look(WORLD.record, snapshot_of(WORLD))
REPLACED = [Replacement("acc-2", "acc-9")]


def slotted(number: int) -> str:
    return f"ge-0/0/{number - 1}"


def after(world: World):  # type: ignore[no-untyped-def]  # the same look as above
    return look(WORLD.record, snapshot_of(world))


def best_by_trying(points: np.ndarray) -> float:
    """The most points over all partial one-to-one pairings: every injection of rows into columns and `nobody`."""
    rows, columns = points.shape
    choices = [*range(columns), *([None] * rows)]
    return max(
        sum(points[i, j] for i, j in enumerate(chosen) if j is not None) for chosen in set(permutations(choices, rows))
    )


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 4), st.integers(1, 4), st.randoms(use_true_random=False))
def test_the_pairing_is_the_best_of_all_that_there_are(rows: int, columns: int, random) -> None:  # type: ignore[no-untyped-def]  # hypothesis' own
    points = np.array([[random.randint(-3, 12) for _ in range(columns)] for _ in range(rows)], dtype=float)
    chosen = assign(points)
    assert len(set(chosen.values())) == len(chosen)
    assert sum(points[i, j] for i, j in chosen.items()) == best_by_trying(points)


def test_seven_ports_are_paired_as_trying_all_5040_orders_would() -> None:
    points = np.random.default_rng(7).integers(1, 30, (7, 7)).astype(float)
    best = max(permutations(range(7)), key=lambda order: sum(points[i, j] for i, j in enumerate(order)))
    assert sum(points[i, j] for i, j in assign(points).items()) == sum(points[i, j] for i, j in enumerate(best))


def test_a_margin_is_what_the_best_pairing_without_that_pair_loses() -> None:
    points = np.random.default_rng(3).integers(1, 20, (5, 5)).astype(float)
    chosen = assign(points)
    best = sum(points[i, j] for i, j in chosen.items())
    for i, margin in margins(points, chosen).items():
        without = [o for o in permutations(range(5)) if o[i] != chosen[i]]
        tried = max(sum(points[a, b] for a, b in enumerate(order)) for order in without)
        assert margin >= best - max(tried, best_by_trying_without(points, i, chosen[i])) - 1e-9
        assert margin <= best - tried + 1e-9


def best_by_trying_without(points: np.ndarray, row: int, column: int) -> float:
    """The same as `best_by_trying` for five rows, where one pair may not be and that row may stay alone."""
    barred = points.copy()
    barred[row, column] = 0
    return max(sum(barred[a, b] for a, b in enumerate(order)) for order in permutations(range(5)))


def test_a_switch_with_other_port_names_is_paired_by_who_is_on_them() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted)
    found = correspond(BEFORE, after(world), REPLACED, {})
    (switch,) = found.switches
    assert switch.orders == ("order unchanged, new names: 1 is now ge-0/0/0",)
    assert {pair.old: pair.new for pair in switch.pairs} == {f"acc-2:{n}": f"acc-9:{slotted(n)}" for n in range(1, 25)}
    used = [*range(1, 10), *range(11, 17), 24]
    certain = {pair.old for pair in switch.pairs if pair.certainty is Certainty.CERTAIN}
    assert certain == {f"acc-2:{n}" for n in used}
    assert check_swap(BEFORE, after(world), found).exit_code == 0


def test_jack_and_device_of_a_pair_are_told_as_the_map_writes_them() -> None:
    ref = next(iter(BEFORE.picture.ports))
    state = BEFORE.picture.ports[ref].model_copy(update={"alias": ""})
    old = Traits(ref, state, True, frozenset(), jack="PP-S:4", device="BS-Tide")
    new = replace(old, jack="pp-s:4", device="bs-tide")
    assert likeness(old, new).because == "the map has jack PP-S:4 behind both; the map has BS-Tide on both"


def test_who_leaves_the_order_that_all_others_keep_was_plugged_into_the_wrong_port() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted, moved={1: 2, 2: 1})
    checked = check_swap(BEFORE, after(world), correspond(BEFORE, after(world), REPLACED, {}))
    assert [(left.trouble, left.subject, left.now_at, left.belongs_at) for left in checked.left] == [
        (Trouble.MOVED, "im-scope-pc", "acc-9:ge-0/0/1", "acc-9:ge-0/0/0"),
        (Trouble.MOVED, "im-scope-cam", "acc-9:ge-0/0/0", "acc-9:ge-0/0/1"),
    ]


def test_what_a_person_gave_is_taken_as_it_is() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted, moved={1: 2, 2: 1})
    wanted = {PortRef("acc-2", "1"): PortRef("acc-9", slotted(2)), PortRef("acc-2", "2"): PortRef("acc-9", slotted(1))}
    found = correspond(BEFORE, after(world), [], wanted)
    assert check_swap(BEFORE, after(world), found).exit_code == 0
    given_pairs = [pair for pair in found.switches[0].pairs if pair.certainty is Certainty.GIVEN]
    assert {(pair.old, pair.new) for pair in given_pairs} == {(str(a), str(b)) for a, b in wanted.items()}


def test_a_block_that_was_shifted_on_the_new_switch_is_named() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted, moved={n: n + 1 for n in range(11, 17)} | {17: 11})
    found = correspond(BEFORE, after(world), REPLACED, {})
    assert "a shifted block: 11 to 16 are now ge-0/0/11 and so on, 1 further" in found.switches[0].orders
    # Nobody moved; the configuration of the ports was not shifted with the cords.
    left = check_swap(BEFORE, after(world), found).left
    assert {(one.trouble, one.subject) for one in left} == {
        (Trouble.OTHER_VLAN, "bh-phone-1"),
        (Trouble.OTHER_VLAN, "bh-kiosk-1"),
        (Trouble.OTHER_VLAN, "bh-heat-1"),
    }


def test_a_stack_member_with_another_number_is_noticed_by_itself_and_named() -> None:
    world = replace_switch(WORLD, "acc-1", "acc-1", lambda n: f"Gi3/0/{n}")
    found = correspond(BEFORE, after(world), [], {})
    assert [switch.orders for switch in found.switches] == [("a renumbered stack: unit 1 became 3",)]
    assert check_swap(BEFORE, after(world), found).exit_code == 0


def test_the_ends_to_change_in_the_map_are_those_of_the_replaced_switch_and_no_others() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted)
    changes_ = end_changes(correspond(BEFORE, after(world), REPLACED, {}), BEFORE)
    documented = {end for cord in WORLD.record.cords for end in (cord.a, cord.b) if end.name == "acc-2"}
    assert {old for old, _ in changes_} == documented
    assert all(new == End("acc-9", slotted(int(old.position))) for old, new in changes_)


def test_the_file_of_ports_reads_back_as_it_was_written() -> None:
    world = replace_switch(WORLD, "acc-2", "acc-9", slotted)
    seen = after(world)
    found = correspond(BEFORE, seen, REPLACED, {})
    read_back = read_ports(ports_file(found.switches), "ports.csv", BEFORE, seen)
    assert read_back == {old: new for old, new in found.pairs.items() if new}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b\r\n1,2\r\n", "ports.csv: has no columns 'old port' and 'new port'"),
        ("", "ports.csv: has no columns"),
        ("old port,new port\nacc-2:99,acc-2:1\n", "ports.csv row 2: no switch that answered has the port acc-2:99"),
        ("old port,new port\nacc-2:1,acc-2:1\nacc-2:1,acc-2:2\n", "ports.csv row 3: acc-2:1 stands in an earlier row"),
        ('old port,new port\n"acc', "ports.csv: is not CSV"),
    ],
)
def test_a_file_of_ports_that_cannot_be_used_is_refused_with_its_row(text: str, words: str) -> None:
    with pytest.raises(UsageError, match=r"; try: ") as caught:
        read_ports(text, "ports.csv", BEFORE, BEFORE)
    assert str(caught.value).startswith(words)


def test_a_switch_that_nobody_asked_cannot_be_replaced() -> None:
    with pytest.raises(UsageError, match="acc-7 was not asked before; try: one of acc-1"):
        correspond(BEFORE, BEFORE, [Replacement("acc-7", "acc-2")], {})


def test_unknown_ports_follow_their_nearest_known_neighbour() -> None:
    old, new = [f"Gi1/0/{n}" for n in range(1, 9)], [f"Gi1/0/{n}" for n in range(1, 9)]
    found = predict(old, new, {"Gi1/0/1": "Gi1/0/1", "Gi1/0/6": "Gi1/0/7"})
    assert found["Gi1/0/2"] == "Gi1/0/2"
    assert found["Gi1/0/5"] == "Gi1/0/6"
    assert "Gi1/0/8" not in found


def test_an_order_without_a_majority_has_no_strays() -> None:
    crossed = {"1": "2", "2": "1", "3": "4", "4": "3"}
    assert strays(crossed) == set()
    assert strays({str(n): str(n) for n in range(1, 9)} | {"4": "5", "5": "4"}) == {"4", "5"}


def test_names_that_follow_no_rule_are_told_so() -> None:
    names = [str(n) for n in range(1, 9)]
    assert describe([("1", "5"), ("2", "3"), ("3", "8"), ("4", "1")], names, names) == [
        "4 ports of the switch follow no rule"
    ]
    assert describe([(n, n) for n in names], names, names) == ["every port keeps its name"]


def test_moves_within_one_switch_that_all_go_one_port_further_are_told_as_one() -> None:
    world = changes.unplug(WORLD, "acc-2:17")
    for port in range(16, 10, -1):
        world = changes.replug(world, f"acc-2:{port}", f"acc-2:{port + 1}")
    checked = check_swap(BEFORE, after(world), correspond(BEFORE, after(world), [], {}))
    assert len(checked.left) == 6
    assert checked.notes == ("acc-2: a shifted block: 11 to 16 are now 12 and so on, 1 further",)
