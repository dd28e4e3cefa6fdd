"""What neighbours say of themselves, in the many ways in which they say it, and what it proves."""

from __future__ import annotations

import pytest

from collectors.snapshot import CollectedSwitch, FailedSwitch, Neighbour, Port, Sighting, Snapshot
from reconcile.frames import observe
from reconcile.locate import locate
from reconcile.locate.placement import Grade, Located, PortRef
from tests.reconcile.locate.hand import TAKEN, Hand, ends, mac

LAB, SHED, BOAT = (f"00:1b:22:00:00:0{n}" for n in range(3))


def told(port: str, chassis: str = "", name: str = "", port_id: str = "", **more: object) -> Neighbour:
    return Neighbour.model_validate(
        {"port": port, "chassis_id": chassis, "system_name": name, "port_id": port_id, "capabilities": ["bridge"]}
        | more
    )


def pair(
    lab: list[Neighbour] | None = None,
    shed: list[Neighbour] | None = None,
    *,
    lab_ports: list[Port] | None = None,
    shed_ports: list[Port] | None = None,
    **shed_more: object,
) -> Located:
    """lab and shed, joined by their ports 9 as LLDP says; one station is heard over that link."""
    nine = [Port(name=str(n), if_index=500 + n, oper="up") for n in range(1, 10)]
    one = CollectedSwitch(
        name="lab", started=TAKEN, chassis_id=LAB, own_macs=[LAB], ports=lab_ports or nine, neighbours=lab or [],
        sightings=[Sighting(mac("x"), 1, "1"), Sighting(mac("y"), 1, "9")],
    )  # fmt: skip
    other = CollectedSwitch.model_validate(
        {"name": "shed", "started": TAKEN, "chassis_id": SHED, "own_macs": [SHED], "ports": shed_ports or nine,
         "neighbours": shed or [], "sightings": [Sighting(mac("y"), 1, "2")]} | shed_more
    )  # fmt: skip
    return locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[one, other])))


def link(located: Located, here: str = "lab:9") -> tuple[str, str, str]:
    uplink = located.uplinks[PortRef(*here.split(":", 1))]
    return str(uplink.there), uplink.peer, uplink.source


def test_a_link_that_both_sides_tell_is_found_once_with_both_ends() -> None:
    located = pair([told("9", SHED, port_id="9")], [told("9", LAB, port_id="9")])
    assert link(located) == ("shed:9", "shed", "lldp")
    assert link(located, "shed:9") == ("lab:9", "lab", "lldp")
    assert ends(located) == {frozenset({"lab:9", "shed:9"})}
    assert {str(p.at) for p in located.placements.values()} == {"lab:1", "shed:2"}
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN}


def test_one_side_is_enough() -> None:
    located = pair([told("9", SHED, port_id="9")])
    assert link(located, "shed:9") == ("lab:9", "lab", "lldp")


@pytest.mark.parametrize(
    "said",
    [
        {"chassis": SHED.upper()},  # a MAC in another spelling
        {"name": "shed"},  # the site's name
        {"name": "SHED.saltmarsh.example"},  # with a domain
        {"name": "shed\0\0\0\0"},  # NUL padding
        {"chassis": "shed(FOC1408Z61U)", "protocol": "cdp"},  # CDP device id: name and serial number
    ],
)
def test_a_neighbour_is_known_by_any_of_its_names(said: dict[str, str]) -> None:
    assert link(pair([told("9", port_id="9", **said)]))[1] == "shed"


@pytest.mark.parametrize(
    ("port_id", "kind", "description"),
    [
        ("9", "interfaceName", ""),
        ("509", "local", ""),  # ifIndex as text, subtype 7: routers of one family (quirk 45 of the recordings)
        ("cut off", "interfaceName", "9"),  # complete in the description
        ("00:1b:22:0a:00:09", "macAddress", ""),
    ],
)
def test_the_far_port_is_known_by_any_of_its_names(port_id: str, kind: str, description: str) -> None:
    ports = [
        Port(name=str(n), if_index=500 + n, oper="up", mac=f"00:1b:22:0a:00:0{n}" if n == 9 else None)
        for n in range(1, 10)
    ]
    said = told("9", SHED, port_id=port_id, port_id_kind=kind, port_description=description)
    assert link(pair([said], shed_ports=ports))[0] == "shed:9"


