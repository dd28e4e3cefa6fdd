"""An unmanaged switch between two managed ones, with devices on it: nobody can ask it, and yet it is placed."""

from __future__ import annotations

from pathlib import Path

import pytest

from collectors.snapshot_files import load_snapshot
from reconcile.frames import observe
from reconcile.locate import locate, proof
from reconcile.locate.placement import Grade, Located, PortRef
from tests.lab import station
from tests.lab.network import Network

pytestmark = pytest.mark.lab

ON_THE_BOX = ("printer", "scales", "display")
ENDS = (PortRef("boat-shed", "swp1"), PortRef("core", "swp2"))


@pytest.fixture
def network(own_network: Network) -> Network:
    """The station, with an unmanaged switch (a bridge that says nothing) in its cable to the boat shed."""
    built = own_network
    built.unplug(("core", "swp2"))
    built.add_switch("box", ports=5, managed=False, lldp=False)
    built.cable(("core", "swp2"), ("box", "swp1"))
    built.cable(("boat-shed", "swp1"), ("box", "swp2"))
    for number, name in enumerate(ON_THE_BOX, 3):
        built.add_host(name)
        built.cable(("box", f"swp{number}"), (name, "eth0"))
    built.add_host("radio")
    built.cable(("boat-shed", "swp4"), ("radio", "eth0"))
    built.speak(*station.DEVICES, *ON_THE_BOX, "radio")
    built.settle(core={"swp1": "wet-lab"}, boat_shed={"swp2": "notebook"})  # such a bridge passes no LLDP
    return built


def test_an_unmanaged_bridge_between_two_switches_is_one_wire_with_its_devices_on_it(
    network: Network, tmp_path: Path
) -> None:
    site = station.write_site(network, tmp_path / "site")
    done = station.toneout(network, site, "collect", "--out", str(tmp_path / "seen.parquet"))
    assert done.returncode in (0, 3), done.stdout + done.stderr
    seen = observe(load_snapshot(tmp_path / "seen.parquet"))
    located = locate(seen)
    assert [(wire.ends, wire.grade) for wire in located.wires if wire.ends == ENDS] == [(ENDS, Grade.CERTAIN)]
    assert ENDS in located.shared_wires
    for name in ON_THE_BOX:
        placement = located.placements[network.nodes[name].macs["eth0"]]
        assert (placement.grade, set(placement.candidates)) == (Grade.CERTAIN, set(ENDS))
    assert at(located, network, "camera") == ("boat-shed", "swp3")
    assert at(located, network, "radio") == ("boat-shed", "swp4")
    assert at(located, network, "tide-gauge") == ("wet-lab", "swp3")
    assert "one wire, or unmanaged equipment, joins core:swp2; boat-shed:swp1" in " | ".join(
        proof(seen, network.nodes["printer"].macs["eth0"])
    )


def at(located: Located, network: Network, host: str) -> PortRef | None:
    placement = located.placements[network.nodes[host].macs["eth0"]]
    assert placement.grade is Grade.CERTAIN
    return placement.at
