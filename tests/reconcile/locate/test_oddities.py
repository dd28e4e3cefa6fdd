"""What real tables hold besides stations that sit still: each is named as such, and spoils no other placement."""

from __future__ import annotations

import random
from itertools import count

import pytest

from collectors.snapshot import CollectedSwitch, Port, Sighting, Snapshot
from reconcile.frames import observe
from reconcile.locate import locate, proof
from reconcile.locate.placement import Grade, PortRef
from tests.reconcile.locate.hand import TAKEN, Hand, certain, ends, mac

TWO = {"lab": "x:1 y:9 z:9 v:2", "shed": "x:9 y:1 z:2 v:9"}
JOINED = {"lab": "9", "shed": "9"}
FOUND = {"x": "lab:1", "y": "shed:1", "z": "shed:2", "v": "lab:2"}


@pytest.mark.parametrize(
    ("address", "reason"),
    [
        ("00:00:5e:00:01:07", "virtual gateway"),  # VRRP over IPv4, RFC 9568
        ("00:00:5e:00:02:07", "virtual gateway"),  # VRRP over IPv6
        ("00:00:0c:07:ac:32", "virtual gateway"),  # HSRP, RFC 2281
        ("02:bf:0a:00:00:01", "cluster"),
        ("01:00:5e:00:00:fb", "group address"),
        ("00:00:00:00:00:00", "all-zero"),
    ],
)
def test_an_address_that_is_no_one_place_is_left_out_with_its_reason(address: str, reason: str) -> None:
    located = Hand(JOINED, **TWO).located(more={"lab": [(address, 1, "3")], "shed": [(address, 1, "4")]})
    assert reason in located.unplaced[address]
    assert certain(located) == FOUND


def test_the_switches_themselves_are_left_out() -> None:
    hand = Hand(JOINED, **TWO)
    assert hand.located().unplaced == {
        hand.chassis("lab"): "an address of the switch lab itself",
        hand.chassis("shed"): "an address of the switch shed itself",
    }


def test_a_randomised_address_is_placed_as_any_other() -> None:
    located = Hand(JOINED, **TWO).located(more={"lab": [("da:12:34:56:78:9a", 1, "3")]})
    assert located.placements["da:12:34:56:78:9a"].grade is Grade.CERTAIN


def test_several_stations_on_a_port_are_told_as_what_they_can_be() -> None:
    located = Hand(JOINED, lab="x:1 y:1 z:1", shed="x:9").located()
    assert "unmanaged switch, access point, hypervisor or telephone" in located.placements[mac("x")].because
    assert "2 others" in located.placements[mac("x")].because


def test_an_address_without_a_port_is_left_out_with_its_reason() -> None:
    lab = CollectedSwitch(name="lab", started=TAKEN, ports=[Port(name="1")], sightings=[Sighting(mac("x"), 1, None)])
    located = locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[lab])))
    assert located.unplaced == {mac("x"): "no switch that knows it names a port for it"}


def test_an_entry_that_is_configured_and_not_heard_is_probable() -> None:
    rows = [Sighting(mac("x"), 1, "1", "mgmt"), Sighting(mac("y"), 1, "2", "invalid"), Sighting(mac("z"), 1, "3")]
    lab = CollectedSwitch(name="lab", started=TAKEN, ports=[Port(name=str(n)) for n in range(1, 5)], sightings=rows)
    located = locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[lab])))
    assert (located.placements[mac("x")].at, located.placements[mac("x")].grade) == (
        PortRef("lab", "1"),
        Grade.PROBABLE,
    )
    assert mac("y") in located.unplaced
    assert located.placements[mac("z")].grade is Grade.CERTAIN


def test_a_router_in_many_vlans_on_one_port_is_one_station() -> None:
    rows = [(mac("r"), vlan, "5") for vlan in (30, 10, 20)]
    located = Hand(JOINED, **TWO).located(more={"lab": rows})
    assert (located.placements[mac("r")].at, located.placements[mac("r")].vlans) == (PortRef("lab", "5"), (10, 20, 30))


def test_a_station_on_two_edge_ports_is_told_with_both_and_reported() -> None:
    located = Hand(JOINED, **TWO).located(more={"lab": [(mac("m"), 1, "5")], "shed": [(mac("m"), 1, "6")]})
    moved = located.placements[mac("m")]
    assert (moved.grade, set(moved.candidates)) == (Grade.AMBIGUOUS, {PortRef("lab", "5"), PortRef("shed", "6")})
    assert any(mac("m") in sentence and "moved" in sentence for sentence in located.conflicts)
    assert certain(located) == FOUND


