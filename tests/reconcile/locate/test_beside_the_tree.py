"""What is heard beside the tree that was proved: second links, blocked ports, VLANs with a way of their own.

One active topology has no circle (IEEE 802.1D): what shows one, or hears stations where there can be none, takes the
proof away from the stations that it touches, and from no other.
"""

from __future__ import annotations

import pytest

from collectors.snapshot import Neighbour
from reconcile.locate import proof
from reconcile.locate.placement import Grade, Located, PortRef
from tests.reconcile.locate.hand import Hand, certain, ends, mac

WET, IMG, BOAT = (f"00:1b:22:00:00:0{n}" for n in range(3))
JOINED = {"wet": "9", "img": "9"}


def told(port: str, chassis: str, there: str = "", protocol: str = "lldp") -> Neighbour:
    return Neighbour.model_validate(
        {"port": port, "chassis_id": chassis, "port_id": there, "protocol": protocol, "capabilities": ["bridge"]}
    )


def twice_joined(**tables: str) -> Located:
    """wet and img hear each other on ports 9 and on ports 8."""
    neighbours = {
        "wet": [told("9", IMG, "9"), told("8", IMG, "8")],
        "img": [told("9", WET, "9"), told("8", WET, "8")],
    }
    return Hand(JOINED, **tables).located(neighbours=neighbours)


def test_a_station_heard_on_a_second_link_to_the_same_switch_is_not_at_that_port() -> None:
    """x is on wet, which forgot it: img alone has it, on the link beside the one that the proof rests on."""
    located = twice_joined(wet="a:1 b:2 c:9", img="a:9 b:9 c:1 x:8")
    x = located.placements[mac("x")]
    assert (x.grade, x.at) == (Grade.AMBIGUOUS, None)
    assert {PortRef("img", "8"), PortRef("wet", "3")} <= set(x.candidates)
    assert PortRef("img", "3") not in x.candidates  # img learned it towards it, whatever the tree
    assert "leads to wet by LLDP" in x.because
    assert certain(located) == {"a": "wet:1", "b": "wet:2", "c": "img:1"}


def test_a_station_at_a_port_of_its_own_and_on_a_second_link_is_probably_at_its_port() -> None:
    located = twice_joined(wet="a:1 b:2 c:9 x:3", img="a:9 b:9 c:1 x:8")
    x = located.placements[mac("x")]
    assert (x.grade, x.at) == (Grade.PROBABLE, PortRef("wet", "3"))


def test_two_links_that_both_carry_traffic_are_one_sentence_with_their_cords() -> None:
    conflicts = twice_joined(wet="a:1 b:2 c:9 x:3", img="a:9 b:9 c:1 x:8").conflicts
    (joined,) = [sentence for sentence in conflicts if "joined" in sentence]
    assert joined.startswith("wet and img are joined in a circle, or twice (wet:8 - img:8 and wet:9 - img:9)")
    assert "aggregation that the switch does not tell" in joined
    assert not any(mac("x") in sentence for sentence in conflicts)  # the port is told, not each of its stations


def test_a_station_heard_on_a_port_that_spanning_tree_blocks_is_not_at_that_port() -> None:
    """A blocked port faces another bridge (IEEE 802.1D); it hears stations of VLANs whose tree does not block it."""
    hand = Hand(JOINED, wet="a:1 b:2 c:9", img="a:9 b:9 c:1 x:8")
    located = hand.located(blocked=["img:8"])
    assert located.placements[mac("x")].grade is Grade.AMBIGUOUS
    assert any("img:8, which spanning tree blocks" in sentence for sentence in located.conflicts)
    assert hand.located().placements[mac("x")].grade is Grade.CERTAIN
    assert len(certain(located)) == 3


def test_a_vlan_whose_few_stations_contradict_one_another_has_no_certain_station() -> None:
    """VLAN 20 goes wet 8 - img 8; two of its stations show it, and x of the same VLAN is heard by img alone."""
    hand = Hand(JOINED, wet="a:1 b:2 c:9 d:9 e:3", img="a:9 b:9 c:1 d:2 e:9")
    more = {
        "wet": [(mac("p"), 20, "4"), (mac("q"), 20, "8")],
        "img": [(mac("p"), 20, "8"), (mac("q"), 20, "4"), (mac("x"), 20, "8")],
    }
    located = hand.located(more=more)
    x = located.placements[mac("x")]
    assert x.grade is Grade.PROBABLE
    assert "2 of 3 stations of VLAN 20 do not fit one place" in x.because
    assert any("VLAN 20" in sentence and "a way of its own" in sentence for sentence in located.conflicts)
    assert certain(located) == {"a": "wet:1", "b": "wet:2", "c": "img:1", "d": "img:2", "e": "wet:3"}


