"""A device really moved, a cable really pulled, a switch really plugged in: the command says exactly that."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.lab import station
from tests.lab.network import Network

pytestmark = pytest.mark.lab


@pytest.fixture
def network(own_network: Network) -> Network:
    """Of its own for each test, which changes it."""
    return own_network


@pytest.fixture
def site(network: Network, tmp_path: Path) -> Path:
    return station.write_site(network, tmp_path / "site")


def findings(network: Network, site: Path) -> list[dict[str, Any]]:
    done = station.toneout(network, site, "reconcile", "--collect", "--format", "json")
    assert done.returncode in (0, 1), done.stdout + done.stderr
    told: list[dict[str, Any]] = json.loads(done.stdout)["findings"]
    assert done.returncode == bool(told)
    return told


def told(finding: dict[str, Any]) -> tuple[str, str, str]:
    return finding["kind"], finding["where"]["switch"], finding["where"]["port"]


def test_a_network_as_documented_has_nothing_to_report(network: Network, site: Path) -> None:
    assert findings(network, site) == []


def test_a_silent_device_moved_to_another_switch_is_one_moved_device(network: Network, site: Path) -> None:
    network.move(("tide-gauge", "eth0"), ("boat-shed", "swp5"))
    network.speak("tide-gauge")
    network.settle(**station.NEIGHBOURS)
    found = findings(network, site)
    assert [told(finding) for finding in found] == [("moved device", "wet-lab", "swp3")]
    assert found[0]["device"] == "tide-gauge"
    assert (found[0]["moved_to"]["switch"], found[0]["moved_to"]["port"]) == ("boat-shed", "swp5")


def test_a_pulled_cable_is_one_dead_port(network: Network, site: Path) -> None:
    network.unplug(("camera", "eth0"))
    network.settle(**station.NEIGHBOURS)
    found = findings(network, site)
    assert [told(finding) for finding in found] == [("dead port", "boat-shed", "swp3")]
    assert found[0]["device"] == "camera"


def test_a_rogue_switch_with_a_stranger_behind_it_is_found_where_it_is_plugged_in(network: Network, site: Path) -> None:
    network.add_switch("rogue", ports=2, managed=False)
    network.add_host("stranger")
    network.cable(("rogue", "swp2"), ("stranger", "eth0"))
    network.cable(("wet-lab", "swp5"), ("rogue", "swp1"))
    network.speak("stranger")
    network.settle(**{**station.NEIGHBOURS, "wet_lab": {**station.NEIGHBOURS["wet_lab"], "swp5": "rogue"}})
    found = findings(network, site)
    assert [told(finding) for finding in found] == [("unexpected link", "wet-lab", "swp5")]
    assert "leads to rogue" in found[0]["seen"]


def test_crossed_uplinks_are_told_at_both_ends(network: Network, site: Path) -> None:
    network.unplug(("core", "swp1"))
    network.unplug(("core", "swp2"))
    network.cable(("core", "swp1"), ("boat-shed", "swp1"))
    network.cable(("core", "swp2"), ("wet-lab", "swp1"))
    network.speak(*station.DEVICES)
    crossed = {"swp1": "boat-shed", "swp2": "wet-lab"}
    network.settle(**{**station.NEIGHBOURS, "core": crossed})
    found = findings(network, site)
    assert {finding["kind"] for finding in found} == {"uplink elsewhere"}
    assert {(finding["where"]["switch"], finding["where"]["port"]) for finding in found} >= {
        ("core", "swp1"),
        ("core", "swp2"),
    }