def test_many_stations_on_the_same_two_ports_are_the_fault_of_the_ports() -> None:
    many = [f"m{n}" for n in range(5)]
    more = {"lab": [(mac(m), 1, "5") for m in many], "shed": [(mac(m), 1, "6") for m in many]}
    located = Hand(JOINED, **TWO).located(more=more)
    assert any("5 stations" in s and "lab:5" in s and "loop" in s for s in located.conflicts)
    assert certain(located) == FOUND


def test_an_address_twice_in_one_vlan_of_one_switch_is_told_with_both_ports() -> None:
    located = Hand(JOINED, **TWO).located(more={"lab": [(mac("m"), 1, "5"), (mac("m"), 1, "6")]})
    assert "moved while the table was read" in located.placements[mac("m")].because
    assert certain(located) == FOUND


def test_a_stale_entry_elsewhere_makes_a_placement_probable_and_no_other_one_wrong() -> None:
    """x is on lab:1, and core sees it towards lab; a core that has not heard it since it moved sees it towards shed."""
    hand = Hand({"lab": "9", "shed": "9"}, lab="x:1 y:9 z:9", core="y:2 z:2", shed="x:9 y:1 z:2")
    directions = [(hand.chassis("lab"), 1, "1"), (hand.chassis("shed"), 1, "2")]
    for margin in (1, 3):
        fresh = hand.located(more={"core": [*directions, (mac("x"), 1, "1")]}, margin=margin)
        assert fresh.placements[mac("x")].grade is Grade.CERTAIN
        stale = hand.located(more={"core": [*directions, (mac("x"), 1, "2")]}, margin=margin)
        assert stale.placements[mac("x")].grade is not Grade.CERTAIN
        assert any(mac("x") in sentence for sentence in stale.conflicts)
        assert stale.placements[mac("y")].at == PortRef("shed", "1")


def test_ports_that_hear_more_than_one_vlan_tree_are_proved_apart() -> None:
    """A ring of three whose VLANs 10 and 20 are blocked on different cords: each VLAN has a tree of its own.

    VLAN 10 goes lab - shed - boat, VLAN 20 lab - boat - shed. Ports 8 and 9 of each switch are the ring.
    """
    ways = {
        10: {"lab": {"shed": "8", "boat": "8"}, "shed": {"lab": "9", "boat": "8"}, "boat": {"lab": "9", "shed": "9"}},
        20: {"lab": {"shed": "9", "boat": "9"}, "shed": {"lab": "8", "boat": "8"}, "boat": {"lab": "8", "shed": "9"}},
    }
    hand = Hand(lab="", shed="", boat="")
    more: dict[str, list[tuple[str, int, str]]] = {name: [] for name in ("lab", "shed", "boat")}
    numbers, where = count(), {}
    for vlan, way in ways.items():
        for home in way:
            for port in range(1, 6):
                address = f"00:1b:23:00:00:{next(numbers):02x}"
                where[address] = PortRef(home, str(port))
                more[home].append((address, vlan, str(port)))
                for other in way:
                    if other != home:
                        more[other].append((address, vlan, way[other][home]))
    located = locate(hand.observed(more=more))
    assert {address: p.at for address, p in located.placements.items()} == where
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN}
    assert any("VLANs take different ways" in sentence for sentence in located.conflicts)
    assert {frozenset(map(str, w.ends)) for w in located.wires} == {
        frozenset({"lab:8", "shed:9"}),
        frozenset({"shed:8", "boat:9"}),
        frozenset({"lab:9", "boat:8"}),
    }


def test_two_networks_that_share_no_address_do_not_cast_doubt_on_each_other() -> None:
    def tables(start: int) -> tuple[str, str]:
        names = [f"{chr(97 + start)}{chr(97 + n)}" for n in range(24)]
        here = " ".join(f"{n}:{1 + k % 12}" if k < 12 else f"{n}:99" for k, n in enumerate(names))
        there = " ".join(f"{n}:99" if k < 12 else f"{n}:{1 + k % 12}" for k, n in enumerate(names))
        return here, there

    (a, b), (c, d) = tables(0), tables(5)
    located = Hand(ports=dict.fromkeys(("lab", "shed", "bunk", "mess"), 99), lab=a, shed=b, bunk=c, mess=d).located()
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN}
    assert ends(located) == {frozenset({"lab:99", "shed:99"}), frozenset({"bunk:99", "mess:99"})}


def test_the_map_breaks_a_tie_and_the_result_says_so() -> None:
    """Two shared hosts fit two topologies (see the small cases); the documented link decides, and is told."""
    hand = Hand(lab="x:1 y:9", shed="x:9 y:1")
    located = hand.located([(PortRef("lab", "9"), PortRef("shed", "9"))])
    x = located.placements[mac("x")]
    assert (x.at, x.grade, x.map_broke_tie) == (PortRef("lab", "1"), Grade.PROBABLE, True)
    uplink = located.uplinks[PortRef("lab", "9")]
    assert (uplink.there, uplink.source, uplink.grade) == (PortRef("shed", "9"), "map", Grade.PROBABLE)