def test_three_switches_that_hear_each_other_through_unmanaged_equipment_are_no_circle() -> None:
    """Each hears both others on its port 9: one wire. Cheap switches pass LLDP on (common practice)."""
    own = {"wet": "9", "img": "9", "boat": "9"}
    neighbours = {
        "wet": [told("9", IMG, "9"), told("9", BOAT, "9")],
        "img": [told("9", WET, "9"), told("9", BOAT, "9")],
        "boat": [told("9", WET, "9"), told("9", IMG, "9")],
    }
    located = Hand(own, wet="a:1 b:9", img="a:9 b:1", boat="a:9 b:9 c:1").located(neighbours=neighbours)
    assert located.conflicts == ()
    assert ends(located) == {frozenset({"wet:9", "img:9", "boat:9"})}


@pytest.mark.parametrize("known", ["wet", "img", ""])
def test_a_cord_whose_far_port_one_side_cannot_name_is_one_link(known: str) -> None:
    """A port id that no port of the peer bears is common between makers (recordings)."""
    neighbours = {
        "wet": [told("9", IMG, "9" if known == "wet" else "uplink of wet")],
        "img": [told("9", WET, "9" if known == "img" else "uplink of img")],
    }
    located = Hand(JOINED, wet="a:1 b:2 c:9", img="a:9 b:9 c:1").located(neighbours=neighbours)
    assert located.conflicts == ()
    assert ends(located) == {frozenset({"wet:9", "img:9"})}
    assert located.uplinks[PortRef("wet", "9")].there == PortRef("img", "9")


def test_many_stations_twice_in_one_table_are_told_once_as_a_loop() -> None:
    rows = [(f"00:1b:23:00:00:0{n}", 1, port) for n in range(4) for port in ("5", "6")]
    located = Hand(JOINED, wet="a:1 b:9", img="a:9 b:1").located(more={"wet": rows})
    assert [s for s in located.conflicts if "wet:5" in s] == [
        "4 stations are heard on wet:5 and wet:6 at once: a loop, or a cord that joins these ports"
    ]


def test_a_switch_that_has_learned_its_own_address_is_told_to_be_before_a_loop() -> None:
    located = Hand(JOINED, wet="a:1 b:9", img="a:9 b:1").located(more={"wet": [(WET, 1, "7")]})
    assert any(s.startswith(f"wet:7 has learned {WET}") and "loop" in s for s in located.conflicts)


def test_a_firewall_with_legs_on_two_switches_is_told_with_its_legs_alone() -> None:
    """VLAN 10 enters at wet:4, VLAN 20 at img:4, and each crosses the uplink: no contradiction, and no loop."""
    rows = {"wet": [(mac("f"), 10, "4"), (mac("f"), 20, "9")], "img": [(mac("f"), 10, "9"), (mac("f"), 20, "4")]}
    located = Hand(JOINED, wet="a:1 b:9", img="a:9 b:1").located(more=rows)
    firewall = located.placements[mac("f")]
    assert set(firewall.candidates) == {PortRef("wet", "4"), PortRef("img", "4")}
    assert "router or firewall" in firewall.because
    assert located.conflicts == ()


def test_a_disputed_station_may_be_where_the_others_have_it() -> None:
    """wet has x on 1, but img has it towards boat and boat towards img: if wet's row is stale, x is between these."""
    hand = Hand({"wet": "9", "boat": "9"}, wet="x:1 a:2 b:9", img="x:8 b:1", boat="x:9 a:9 b:9")
    ways = {"img": [(WET, 1, "9"), (BOAT, 1, "8"), (mac("a"), 1, "9")]}
    x = hand.located(more=ways, margin=3).placements[mac("x")]
    assert x.grade is Grade.AMBIGUOUS
    assert {PortRef("wet", "1"), PortRef("img", "8"), PortRef("boat", "9")} <= set(x.candidates)
    assert PortRef("img", "1") not in x.candidates


def test_the_proof_of_a_station_between_switches_tells_how_each_end_is_known() -> None:
    rows = [(f"00:1b:23:00:00:0{n}", 1, "9") for n in range(3)]
    observed = Hand(JOINED, wet="a:1 b:9", img="a:9 b:1").observed(more={"wet": rows, "img": rows})
    said = proof(observed, rows[0][0])
    assert "unmanaged switch there, or one not asked" in said[0]
    assert "img is behind wet:9 (its own address); wet is behind img:9 (its own address)" in said


def test_an_open_place_is_told_with_who_is_behind_the_port_and_who_has_not_heard_it() -> None:
    said = proof(Hand(JOINED, wet="a:1 b:9 z:9", img="a:9 b:1").observed(), mac("z"))
    assert "behind wet:9 is img (its own address)" in said
    assert "not heard lately, so possibly on any port of them: img" in said


def test_of_two_ports_that_have_a_station_the_one_that_was_read_later_is_told() -> None:
    hand = Hand(JOINED, wet="a:1 b:9", img="a:9 b:1")
    observed = hand.observed(more={"wet": [(mac("m"), 1, "5")], "img": [(mac("m"), 1, "6")]})
    observed.sightings["at"] = [2.0 if name == "wet" else 40.0 for name in observed.sightings["switch"]]
    assert "img:6 was read 38 s after wet:5: if the station moved in between, it is at img:6 now" in proof(
        observed, mac("m")
    )
