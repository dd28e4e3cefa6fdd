"""Small cases whose cause can be worked out by hand; the reasoning stands beside each."""

from __future__ import annotations

import networkx as nx
import pytest

from reconcile.causes.certainty import Explained
from reconcile.causes.plan import Deed
from tests.reconcile.causes.by_hand import Bench, alternatives, deeds, only

TWENTY = range(20)  # devices 0 to 19 on ports 0 to 19 of 24


def test_a_network_as_documented_has_no_story():
    assert Bench(homes=TWENTY).story() == []


def test_a_cord_in_a_free_port_is_one_move_and_sure():
    # Port 3 went dark, device 3 is heard on port 21, which nobody owns: nothing else is left to explain.
    story = Bench(homes=TWENTY, heard={3: 21}, dark=[3]).story()
    assert deeds(story) == [(Deed.MOVED, {3: 21})]
    assert only(story).sure


def test_two_devices_on_one_another_s_port_are_one_crossing_not_two_moves():
    # Two moves need two movers who each hit on exactly the port that the other left; a crossing needs one slip.
    story = Bench(homes=TWENTY, heard={3: 9, 9: 3}).story()
    assert deeds(story) == [(Deed.CROSSED, {3: 9, 9: 3})]
    assert only(story).sure


def test_a_crossing_of_which_one_half_is_silent_is_told_but_not_sure():
    # Device 3 is on port 9; somebody silent is on port 3, and device 9 is the one without a place.
    found = only(Bench(homes=TWENTY, heard={3: 9, 9: -1}).story())
    assert (found.event.deed, found.silent, found.sure) == (Deed.CROSSED, (9,), False)


def test_with_the_other_port_dark_a_crossing_and_a_displacement_are_both_told():
    # Port 3 is dark: either 9 sits there without power, or whoever plugged in 3 pulled 9 and left it unplugged.
    # With a fifth of the site dark, both are about as likely.
    story = Bench(homes=TWENTY, heard={3: 9, 9: -1, 14: -1, 15: -1, 16: -1, 17: -1}, dark=[3, 14, 15, 16, 17]).story()
    first = next(e for e in story if e.event.deed in (Deed.CROSSED, Deed.MOVED))
    told = [{first.event.deed}, *alternatives(first)]
    assert any(Deed.CROSSED in deeds_of for deeds_of in told)
    assert any(Deed.MOVED in deeds_of for deeds_of in told)
    assert not first.sure


@pytest.mark.parametrize("size", [3, 4, 5, 6])
def test_devices_in_a_ring_are_one_rotation(size: int):
    # networkx as an outside check: the permutation that was heard is one cycle of this length.
    ring = [1, 11, 5, 17, 8, 14][:size]
    heard = dict(zip(ring, ring[1:] + ring[:1], strict=True))
    assert [len(cycle) for cycle in nx.simple_cycles(nx.DiGraph(heard.items()))] == [size]
    story = Bench(homes=range(24), heard=heard).story()
    assert deeds(story) == [(Deed.ROTATED, heard)]
    assert only(story).sure


def test_a_chain_that_ends_in_a_free_port_is_single_moves():
    # 3 took the port of 9, and 9 went to free port 22: nobody came to port 3, so the ring is not closed.
    story = Bench(homes=TWENTY, heard={3: 9, 9: 22}, dark=[3]).story()
    assert deeds(story) == [(Deed.MOVED, {3: 9}), (Deed.MOVED, {9: 22})]


def test_a_block_one_off_with_a_gap_in_it_is_one_shift():
    # Ports 4 to 9 without 6, which was never used: the five cords went one port up, the last into free port 10.
    homes = [p for p in range(20) if p not in (6, 10)]
    block = [homes.index(p) for p in (4, 5, 7, 8, 9)]
    heard = {d: homes[d] + 1 for d in block}
    story = Bench(homes=homes, heard=heard, dark=[4, 7]).story()
    assert deeds(story) == [(Deed.SHIFTED, heard)]
    assert only(story).sure