def test_the_map_is_not_asked_where_observation_tells() -> None:
    located = Hand(JOINED, **TWO).located([(PortRef("lab", "1"), PortRef("shed", "1"))])
    assert certain(located) == FOUND
    assert {u.source for u in located.uplinks.values()} == {"inferred"}


def test_a_few_witnesses_make_a_placement_probable_in_the_field() -> None:
    """Three hosts prove the link, if none of them has just moved: in the field more are asked for."""
    hand = Hand(lab="x:1 y:9 z:2", shed="x:9 y:1 z:9")
    assert hand.located(margin=1).placements[mac("x")].grade is Grade.CERTAIN
    careful = hand.located(margin=3).placements[mac("x")]
    assert (careful.at, careful.grade) == (PortRef("lab", "1"), Grade.PROBABLE)
    assert "fewer independent witnesses" in careful.because


def test_rows_about_members_of_an_aggregate_are_rows_about_the_aggregate() -> None:
    ports = [Port(name="1", aggregate="Po1"), Port(name="2", aggregate="Po1"), Port(name="Po1"), Port(name="3")]
    rows = [Sighting(mac("x"), 1, "1"), Sighting(mac("x"), 2, "2"), Sighting(mac("y"), 1, "Po1")]
    lab = CollectedSwitch(name="lab", started=TAKEN, ports=ports, sightings=rows)
    located = locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[lab])))
    assert {p.at for p in located.placements.values()} == {PortRef("lab", "Po1")}


def test_nothing_at_all_is_placed_without_complaint() -> None:
    assert locate(observe(Snapshot(started=TAKEN, finished=TAKEN))).placements == {}
    mute = CollectedSwitch(name="lab", started=TAKEN)
    assert locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[mute]))).placements == {}


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_switches_and_rows_changes_nothing(seed: int) -> None:
    snapshot = Hand(JOINED, **TWO).snapshot(more={"lab": [(mac("m"), 1, "5")], "shed": [(mac("m"), 1, "6")]})
    straight = locate(observe(snapshot))
    order = random.Random(seed)
    switches = [
        s.model_copy(update={"sightings": order.sample(s.sightings, len(s.sightings))}) for s in snapshot.switches
    ]
    mixed = locate(observe(snapshot.model_copy(update={"switches": order.sample(switches, len(switches))})))
    facts = {m: (p.at, p.grade, set(p.candidates)) for m, p in straight.placements.items()}
    assert {m: (p.at, p.grade, set(p.candidates)) for m, p in mixed.placements.items()} == facts
    assert mixed.uplinks == straight.uplinks


def test_rows_of_a_switch_that_are_not_together_are_read_all_the_same() -> None:
    observed = Hand(JOINED, **TWO).observed()
    mixed = observed.sightings.sample(frac=1, random_state=1).reset_index(drop=True)
    again = locate(
        type(observed)(
            observed.switches, observed.ports, mixed, observed.neighbours, observed.own_macs, observed.coverage
        )
    )
    assert {m: p.at for m, p in again.placements.items()} == {m: p.at for m, p in locate(observed).placements.items()}


def test_why_tells_the_rows_that_prove_a_placement() -> None:
    told = proof(Hand(JOINED, **TWO).observed(), mac("x"))
    assert told[0] == "certain: at lab:1, heard on this port, which faces no other switch"
    assert told[1] == "lab has it on 1 (learned, VLAN 1)"
    assert "no switch is behind lab:1: shed is behind 9 (its own address)" in told
    assert "seen where lab is seen: shed on 9" in told


def test_why_tells_what_speaks_against_a_placement_and_why_one_is_missing() -> None:
    hand = Hand(JOINED, **TWO)
    observed = hand.observed(more={"lab": [("00:00:5e:00:01:07", 1, "3")]})
    assert proof(observed, "00:00:5e:00:01:07")[0].startswith("it is not placed: a virtual gateway")
    assert proof(observed, "00:00:00:12:34:56") == ["no switch that was asked has seen it"]
    open_case = proof(Hand(lab="x:1 y:9", shed="x:9 y:1").observed(), mac("x"))
    assert open_case[0].startswith(("ambiguous", "certain unless"))
    tie = proof(Hand(lab="x:1 y:9", shed="x:9 y:1").observed(), mac("x"), [(PortRef("lab", "9"), PortRef("shed", "9"))])
    assert "the documented links between switches decided it" in " ".join(tie)
