"""Switches that keep a bridge per VLAN: the others' forwarding tables are asked for in contexts of their own.

Served by the simulator over UDP: community@vlan for version 2c, context vlan-N for version 3.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from collectors.access import SwitchAccess
from collectors.simulator import SimulatedUser, Simulator
from collectors.snapshot import CollectedSwitch, Table, TableState
from collectors.snmp_collector import SnmpCollector
from collectors.tables.mib import OBJECTS
from tests.collectors.mib_rows import fdb, scalar

PRINTER, CAMERA, PUMP = "00:00:5e:00:53:01", "00:00:5e:00:53:02", "00:00:5e:00:53:03"

SWITCH: dict[str, dict[Any, Any]] = {
    "sysDescr": scalar("boat shed"),
    "sysUpTime": scalar(1000),
    "ifName": {10101: "Gi0/1", 10102: "Gi0/2", 10103: "Gi0/3"},
    "ifOperStatus": {10101: 1, 10102: 1, 10103: 1},
    "ifType": {10101: 6, 10102: 6, 10103: 6},
    "vtpVlanState": {"1.1": 1, "1.20": 1, "1.30": 1, "1.40": 2, "1.1002": 1},
    "vtpVlanType": {"1.1": 1, "1.20": 1, "1.30": 1, "1.40": 1, "1.1002": 2},
    "vtpVlanName": {"1.1": "default", "1.20": "imaging", "1.30": "pumps", "1.40": "off", "1.1002": "fddi-default"},
    "dot1dBasePortIfIndex": {1: 10101},
    **fdb((None, PRINTER, 1, 3)),
}
VLAN_1 = {"dot1dBasePortIfIndex": {1: 10101}, **fdb((None, PRINTER, 1, 3))}
VLAN_20 = {"dot1dBasePortIfIndex": {2: 10102}, **fdb((None, CAMERA, 2, 3), (None, PRINTER, 2, 3))}
VLAN_30 = {"dot1dBasePortIfIndex": {3: 10103}, **fdb((None, PUMP, 3, 3))}


def write(path: Path, columns: dict[str, dict[Any, Any]]) -> None:
    """A recording of these columns."""
    rows = []
    for name, column in columns.items():
        for index, value in column.items():
            oid = (*OBJECTS[name], *map(int, str(index).split(".")))
            rows.append((oid, f"4|{value}" if isinstance(value, str) else f"2|{value}"))
    lines = [f"{'.'.join(map(str, oid))}|{told}\n" for oid, told in sorted(rows)]
    path.write_text("".join(lines))


USER = SimulatedUser("collector", "sha1", "authpass1", "aes", "privpass1")


@pytest.fixture(scope="module")
def endpoints(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, tuple[str, int]]]:
    """`per-vlan` keeps a bridge per VLAN; `deaf` is such a switch that does not answer to other contexts."""
    folder = tmp_path_factory.mktemp("contexts")
    write(folder / "per-vlan.snmprec", SWITCH)
    for vlan, columns in ((1, VLAN_1), (20, VLAN_20), (30, VLAN_30)):
        write(folder / f"per-vlan@{vlan}.snmprec", columns)
    write(folder / "deaf.snmprec", SWITCH)
    recordings = {name: folder / f"{name}.snmprec" for name in ("per-vlan", "deaf")}
    os.environ.update(TONEOUT_TEST_COMMUNITY="public", TONEOUT_TEST_AUTH="authpass1", TONEOUT_TEST_PRIVACY="privpass1")
    with Simulator(recordings, user=USER) as simulator:
        yield simulator.endpoints


VERSION_2C = {"community": "env:TONEOUT_TEST_COMMUNITY"}
VERSION_3 = {
    "version": "3",
    "user": "collector",
    "auth": "sha1",
    "auth_secret": "env:TONEOUT_TEST_AUTH",
    "privacy": "aes",
    "privacy_secret": "env:TONEOUT_TEST_PRIVACY",
    "context": "public",  # the simulator's name for the usual context
}


def collect(endpoint: tuple[str, int], snmp: dict[str, Any]) -> CollectedSwitch:
    host, port = endpoint
    settings = {"port": port, "timeout": 4, "retries": 3} | snmp
    access = SwitchAccess.model_validate({"name": "boatshed-sw1", "address": host, "snmp": settings})
    found = asyncio.run(
        SnmpCollector().collect(access, secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None)
    )
    assert isinstance(found, CollectedSwitch), found
    return found


@pytest.mark.parametrize("settings", [VERSION_2C, VERSION_2C | {"version": "1"}, VERSION_3], ids=["2c", "1", "3"])
def test_quirk_07_every_vlans_table_is_read_in_its_own_context(
    settings: dict[str, Any], endpoints: dict[str, tuple[str, int]]
) -> None:
    found = collect(endpoints["per-vlan"], settings)
    assert sorted((row.vlan, row.mac, row.port) for row in found.sightings if row.vlan is not None) == [
        (1, PRINTER, "Gi0/1"),
        (20, PRINTER, "Gi0/2"),
        (20, CAMERA, "Gi0/2"),
        (30, PUMP, "Gi0/3"),
    ]
    assert len(found.sightings) == 4
    assert found.report(Table.FORWARDING).whole
    assert found.vlans[20] == "imaging"


@pytest.mark.parametrize("settings", [VERSION_2C, VERSION_3], ids=["2c", "3"])
def test_quirk_07_a_switch_deaf_to_other_contexts_is_partial_and_says_why(
    settings: dict[str, Any], endpoints: dict[str, tuple[str, int]]
) -> None:
    found = collect(endpoints["deaf"], settings)
    assert [(row.vlan, row.mac, row.port) for row in found.sightings] == [(None, PRINTER, "Gi0/1")]
    report = found.report(Table.FORWARDING)
    assert report.state is TableState.READ
    assert report.partial.startswith("only the table of one VLAN of 3 is visible; in the context of VLAN 20")
    assert found.report(Table.INTERFACES).whole
