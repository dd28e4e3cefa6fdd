"""What a teardown is said to take with it, against what really falls when the cables are pulled."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.lab import station
from tests.lab.namespaces import wait_until
from tests.lab.network import Network

pytestmark = pytest.mark.lab


@pytest.fixture
def network(own_network: Network) -> Network:
    """Of its own for each test, which changes it."""
    return own_network


@pytest.fixture
def site(network: Network, tmp_path: Path) -> Path:
    site = station.write_site(network, tmp_path / "site")
    done = station.toneout(network, site, "-q", "collect")
    assert done.returncode == 0, done.stdout + done.stderr
    return site


def planned(network: Network, site: Path, *what: str) -> dict[str, Any]:
    done = station.toneout(network, site, "teardown", *what, "--from", "core", "--format", "json")
    plan: dict[str, Any] = json.loads(done.stdout)
    assert done.returncode in (0, 1), done.stderr
    return plan


def after(network: Network, site: Path) -> tuple[int, dict[str, Any]]:
    done = station.toneout(network, site, "-q", "teardown", "--after", "--format", "json")
    assert done.stderr == ""
    return done.returncode, json.loads(done.stdout)


def dark_devices(plan: dict[str, Any]) -> set[str]:
    return {dark["name"] for dark in plan["dark"]} & set(station.DEVICES)


def reaching_core(network: Network) -> set[str]:
    """The devices whose frames really arrive at core now, as its own kernel learns them anew."""
    network.namespaces.ip("core", "link", "set", "br0", "type", "bridge", "fdb_flush")
    network.speak(*station.DEVICES)
    learned = network.stations("core")
    return {name for name in station.DEVICES if network.nodes[name].macs["eth0"] in learned}


def pull(network: Network, plan: dict[str, Any]) -> None:
    """Pulls every cord of the plan, in its order. Each end is `switch:port`, or a device with one socket."""
    for row in plan["pulls"]:
        node, _, socket = row["a"].partition(":")
        if socket != "mgmt0":
            network.unplug((node, socket or "eth0"))


def test_the_devices_that_a_pulled_uplink_takes_with_it_are_those_that_were_said(network: Network, site: Path) -> None:
    assert reaching_core(network) == set(station.DEVICES)
    plan = planned(network, site, "C-2")  # the cord from core to boat-shed
    (through,) = [dark["through"] for dark in plan["dark"] if dark["name"] == "boat-shed"]
    assert through in ("link boat-shed - core", "link core - boat-shed")
    pull(network, plan)
    assert set(station.DEVICES) - reaching_core(network) == dark_devices(plan) == {"notebook", "camera"}


def test_ports_that_were_pulled_are_dark_and_nothing_else_is(network: Network, site: Path) -> None:
    plan = planned(network, site, "wet-lab:swp2-3")
    assert dark_devices(plan) == {"microscope", "tide-gauge"}
    pull(network, plan)
    network.settle(**{**station.NEIGHBOURS, "wet_lab": {"swp1": "core"}})
    assert set(station.DEVICES) - reaching_core(network) == dark_devices(plan)
    code, told = after(network, site)
    assert (code, sorted(told["as_planned"])) == (0, ["microscope", "tide-gauge"])

    network.unplug(("camera", "eth0"))
    network.settle(**{**station.NEIGHBOURS, "wet_lab": {"swp1": "core"}})
    code, told = after(network, site)
    assert code == 1
    assert [words.partition(" ")[0] for words in told["also_dark"]] == ["camera"]


def test_a_switch_that_was_torn_down_is_dark_with_all_that_hung_on_it(network: Network, site: Path) -> None:
    plan = planned(network, site, "boat-shed")
    assert plan["pulls"][-1]["link"]
    pull(network, plan)
    network.namespaces.ip("boat-shed", "link", "set", "mgmt0", "down")
    settled = {"core": {"swp1": "wet-lab"}, "wet_lab": station.NEIGHBOURS["wet_lab"]}
    network.settle(**settled)
    assert set(station.DEVICES) - reaching_core(network) == dark_devices(plan)
    wait_until(lambda: after(network, site)[0] == 0, "just the plan is dark")
