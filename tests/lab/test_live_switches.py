"""What collectors say of real bridges, snmpd, lldpd and sshd, against iproute2 and lldpcli on the switch itself."""

from __future__ import annotations

import asyncio
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from collectors.fleet import collect_fleet
from collectors.probe import probe
from collectors.simulator import Simulator
from collectors.snapshot import CollectedSwitch, Table, TableState
from collectors.transports.recording import record
from tests.lab.network import COMMUNITY, V3_KEYS, Network
from tests.lab.station import NEIGHBOURS, SWITCHES

pytestmark = pytest.mark.lab

ALL_WAYS = [("snmp", "2c"), ("snmp", "3"), ("ssh", "")]


def collected(network: Network, *ways: str, version: str = "2c") -> dict[str, CollectedSwitch]:
    accesses = [network.access(name, *ways, version=version or "2c") for name in SWITCHES]
    snapshot = network.as_tester(lambda: asyncio.run(collect_fleet(accesses, site="lab", secrets_from=Path())))
    assert snapshot.failed == []
    return {switch.name: switch for switch in snapshot.switches}


@pytest.fixture(scope="module")
def told(network: Network) -> dict[tuple[str, str], dict[str, CollectedSwitch]]:
    """Every switch, asked by SNMPv2c, by SNMPv3 with authentication and privacy, and by SSH."""
    return {(way, version): collected(network, way, version=version) for way, version in ALL_WAYS}


def ports(switch: CollectedSwitch) -> dict[str, tuple[Any, ...]]:
    """What every way tells of real interfaces. Of lo and br0 type, state and speed are matters of opinion."""
    real = [port for port in switch.ports if port.name not in ("lo", "br0")]
    return {port.name: (port.if_index, port.mac, port.admin, port.oper, port.speed_mbps) for port in real}


def neighbours(switch: CollectedSwitch) -> set[tuple[Any, ...]]:
    return {(row.port, row.chassis_id, row.port_id, row.system_name, row.port_description) for row in switch.neighbours}


@pytest.mark.parametrize("switch", SWITCHES)
@pytest.mark.parametrize("way", ALL_WAYS)
def test_ports_are_those_that_the_kernel_tells(
    network: Network, told: dict[Any, dict[str, CollectedSwitch]], way: tuple[str, str], switch: str
) -> None:
    rows = network.json(switch, "ip", "-j", "link", "show")
    # The kernel's speed of a veth is 10,000 Mbit/s, with a carrier or without (drivers/net/veth.c).
    wanted = {
        row["ifname"]: (row["ifindex"], row["address"], "up", row["operstate"].lower(), 10_000)
        for row in rows
        if row["ifname"] not in ("lo", "br0")
    }
    assert len(wanted) == 7
    assert ports(told[way][switch]) == wanted


@pytest.mark.parametrize("switch", SWITCHES)
@pytest.mark.parametrize("way", ALL_WAYS)
def test_neighbours_are_those_that_lldpcli_tells(
    network: Network, told: dict[Any, dict[str, CollectedSwitch]], way: tuple[str, str], switch: str
) -> None:
    rows = network.json(switch, "lldpcli", "-f", "json0", "show", "neighbors")["lldp"][0]["interface"]
    wanted = {
        (
            row["name"],
            row["chassis"][0]["id"][0]["value"],
            row["port"][0]["id"][0]["value"],
            row["chassis"][0]["name"][0]["value"],
            row["port"][0]["descr"][0]["value"],
        )
        for row in rows
    }
    assert {row[0]: row[3] for row in wanted} == NEIGHBOURS[switch.replace("-", "_")]
    assert neighbours(told[way][switch]) == wanted


@pytest.mark.parametrize("switch", SWITCHES)
def test_the_same_switch_is_the_same_by_every_way(told: dict[Any, dict[str, CollectedSwitch]], switch: str) -> None:
    by_v2c, by_v3, by_ssh = (told[way][switch] for way in ALL_WAYS)
    for other in (by_v3, by_ssh):
        assert ports(other) == ports(by_v2c)
        assert neighbours(other) == neighbours(by_v2c)
        assert other.chassis_id == by_v2c.chassis_id
        assert other.own_macs == by_v2c.own_macs
        assert other.system.name == by_v2c.system.name == switch


