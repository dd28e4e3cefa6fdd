"""The SNMP collector over real UDP against worlds whose answers are known without any network."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from collectors.access import SnmpAccess, SwitchAccess
from collectors.fleet import collect_fleet
from collectors.simulator import Simulator, recordings_in
from collectors.snapshot import CollectedSwitch, Snapshot, Table
from tests.worlds import saltmarsh
from tests.worlds.files import SITES
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES

EVERY_FAMILY = (
    "moved-device", "swapped-uplinks", "phone-with-pc", "one-context-per-vlan", "one-vlan-only",
    "neighbours-not-served", "odd-entries",
)  # fmt: skip
WORLDS: dict[str, World] = {"saltmarsh": saltmarsh.drifted()} | {name: STORIES[name]()[0] for name in EVERY_FAMILY}


def patience(name: str) -> dict[str, Any]:
    """Long, since a loaded test machine is no silent switch; short for the one that leaves questions unanswered."""
    return {"timeout": 3.0, "retries": 1} if name == "one-vlan-only/wet-1" else {"timeout": 10.0}


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Snapshot]:
    """What the collector says of every world, all asked in one run."""
    paths = {
        f"{world}/{switch}": path
        for world in WORLDS
        for switch, path in recordings_in(SITES / world / "recordings").items()
    }
    folder = tmp_path_factory.mktemp("secrets")
    (folder / "community").touch(mode=0o600)
    (folder / "community").write_text("public\n")
    with Simulator(paths) as simulator:
        accesses = [
            SwitchAccess(
                name=name, address=host, snmp=SnmpAccess(port=port, community="file:community", **patience(name))
            )
            for name, (host, port) in simulator.endpoints.items()
        ]
        whole = asyncio.run(collect_fleet(accesses, site="all", secrets_from=folder, at_once=3))
    assert not whole.failed
    answers = {switch.name: switch for switch in whole.switches}
    return {
        world: whole.model_copy(
            update={
                "switches": [
                    answers[f"{world}/{switch}"].model_copy(update={"name": switch})
                    for switch in recordings_in(SITES / world / "recordings")
                ]
            }
        )
        for world in WORLDS
    }


@pytest.mark.parametrize("name", sorted(WORLDS))
def test_the_collector_tells_what_the_world_has(name: str, collected: dict[str, Snapshot]) -> None:
    expected = {switch.name: essence(switch) for switch in snapshot_of(WORLDS[name]).switches}
    assert {switch.name: essence(switch) for switch in collected[name].switches} == expected


def essence(switch: CollectedSwitch) -> dict[str, Any]:
    """What of a switch's answers the product rests on."""
    return {
        "system": switch.system,
        "chassis": (switch.chassis_id, switch.lldp_name),
        "ports": {
            port.name: (
                port.if_index,
                port.admin,
                port.oper,
                port.alias,
                port.pvid,
                port.speed_mbps if port.oper == "up" and port.if_type == 6 else None,
            )
            for port in switch.ports
        },
        "vlans": switch.vlans,
        "sightings": {tuple(row)[:5] for row in switch.sightings},
        "neighbours": sorted(
            (
                neighbour.port or "",
                neighbour.chassis_id_kind,
                neighbour.chassis_id,
                neighbour.port_id_kind,
                neighbour.port_id,
                neighbour.port_description,
                neighbour.system_name,
                tuple(neighbour.capabilities or ()),
                tuple(neighbour.management_addresses),
                neighbour.pvid,
                (neighbour.maker, neighbour.model, neighbour.serial),
            )
            for neighbour in switch.neighbours
        ),
        "addresses": sorted((address.ip, address.mac) for address in switch.addresses),
        "power": switch.power_groups,
        "aging": switch.aging_seconds,
        "coverage": {
            table: (switch.report(table).state, bool(switch.report(table).partial))
            for table in (Table.INTERFACES, Table.FORWARDING, Table.NEIGHBOURS)
        },
    }