def test_a_port_name_cut_at_sixteen_characters_is_completed_where_only_one_port_begins_so() -> None:
    ports = [Port(name=name, oper="up") for name in ("2", "Ten-GigabitEthernet1/0/49", "M-GigabitEthernet0/0/0")]
    said = told("9", SHED, port_id="Ten-GigabitEther", port_id_kind="interfaceName")
    assert link(pair([said], shed_ports=ports))[0] == "shed:Ten-GigabitEthernet1/0/49"


def test_a_name_that_two_switches_bear_identifies_neither() -> None:
    located = pair([told("9", name="access")], lldp_name="access", system={"name": "access"})
    assert link(located)[1] == "shed"
    twin = CollectedSwitch(name="boat", started=TAKEN, lldp_name="access", ports=[Port(name="1")])
    lab = CollectedSwitch(name="lab", started=TAKEN, neighbours=[told("9", name="access")], ports=[Port(name="9")])
    shed = CollectedSwitch(name="shed", started=TAKEN, lldp_name="access", ports=[Port(name="9")])
    located = locate(observe(Snapshot(started=TAKEN, finished=TAKEN, switches=[lab, shed, twin])))
    assert located.uplinks[PortRef("lab", "9")].peer == "access"
    assert located.uplinks[PortRef("lab", "9")].there is None


def test_what_cdp_and_lldp_both_say_is_one_link() -> None:
    """Quirk 40 of the recordings: CDP rows are mirrored into LLDP, with the name and serial number as chassis."""
    twice = [
        told("9", SHED, port_id="9"),
        told("9", "shed(SSI183706KP)", port_id="9"),
        told("9", "shed(SSI183706KP)", port_id="9", protocol="cdp"),
    ]
    located = pair(twice, [told("9", LAB, port_id="9")])
    assert link(located) == ("shed:9", "shed", "lldp")
    assert len(located.wires) == 1
    assert set(located.uplinks) == {PortRef("lab", "9"), PortRef("shed", "9")}


def test_members_of_an_aggregate_are_one_link_between_the_aggregates() -> None:
    ports = [Port(name=n, oper="up", aggregate="Po1" if n in "89" else None) for n in ("1", "2", "8", "9", "Po1")]
    both = [told("8", SHED, port_id="8"), told("9", SHED, port_id="9")]
    back = [told("8", LAB, port_id="8"), told("9", LAB, port_id="9")]
    located = pair(both, back, lab_ports=ports, shed_ports=ports)
    assert ends(located) == {frozenset({"lab:Po1", "shed:Po1"})}
    assert link(located, "lab:Po1") == ("shed:Po1", "shed", "lldp")
    assert located.conflicts == ()


@pytest.mark.parametrize(
    "capabilities", [["bridge", "telephone"], ["bridge", "wlanAccessPoint", "router"], ["stationOnly"], [], ["router"]]
)
def test_a_telephone_an_access_point_or_a_host_ends_its_wire(capabilities: list[str]) -> None:
    device = told("1", name="device-1", capabilities=capabilities)
    located = pair([told("9", SHED, port_id="9"), device])
    assert located.placements[mac("x")].grade is Grade.CERTAIN
    assert PortRef("lab", "1") not in located.uplinks


def test_cdp_passes_bridges_that_do_not_know_it_and_proves_the_direction_alone() -> None:
    """lab and shed hear each other by CDP, and boat between them, which relays it: no wire joins lab and shed."""
    own = {"lab": "9", "shed": "9"}
    hand = Hand(own, lab="x:1 y:9 z:9", boat="x:8 y:9 z:1", shed="x:9 y:1 z:9")
    cdp = {
        "lab": [told("9", name="shed", port_id="9", protocol="cdp")],
        "shed": [told("9", name="lab", port_id="9", protocol="cdp")],
    }
    located = hand.located(neighbours=cdp)
    assert ends(located) == {frozenset({"lab:9", "boat:8"}), frozenset({"boat:9", "shed:9"})}
    assert {str(p.at) for p in located.placements.values()} == {"lab:1", "shed:1", "boat:1"}


def ring(blocked: list[str], *, heard_over_boat: bool = False) -> Located:
    """Three switches in a circle by LLDP: lab 8 - shed 9, shed 8 - boat 9, boat 8 - lab 9; the last cord is spare."""
    hand = Hand(lab="x:1 y:8 z:8", shed="x:9 y:1 z:8", boat="x:9 y:9 z:1" + (" v:8" if heard_over_boat else ""))
    neighbours = {
        "lab": [told("8", SHED, port_id="9"), told("9", BOAT, port_id="8")],
        "shed": [told("9", LAB, port_id="8"), told("8", BOAT, port_id="9")],
        "boat": [told("9", SHED, port_id="8"), told("8", LAB, port_id="9")],
    }
    return hand.located(neighbours=neighbours, blocked=blocked)


