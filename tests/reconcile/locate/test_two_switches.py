"""The plainest network: two switches joined by one cord, one station on each."""

from datetime import UTC, datetime

from collectors.snapshot import CollectedSwitch, Neighbour, Port, Sighting, Snapshot
from reconcile.frames import observe
from reconcile.locate import locate
from reconcile.locate.placement import Grade, Located, PortRef

NOW = datetime(2024, 5, 1, tzinfo=UTC)
A, B = "02:00:00:00:00:aa", "00:00:00:00:00:bb"


def two_switches(**more: list[Neighbour]) -> Located:
    lab = CollectedSwitch(
        name="lab-1", started=NOW, chassis_id="00:00:00:00:01:00", own_macs=["00:00:00:00:01:00"],
        ports=[Port(name=f"gi{n}", oper="up") for n in range(1, 5)],
        sightings=[Sighting(A, 10, "gi1"), Sighting(B, 10, "gi4"), Sighting("00:00:00:00:02:00", 10, "gi4"),
                   Sighting("00:00:5e:00:01:07", 10, "gi4")],
        neighbours=more.get("neighbours", []),
    )  # fmt: skip
    shed = CollectedSwitch(
        name="shed-1", started=NOW, chassis_id="00:00:00:00:02:00", own_macs=["00:00:00:00:02:00"],
        ports=[Port(name=f"gi{n}", oper="up") for n in range(1, 5)],
        sightings=[Sighting(A, 10, "gi3"), Sighting(B, 20, "gi2"), Sighting("00:00:00:00:01:00", 10, "gi3")],
    )  # fmt: skip
    return locate(observe(Snapshot(started=NOW, finished=NOW, switches=[lab, shed])))


def test_each_station_is_placed_at_the_port_that_faces_no_switch() -> None:
    located = two_switches()
    assert located.placements[A].at == PortRef("lab-1", "gi1")
    assert located.placements[B].at == PortRef("shed-1", "gi2")
    assert located.placements[B].grade is Grade.CERTAIN
    assert set(located.uplinks) == {PortRef("lab-1", "gi4"), PortRef("shed-1", "gi3")}


def test_a_virtual_gateway_and_the_switches_own_addresses_are_not_placed() -> None:
    located = two_switches()
    assert "virtual gateway" in located.unplaced["00:00:5e:00:01:07"]
    assert "shed-1" in located.unplaced["00:00:00:00:02:00"]


def test_a_telephone_that_speaks_lldp_does_not_make_its_port_an_uplink() -> None:
    phone = Neighbour(port="gi1", system_name="phone-12", capabilities=["bridge", "telephone"])
    located = two_switches(neighbours=[phone])
    assert located.placements[A].at == PortRef("lab-1", "gi1")


def test_a_bridge_that_was_not_asked_makes_its_port_an_uplink() -> None:
    bridge = Neighbour(port="gi1", system_name="cellar", capabilities=["bridge"])
    located = two_switches(neighbours=[bridge])
    assert located.uplinks[PortRef("lab-1", "gi1")].peer == "cellar"
    assert located.placements[A].at is None
    assert located.placements[A].candidates
