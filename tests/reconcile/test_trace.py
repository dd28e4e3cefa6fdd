"""One thing followed through the map and the network, on the example site and two switches that fit it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from collectors.snapshot import FailedSwitch, Neighbour, Port, Snapshot
from reconcile.errors import UsageError
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Cord, Device, End, Outlet, PatchMap
from reconcile.pipeline import compare
from reconcile.site import load_site, write_example_site
from reconcile.subjects import SubjectKind, find_subject
from reconcile.trace import Trace, trace
from tests.reconcile.example_network import LATHE, MICROSCOPE, PRINTER, STRANGER, TAKEN, snapshot
from tests.reconcile.locate.hand import Hand, mac


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> PatchMap:
    folder = tmp_path_factory.mktemp("site")
    write_example_site(folder, "Example")
    patch_map, faults = read_map(load_site(folder))
    assert faults == ()
    return patch_map


def follow(what: str, patch_map: PatchMap, seen: Snapshot | None = None, kind: SubjectKind | None = None) -> Trace:
    seen = seen or snapshot()
    comparison = compare(patch_map, seen)
    return trace(find_subject(what, comparison.picture, kind), comparison, seen)


def labels(found: Trace) -> list[str]:
    return [step.label for channel in found.channels for step in channel.steps]


WHOLE = ["SW-1:Gi1/0/1", "C-101", "PP-A:1", "FC-1", "LAB-01:1", "", "MICROSCOPE-1"]


@pytest.mark.parametrize(
    ("what", "kind"),
    [
        ("MICROSCOPE-1", "device"),
        ("  microscope-1 ", "device"),
        ("00:00:5E:00:53:01", "address"),
        ("0000.5e00.5301", "address"),
        ("00-00-5e-00-53-01", "address"),
        ("LAB-01", "outlet"),
        ("LAB-01:1", "jack"),
        ("PP-A:1", "jack"),
        ("pp-a 1", "jack"),
        ("C-101", "cord"),
        ("FC-1", "fixed cable"),
        ("SW-1:Gi1/0/1", "port"),
        ("sw-1 GigabitEthernet1/0/1", "port"),
        ("SW-1:1", "port"),
    ],
)
def test_every_part_of_a_channel_leads_to_the_whole_of_it(what: str, kind: str, example: PatchMap) -> None:
    found = follow(what, example)
    assert found.kind == kind
    assert labels(found) == WHOLE
    asked = [step for channel in found.channels for step in channel.steps if step.asked]
    assert len(asked) == 1


def test_a_tie_cable_between_panels_is_followed_through(example: PatchMap) -> None:
    assert labels(follow("SRV-1", example)) == ["SW-1:Gi1/0/5", "C-106", "PP-F:1", "T1", "PP-R:1", "C-107", "SRV-1"]


def test_a_link_between_switches_comes_once_with_both_ports_as_seen(example: PatchMap) -> None:
    found = follow("C-104", example)
    assert len(found.channels) == 1
    assert [(p.switch, p.port, p.state) for p in found.channels[0].ports] == [
        ("SW-1", "Gi1/0/23", "up"),
        ("SW-2", "Gi0/8", "up"),
    ]


def test_a_link_is_told_from_the_port_that_was_asked_for(example: PatchMap) -> None:
    assert labels(follow("SW-2:Gi0/8", example))[0] == "SW-2:Gi0/8"


def test_a_port_tells_link_speed_stations_and_since_when(example: PatchMap) -> None:
    (port,) = follow("PP-A:1", example).channels[0].ports
    assert (port.state, port.speed_mbps, port.duplex, port.vlan) == ("up", 1000, "full", 1)
    assert [(s.mac, s.device, s.grade) for s in port.stations] == [(MICROSCOPE, "MICROSCOPE-1", "certain")]
    assert port.since == datetime(2026, 3, 14, 19, 40, tzinfo=UTC)


@pytest.mark.parametrize("changed", [0, None, 31 * 24 * 3600 * 100])
def test_a_time_that_cannot_be_relied_on_is_not_told(changed: int | None, example: PatchMap) -> None:
    # RFC 2863: ifLastChange 0 is "before the agent started"; above sysUpTime it wrapped, or the agent is wrong.
    seen = snapshot()
    seen.switches[0].ports[0].last_change_ticks = changed
    (port,) = follow("PP-A:1", example, seen).channels[0].ports
    assert port.since is None


def test_an_uplink_tells_where_it_leads_and_how_many_pass(example: PatchMap) -> None:
    here, there = follow("C-104", example).channels[0].ports
    assert here.leads_to == "SW-2 port Gi0/8 (lldp)"
    assert [n.name for n in here.neighbours] == ["SW-2"]
    assert (here.passing, there.passing) == (1, 4)
    assert here.stations == ()


def test_a_device_at_another_port_shows_both_places(example: PatchMap) -> None:
    moved = snapshot({"SW-1": {"Gi1/0/9": MICROSCOPE}, "SW-2": {"Gi0/1": LATHE}})
    found = follow("MICROSCOPE-1", example, moved)
    assert [(p.port, p.state) for p in found.channels[0].ports] == [("Gi1/0/1", "down")]
    assert [(p.port, p.state) for p in found.ports] == [("Gi1/0/9", "up")]
    assert found.stations[0].at == "SW-1 port Gi1/0/9"


def test_an_undocumented_address_is_placed_with_what_the_map_says_of_that_place(example: PatchMap) -> None:
    found = follow(STRANGER, example, snapshot({"SW-1": {"Gi1/0/1": STRANGER}, "SW-2": {"Gi0/1": LATHE}}))
    (station,) = found.stations
    assert station.maker == "VMware, Inc."
    assert station.device == ""
    assert station.at == "SW-1 port Gi1/0/1, panel PP-A:1, outlet LAB-01:1, Laboratory"
    assert station.heard == ("SW-1 port Gi1/0/1, VLAN 1 (learned)", "SW-2 port Gi0/8, VLAN 1 (learned)")
    assert [p.port for p in found.ports] == ["Gi1/0/1"]


def test_an_undocumented_port_tells_what_is_on_it(example: PatchMap) -> None:
    found = follow("SW-1:Gi1/0/9", example, snapshot({"SW-1": {"Gi1/0/9": STRANGER}, "SW-2": {"Gi0/1": LATHE}}))
    assert found.channels == ()
    assert [(p.port, [s.mac for s in p.stations]) for p in found.ports] == [("Gi1/0/9", [STRANGER])]


def test_a_documented_device_that_nobody_heard_says_so(example: PatchMap) -> None:
    found = follow("PRINTER-1", example, snapshot({"SW-1": {"Gi1/0/1": MICROSCOPE}, "SW-2": {"Gi0/1": LATHE}}))
    assert found.stations[0].because == "no switch that was read has seen it"
    assert found.stations[0].at == ""


def test_a_jack_that_is_wired_and_not_patched_shows_its_cable(example: PatchMap) -> None:
    found = follow("LAB-01:2", example)
    assert found.channels == ()
    assert found.touching == ("fixed cable FC-2, from PP-A:2 to LAB-01:2",)


def test_a_switch_that_did_not_answer_is_a_gap_and_not_an_absence(example: PatchMap) -> None:
    seen = snapshot()
    seen.switches.pop()
    seen.failed.append(FailedSwitch(name="SW-2", started=TAKEN, reason="nothing came back", kind="no answer"))
    (port,) = follow("LATHE-PC", example, seen).channels[0].ports
    assert "SW-2 could not be asked: nothing came back" in port.gap
    assert port.state == ""


def test_without_a_snapshot_the_documented_side_is_told_alone(example: PatchMap) -> None:
    comparison = compare(example, Snapshot(started=TAKEN, finished=TAKEN))
    found = trace(find_subject("MICROSCOPE-1", comparison.picture), comparison, None)
    assert labels(found) == WHOLE
    assert (found.taken, found.stations, found.ports, found.channels[0].ports) == (None, (), (), ())


def test_a_name_of_several_things_lists_the_choices_and_as_decides() -> None:
    twice = PatchMap(
        outlets=[Outlet(name="A1", room="Wet lab")],
        cords=[Cord(label="A1", a=End("A1", "1"), b=End("pump"))],
        devices=[Device(name="pump")],
    )
    with pytest.raises(UsageError, match=r"means several things: the cord A1, the outlet A1; try: --as 'cord' or"):
        follow("a1", twice)
    assert follow("a1", twice, kind=SubjectKind.OUTLET).kind == "outlet"


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("MICROSCOPE", "try: MICROSCOPE-1"),
        ("C-1O1", "C-101"),
        ("PP-A", "PP-A is a panel; try: one of its jacks, PP-A:1 to PP-A:24"),
        ("PP-A:99", "PP-A has no jack 99"),
        ("SW-1", "SW-1 is a switch; try: one of its ports, for example 'SW-1:Gi1/0/1'"),
        ("SW-1:Gi1/0/99", "SW-1 has no port Gi1/0/99; try: 'SW-1:Gi1/0/9'"),
        ("00:11:22:33:44:55", "no device of the map has this address, and no switch that was read has seen it"),
        ("\0", "nothing in the map has this name"),
        ("", "nothing in the map has this name"),
        ("x" * 10_000, "nothing in the map has this name"),
        (": : :", "nothing in the map has this name"),
    ],
)
def test_what_is_not_there_is_answered_with_what_is_near(what: str, said: str, example: PatchMap) -> None:
    with pytest.raises(UsageError) as caught:
        follow(what, example)
    assert said in str(caught.value)


def test_the_port_that_is_given_for_an_example_is_one_that_a_cord_fits(example: PatchMap) -> None:
    seen = snapshot()
    vlan = Port(name="Vl1", if_index=9001, if_type=53)  # propVirtual, IANAifType-MIB
    seen.switches[0].ports.insert(0, vlan)
    with pytest.raises(UsageError, match=f"for example '{seen.switches[0].name}:Gi1/0/1'"):
        follow(seen.switches[0].name, example, seen)


def test_a_kind_that_does_not_fit_is_refused(example: PatchMap) -> None:
    with pytest.raises(UsageError, match="the map has no cord of this name"):
        follow("MICROSCOPE-1", example, kind=SubjectKind.CORD)


def test_an_address_is_found_by_its_printer_too(example: PatchMap) -> None:
    assert follow(PRINTER, example).documented == "PRINTER-1, printer, Office"


def test_a_channel_carries_its_verdict_and_what_was_found_on_it(example: PatchMap) -> None:
    right = follow("MICROSCOPE-1", example).channels[0]
    assert (right.verdict, right.findings) == ("confirmed", ())
    moved = snapshot({"SW-1": {"Gi1/0/9": MICROSCOPE}, "SW-2": {"Gi0/1": LATHE}})
    wrong = follow("PP-A:1", example, moved).channels[0]
    assert wrong.verdict == "contradicted"
    assert [f.kind.value for f in wrong.findings] == ["moved device"]


def look(seen: Snapshot, *addresses: str) -> dict[str, Trace]:
    """Addresses that no map has, followed by their placement alone."""
    comparison = compare(PatchMap(site="Saltmarsh Field Station"), seen)
    return {mac: trace(find_subject(mac, comparison.picture), comparison, seen) for mac in addresses}


def test_a_machine_with_guests_is_told_as_one_and_not_as_a_switch() -> None:
    """Its hypervisor relays for the guests and says by LLDP that it is a bridge (IEEE 802.1AB table 8-4)."""
    server, guest = "ac:1f:6b:84:3d:e0", "52:54:00:6b:1f:20"
    hv = Neighbour(port="5", chassis_id=server, system_name="hv-1", capabilities=["bridge"])
    rows = {"lab": [(server, 1, "5"), (guest, 1, "5")]}
    hand = Hand({"lab": "9", "shed": "9"}, lab="x:1 y:9", shed="x:9 y:1")
    (port,) = look(hand.snapshot(rows, {"lab": [hv]}), guest)[guest].ports
    assert port.leads_to == "hv-1, a machine with guests (lldp)"
    alone = hand.snapshot({"lab": [(server, 1, "5")]}, {"lab": [hv]})
    assert look(alone, server)[server].ports[0].leads_to == "hv-1, a machine and no switch (lldp)"


def test_a_station_between_two_switches_is_shown_at_both_ends_of_its_wire() -> None:
    rows = [(f"00:1b:23:00:00:0{n}", 1, "9") for n in range(3)]
    hand = Hand({"lab": "9", "shed": "9"}, lab="x:1 y:9", shed="x:9 y:1")
    found = look(hand.snapshot({"lab": rows, "shed": rows}), rows[0][0])[rows[0][0]]
    assert found.stations[0].at.endswith("on the wire from there to shed port 9")
    assert [(port.switch, len(port.stations), port.passing) for port in found.ports] == [("lab", 3, 2), ("shed", 3, 2)]


def test_of_very_many_ports_that_a_station_may_be_at_those_that_heard_it_are_shown() -> None:
    """Its own switch, of 48 ports, has forgotten it."""
    hand = Hand({"lab": "9", "shed": "9"}, {"lab": 9, "shed": 48}, lab="x:1 y:9 z:9", shed="x:9 y:1")
    z = mac("z")
    found = look(hand.snapshot(), z)[z]
    assert len(found.stations[0].candidates) > 40
    assert [(port.switch, port.port) for port in found.ports] == [("lab", "9")]