def test_the_spare_cord_of_a_ring_is_a_link_that_carries_nothing() -> None:
    located = ring(["boat:8"])
    assert ends(located) == {frozenset({"lab:8", "shed:9"}), frozenset({"shed:8", "boat:9"})}
    spare = located.uplinks[PortRef("lab", "9")]
    assert (str(spare.there), spare.carries, spare.grade) == ("boat:8", False, Grade.CERTAIN)
    assert located.uplinks[PortRef("lab", "8")].carries
    assert {p.grade for p in located.placements.values()} == {Grade.CERTAIN}


def test_a_cord_over_which_nobody_was_heard_proves_nothing_where_spanning_tree_is_not_told() -> None:
    located = ring([])
    spare = located.uplinks[PortRef("lab", "9")]
    assert (str(spare.there), spare.grade) == ("boat:8", Grade.PROBABLE)
    assert {str(p.at) for p in located.placements.values()} == {"lab:1", "shed:1", "boat:1"}


def test_a_circle_of_links_that_all_carry_traffic_is_reported() -> None:
    located = ring([], heard_over_boat=True)
    assert any("circle" in sentence for sentence in located.conflicts)


def test_a_port_that_hears_its_own_switch_is_reported_as_a_loop() -> None:
    located = pair([told("5", LAB, port_id="6"), told("9", SHED, port_id="9")])
    assert any(sentence.startswith("lab:5 hears its own switch") for sentence in located.conflicts)
    assert located.placements[mac("x")].grade is Grade.CERTAIN


def test_a_switch_that_did_not_answer_is_known_to_its_neighbours() -> None:
    hand = Hand(lab="x:1 y:9 z:9")
    snapshot = hand.snapshot(neighbours={"lab": [told("9", name="shed.example.org")]})
    failed = FailedSwitch(name="shed", started=TAKEN, reason="did not answer", kind="no answer")
    located = locate(observe(snapshot.model_copy(update={"failed": [failed]})))
    assert link(located) == ("None", "shed", "lldp")
    for station in ("y", "z"):
        placement = located.placements[mac(station)]
        assert (placement.grade, placement.at) == (Grade.AMBIGUOUS, None)
        assert "shed" in placement.because


def test_two_neighbours_of_one_port_share_its_wire() -> None:
    """An unmanaged switch that passes LLDP: both are on the same wire, not on one cord (several rows are normal)."""
    own = {"lab": "9", "shed": "9", "boat": "9"}
    both = [told("9", SHED, port_id="9"), told("9", BOAT, port_id="9")]
    located = Hand(own, lab="x:1", shed="x:9", boat="x:9").located(neighbours={"lab": both})
    assert ends(located) == {frozenset({"lab:9", "shed:9", "boat:9"})}
    assert located.uplinks[PortRef("lab", "9")].there is None
    assert located.uplinks[PortRef("lab", "9")].peer == "boat, shed"


def test_the_management_port_of_a_switch_plugged_in_elsewhere_does_not_mislead() -> None:
    """shed's management socket hangs on boat; its address there is not the way to shed's other ports."""
    side = "00:1b:22:0b:00:01"
    shed_ports = [*(Port(name=str(n), oper="up") for n in range(1, 10)), Port(name="mgmt0", oper="up", mac=side)]
    hand = Hand({"lab": "9", "shed": "9"}, lab="x:1 y:9 z:8", boat="x:8 y:9 z:1", shed="x:9 y:1 z:9")
    snapshot = hand.snapshot(more={"lab": [(side, 1, "8")]})
    shed = snapshot.switches[2].model_copy(update={"ports": shed_ports, "own_macs": [SHED, side]})
    located = locate(observe(snapshot.model_copy(update={"switches": [*snapshot.switches[:2], shed]})))
    assert located.placements[mac("y")].at == PortRef("shed", "1")
    assert located.unplaced[side] == "an address of the switch shed itself"


@pytest.mark.parametrize(
    "text", ["", "\0", "=cmd()", "<script>", "\x1b[2J", "‮dehs", "x" * 1024, "00:00:00:00:00:00", "(", "."]
)
def test_whatever_a_neighbour_says_it_is_a_neighbour_at_most(text: str) -> None:
    located = pair([told("9", text, text, text, port_description=text, capabilities=[text, "bridge"])])
    assert set(located.placements) == {mac("x"), mac("y")}
    assert located.placements[mac("x")].at == PortRef("lab", "1")