def test_a_sleeping_member_goes_along_with_its_block_but_keeps_it_from_being_sure():
    # Member 7 is off: its old port is taken by 6, its new port 8 is dark. The shift explains both.
    heard = {5: 6, 6: 7, 7: -1, 8: 9, 9: 20, **{d: d for d in range(10, 20)}}
    heard[9] = 10
    homes = [*range(10), *range(11, 20)]  # port 10 is free
    moved = {d: p for d, p in heard.items() if d < 10}
    found = only([e for e in Bench(homes=homes, heard=moved, dark=[5, 8]).story() if e.event.deed is Deed.SHIFTED])
    assert {m.device: m.target for m in found.event.moves} == {5: 6, 6: 7, 7: 8, 8: 9, 9: 10}
    assert found.silent == (7,)
    assert not found.sure


def test_a_shift_does_not_cross_line_cards():
    # Two cards of 12: the last of card one and the first of card two are neighbours in number only.
    homes = [9, 10, 12, 13]
    heard = {0: 10, 1: 11, 2: 13, 3: 14}
    scattered = {p: 7 * p % 24 for p in range(24)}  # else the panel would be one row of all four
    story = Bench(homes=homes, heard=heard, dark=[9, 12], cards=2, jacks=scattered).story()
    assert Deed.SHIFTED not in {deed for deed, _ in deeds(story)}


def test_a_shift_of_panel_ends_moves_devices_although_the_ports_are_in_no_order():
    # Ports lead to scattered jacks. Cords of jacks 3 to 6 were put one jack down, to 2 to 5: each now reaches the
    # device before its own. Jack 2 was free; the device at jack 6 has no cord any more.
    jacks = {0: 3, 5: 4, 2: 5, 9: 6, 7: 12, 11: 15, 20: 18}
    homes = sorted(jacks)
    port_of = {jack: port for port, jack in jacks.items()}
    device_at = {jack: homes.index(port) for port, jack in jacks.items()}
    heard = {device_at[jack]: port_of[jack + 1] for jack in (3, 4, 5)} | {device_at[6]: -1}
    bench = Bench(homes=homes, heard=heard, dark=[0], jacks=jacks | {p: 30 + p for p in range(24) if p not in jacks})
    found = next(e for e in bench.story() if e.event.deed is Deed.SHIFTED)
    assert found.event.order is not None
    assert (found.event.order.along, found.event.order.step) == ("panel", 1)
    assert {m.device: m.target for m in found.event.moves} == heard


def test_all_ports_counted_one_higher_is_one_order_with_an_example_of_every_port():
    # 20 moves by one would cost twenty times what one wrong count costs.
    heard = {d: d + 1 for d in TWENTY}
    found = only(Bench(homes=TWENTY, heard=heard, dark=[0]).story())
    assert found.event.deed in (Deed.SHIFTED, Deed.RENUMBERED)  # the same in effect
    assert {m.device: m.target for m in found.event.moves} == heard