@pytest.mark.parametrize("switch", SWITCHES)
def test_ssh_tells_the_forwarding_table_that_bridge_tells(
    network: Network, told: dict[Any, dict[str, CollectedSwitch]], switch: str
) -> None:
    rows = network.json(switch, "bridge", "-j", "fdb", "show", "br", "br0")
    learned = {(row["mac"], row["ifname"]) for row in rows if row.get("state") != "permanent"}
    assert len(learned) >= 5  # every device, wherever it is
    seen = told["ssh", ""][switch].sightings
    assert {(row.mac, row.port) for row in seen if row.status == "learned"} == learned


def test_a_stock_snmpd_serves_no_bridge_mib_and_ssh_fills_the_gap(
    network: Network, told: dict[Any, dict[str, CollectedSwitch]]
) -> None:
    by_snmp = told["snmp", "2c"]["core"]
    assert by_snmp.report(Table.FORWARDING).state is TableState.NOT_SERVED
    assert by_snmp.sightings == []
    both = collected(network, "snmp", "ssh")["core"]
    assert both.report(Table.FORWARDING).state is TableState.READ
    assert both.report(Table.FORWARDING).source == "ssh linux: bridge -j fdb show"
    assert both.report(Table.NEIGHBOURS).source == "snmp 2c"
    assert {(row.mac, row.port) for row in both.sightings if row.status == "learned"} == set(
        network.stations("core").items()
    )


def test_probing_tells_what_a_real_switch_serves_and_what_to_add(network: Network) -> None:
    report = network.as_tester(lambda: asyncio.run(probe(network.access("core", "snmp"), Path())))
    assert report.works
    assert [advice.line for advice in report.advice] == ['ssh = { platform = "linux", user = "..." }']


def test_a_recording_of_a_real_switch_replays_as_that_switch_and_names_nobody(
    network: Network, told: dict[Any, dict[str, CollectedSwitch]], tmp_path: Path
) -> None:
    both = network.access("wet-lab", "snmp", "ssh")
    recording = network.as_tester(lambda: asyncio.run(record(both, tmp_path, secrets_from=Path())))
    assert [file.name for file in recording.files] == ["switch-1.snmprec", "switch-1.ssh.json"]
    with Simulator({"copy": recording.files[0]}, community=COMMUNITY) as simulator:
        host, port = simulator.endpoints["copy"]
        assert both.snmp is not None
        snmp = both.snmp.model_copy(update={"port": port})
        access = both.model_copy(update={"name": "copy", "address": host, "snmp": snmp, "ssh": None})
        copy = asyncio.run(collect_fleet([access], site="lab", secrets_from=Path())).switches[0]
    by_snmp = told["snmp", "2c"]["wet-lab"]
    assert [(p.name, p.if_index, p.oper, p.speed_mbps) for p in copy.ports] == [
        (p.name, p.if_index, p.oper, p.speed_mbps) for p in by_snmp.ports
    ]
    assert [(row.port, row.port_id_kind) for row in copy.neighbours] == [
        (row.port, row.port_id_kind) for row in by_snmp.neighbours
    ]
    content = b"".join(file.read_bytes() for file in recording.files)
    names = [name.encode() for name in (*network.nodes, COMMUNITY, *V3_KEYS.values())]
    macs = [mac for node in network.nodes.values() for mac in node.macs.values()]
    spelled = [text.encode() for mac in macs for text in (mac, mac.replace(":", ""))]
    addresses = [node.address.encode() for node in network.nodes.values() if node.address]
    leaks = {secret for secret in (*names, *spelled, *addresses) if re.search(rb"\b%s\b" % re.escape(secret), content)}
    assert leaks == set()


def test_no_switch_is_ever_written_to(network: Network) -> None:
    """snmpd itself counts the SET requests that came in: snmpInSetRequests, RFC 3418."""
    for switch in SWITCHES:
        asking = ["snmpget", "-v2c", f"-c{COMMUNITY}", "-Oqv", network.nodes[switch].address, "1.3.6.1.2.1.11.17.0"]
        said = subprocess.run(network.tester_command(*asking), capture_output=True, text=True, check=True)
        assert said.stdout.strip() == "0"
