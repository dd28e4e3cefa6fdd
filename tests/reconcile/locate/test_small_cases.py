"""Nine networks small enough to be solved by hand: what can be told from their tables, and what nobody can tell.

Each is worked out in its docstring from one fact alone: the active topology of bridges is a tree (IEEE 802.1D), so
that a frame is learned on the port towards its source.
"""

from __future__ import annotations

from collectors.snapshot import Neighbour
from reconcile.locate.placement import Grade, PortRef
from tests.reconcile.locate.hand import Hand, certain, ends, mac


def test_two_complete_tables_that_are_disjoint_and_together_everything_prove_the_link() -> None:
    """lab sees x on 1 and y, z on 9; shed sees y, z on 1, 2 and x on 9: the ports 9 share no address and have all.

    The theorem of direct connection of Breitbart et al. (INFOCOM 2000; from memory, proved in `test_theorems`).
    """
    located = Hand(lab="x:1 y:9 z:9", shed="x:9 y:1 z:2").located()
    assert ends(located) == {frozenset({"lab:9", "shed:9"})}
    assert certain(located) == {"x": "lab:1", "y": "shed:1", "z": "shed:2"}


def test_two_shared_hosts_never_fix_both_ends() -> None:
    """x on lab:1 and shed:9, y on lab:9 and shed:1 fit lab:9 - shed:9, but also lab:1 - shed:1 with both between."""
    located = Hand(lab="x:1 y:9", shed="x:9 y:1").located()
    assert not ends(located)
    assert certain(located) == {}


def test_three_shared_hosts_fix_both_ends() -> None:
    """A third host z on lab:2 and shed:9 excludes lab:1 - shed:1: z would be on neither (Lowekamp et al. 2001)."""
    located = Hand(lab="x:1 y:9 z:2", shed="x:9 y:1 z:9").located()
    assert ends(located) == {frozenset({"lab:9", "shed:9"})}


def test_a_silent_stub_switch_makes_every_claim_it_could_void_conditional() -> None:
    """stub hears everything on its one port and nobody hears it: it may be behind any port of lab.

    x was heard by stub where lab would be heard: x is not behind stub, and stays certain. y was not: on lab:2 there
    may be stub, and y behind it.
    """
    located = Hand(lab="x:1 y:2 z:3", stub="x:1 z:1", ports={"stub": 2}).located()
    assert located.placements[mac("x")].grade is Grade.CERTAIN
    y = located.placements[mac("y")]
    assert (y.grade, y.at, y.unless) == (Grade.CERTAIN_UNLESS, PortRef("lab", "2"), ("stub",))
    assert PortRef("stub", "2") in y.candidates


def test_an_unmanaged_box_between_three_ports_is_one_wire() -> None:
    """Each of three switches sees the others and a printer on its port 9: they and the printer share one segment."""
    located = Hand(lab="p:9 a:1", shed="p:9 b:1", boat="p:9 c:1", own={"lab": "9", "shed": "9", "boat": "9"}).located()
    assert ends(located) == {frozenset({"lab:9", "shed:9", "boat:9"})}
    assert located.shared_wires == ((PortRef("boat", "9"), PortRef("lab", "9"), PortRef("shed", "9")),)
    printer = located.placements[mac("p")]
    assert printer.grade is Grade.CERTAIN
    assert set(printer.candidates) == {PortRef("boat", "9"), PortRef("lab", "9"), PortRef("shed", "9")}


def test_two_switches_without_stations_in_a_chain_may_swap() -> None:
    """lab - one - two - shed, and nobody hears the two in the middle: both orders fit, and no link is certain.

    Each of the two sees lab's stations on port 1 and shed's on port 2. That they are somewhere between is certain.
    """
    located = Hand(
        lab="x:1 w:2 y:9 z:9", one="x:1 w:1 y:2 z:2", two="x:1 w:1 y:2 z:2", shed="x:9 w:9 y:1 z:2"
    ).located()
    assert not ends(located)
    assert certain(located) == {"x": "lab:1", "w": "lab:2", "y": "shed:1", "z": "shed:2"}


def test_a_switch_that_nobody_heard_and_that_hears_nobody_may_be_anywhere() -> None:
    """dark has an empty table, and no table has dark: it may be behind any port, and may carry any station."""
    located = Hand(lab="x:1 y:9 z:9 v:2", shed="x:9 y:1 z:2 v:9", dark="").located()
    assert located.placements[mac("x")].unless == ("dark",)
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN_UNLESS}


def test_one_address_on_two_ports_in_two_vlans_is_told_with_both() -> None:
    """A firewall with a leg in each of two VLANs and one address: legal, and no evidence about anything else."""
    hand = Hand(lab="x:1 y:9 z:9", shed="x:9 y:1 z:2")
    located = hand.located(more={"lab": [(mac("fw"), 10, "4"), (mac("fw"), 20, "5")]})
    legs = located.placements[mac("fw")]
    assert (legs.grade, legs.candidates) == (Grade.AMBIGUOUS, (PortRef("lab", "4"), PortRef("lab", "5")))
    assert "legs" in legs.because
    assert certain(located) == {"x": "lab:1", "y": "shed:1", "z": "shed:2"}


def test_a_neighbour_that_was_not_asked_keeps_its_port_from_being_an_edge() -> None:
    """cellar is a bridge and speaks LLDP on lab:1; x behind it may be on any of its ports, which nobody read."""
    cellar = Neighbour(port="1", chassis_id="00:00:00:00:0c:e1", system_name="cellar", capabilities=["bridge"])
    located = Hand(lab="x:1 y:9 z:9", shed="x:9 y:1 z:2").located(neighbours={"lab": [cellar]})
    x = located.placements[mac("x")]
    assert (x.at, x.grade, x.candidates) == (None, Grade.AMBIGUOUS, (PortRef("lab", "1"),))
    assert "cellar" in x.because
    uplink = located.uplinks[PortRef("lab", "1")]
    assert (uplink.peer, uplink.there, uplink.source) == ("cellar", None, "lldp")