def test_two_rows_counted_along_instead_of_down_and_across_are_found_as_a_map():
    # 0 2 4 ... are the upper row, 1 3 5 ... the lower: counted along each row, port 2 is second, port 1 thirteenth.
    heard = {p: p // 2 + 12 * (p % 2) for p in range(24)}
    found = only(Bench(homes=range(24), heard=heard).story())
    assert found.event.deed is Deed.RENUMBERED
    assert found.event.order is not None
    assert found.event.order.how == "counted along each row instead of down and across"
    assert found.sure


def test_a_crossing_on_a_renumbered_switch_is_found_beside_the_renumbering():
    # Counted from the other end: p -> 23 - p; and 4 and 9 are crossed on top of it.
    heard = {p: 23 - p for p in range(24)}
    heard[4], heard[9] = heard[9], heard[4]
    assert sorted(e.event.deed for e in Bench(homes=range(24), heard=heard).story()) == [Deed.CROSSED, Deed.RENUMBERED]


def test_two_switches_that_stand_in_for_each_other_are_two_orders_not_forty_moves():
    homes = [*range(20), *range(24, 44)]
    heard = {d: d + 24 for d in range(20)} | {d: homes[d] - 24 for d in range(20, 40)}
    story = Bench(switches=2, homes=homes, heard=heard).story()
    assert [e.event.deed for e in story] == [Deed.RENUMBERED, Deed.RENUMBERED]


def test_an_unknown_address_in_the_place_of_a_device_is_a_replacement_and_never_sure():
    # Whether 3 was taken away or changed its address, nobody heard it: that cannot be sure.
    found = only(Bench(homes=TWENTY, heard={3: -1}, strangers=[3]).story())
    assert (found.event.deed, found.event.newcomers, found.sure) == (Deed.REPLACED, (3,), False)


def test_a_dark_port_is_gone_and_a_lit_silent_one_is_asleep():
    # Nobody heard 3 or 4. Port 3 has no link: off, unplugged or gone. Port 4 has one: somebody is there.
    assert deeds(Bench(homes=TWENTY, heard={3: -1, 4: -1}, dark=[3]).story()) == [(Deed.GONE, {3: -1})]


def test_a_shut_port_says_nothing_of_what_is_plugged_in():
    assert Bench(homes=TWENTY, heard={3: -1}, shut=[3]).story() == []


def test_a_stranger_on_a_free_port_came_and_is_sure():
    found = only(Bench(homes=TWENTY, strangers=[22]).story())
    assert (found.event.deed, found.event.newcomers, found.sure) == (Deed.COME, (22,), True)


def test_a_device_off_and_a_silent_newcomer_are_not_taken_for_proof_of_a_move():
    # Port 3 dark, free port 21 lit and silent: 3 may have gone there. Both stories are told, neither is sure.
    story = Bench(homes=TWENTY, heard={3: -1}, dark=[3], lit=[21]).story()
    told = {frozenset(e.event.deed for e in story), *(frozenset(s) for e in story for s in alternatives(e))}
    assert {frozenset({Deed.GONE, Deed.COME}), frozenset({Deed.MOVED})} <= told
    assert not any(e.sure for e in story)


def test_an_unread_switch_makes_nobody_silent():
    # No forwarding table of this switch: the lit free port may have anybody, and proves nothing.
    story = Bench(homes=TWENTY, heard=dict.fromkeys(TWENTY, -1), unread=range(24)).story()
    assert story == []


def test_a_placement_that_is_only_probable_never_makes_a_cause_sure():
    assert not only(Bench(homes=TWENTY, heard={3: 21}, dark=[3], doubtful=[3]).story()).sure


def test_a_switch_put_back_without_order_is_told_as_that():
    # One ring of 22, far longer than what slips: single hands would need 22 errands.
    ring = [0, 13, 5, 20, 9, 2, 17, 11, 4, 21, 7, 15, 1, 18, 10, 3, 14, 8, 19, 6, 16, 12]
    heard = dict(zip(ring, ring[1:] + ring[:1], strict=True))
    assert [len(cycle) for cycle in nx.simple_cycles(nx.DiGraph(heard.items()))] == [22]
    found = only(Bench(homes=range(22), heard=heard).story())
    assert (found.event.deed, found.sure) == (Deed.REPLUGGED, False)


def test_many_moves_on_a_disturbed_switch_are_never_sure():
    # Four of five heard devices sit elsewhere on the switch: whoever did that may have done more.
    story = Bench(ports=48, homes=range(5), heard={0: 20, 1: 31, 2: 43, 3: 27}, dark=[0, 1, 2, 3]).story()
    assert not any(e.sure for e in story)


def test_a_device_without_an_address_can_be_anywhere_and_is_missed_nowhere():
    assert Bench(homes=TWENTY, heard={3: -1}, mute=[3]).story() == []


def _sure(story: list[Explained]) -> list[Deed]:
    return [e.event.deed for e in story if e.sure]


def test_a_move_onto_a_taken_port_is_sure_only_when_the_one_who_gave_way_was_heard():
    # 3 is on the port of 9. While 9 is nowhere, 9 might be on port 3 without power; on port 22 it is accounted for.
    assert _sure(Bench(homes=TWENTY, heard={3: 9, 9: -1}, dark=[3]).story()) == []
    assert Deed.MOVED in _sure(Bench(homes=TWENTY, heard={3: 9, 9: 22}, dark=[3]).story())


def test_a_dark_port_left_behind_does_not_hide_that_a_device_is_heard_on_a_shared_port():
    # 3 and 9 are both heard on port 9: a small switch must be there, and 9 did not move.
    story = Bench(homes=TWENTY, heard={3: 9}, dark=[3]).story()
    assert deeds(story) == [(Deed.MOVED, {3: 9})]
    assert not only(story).sure
