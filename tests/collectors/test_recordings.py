"""Real switches, as recorded, asked over real UDP: what is collected equals what their raw rows say, exactly.

The facts come from `fixtures/recordings/snmp` (28 recordings of the package snmpsim-data). The larger recordings are
marked `long`.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from collectors.access import SwitchAccess
from collectors.simulator import Simulator
from collectors.snapshot import CollectedSwitch, FailedSwitch, Neighbour, Table, TableState
from collectors.snmp_collector import SnmpCollector
from tests.collectors import recorded

SMALL = [name for name, facts in recorded.truth().items() if facts["rows"] < recorded.LARGE]
LARGE = [name for name in recorded.truth() if name not in SMALL]

Collected = dict[str, CollectedSwitch]


def collect_all(names: list[str], config: pytest.Config) -> Collected:
    """Everything, three switches at a time: one simulator process serves them all."""
    os.environ["TONEOUT_TEST_COMMUNITY"] = "public"
    paths = {name: recorded.trimmed(name, config) for name in names}
    with Simulator(paths, keep_order=True) as simulator:
        return asyncio.run(_collect_all(simulator.endpoints))


async def _collect_all(endpoints: dict[str, tuple[str, int]]) -> Collected:
    gate = asyncio.Semaphore(3)

    async def collect(name: str, host: str, port: int) -> CollectedSwitch | FailedSwitch:
        snmp = {"community": "env:TONEOUT_TEST_COMMUNITY", "port": port, "timeout": 15, "retries": 3, "in_flight": 2}
        access = SwitchAccess.model_validate({"name": name, "address": host, "snmp": snmp})
        async with gate:
            return await SnmpCollector().collect(
                access, secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None
            )

    found = await asyncio.gather(*(collect(name, *endpoint) for name, endpoint in endpoints.items()))
    assert [switch for switch in found if isinstance(switch, FailedSwitch)] == []
    return {switch.name: switch for switch in found if isinstance(switch, CollectedSwitch)}


@pytest.fixture(scope="module")
def small(pytestconfig: pytest.Config) -> Collected:
    return collect_all(SMALL, pytestconfig)


@pytest.fixture(scope="module")
def large(pytestconfig: pytest.Config) -> Collected:
    return collect_all(LARGE, pytestconfig)


def differences(switch: CollectedSwitch, facts: dict[str, Any]) -> dict[str, Any]:
    """What is collected but not so, and what is so but not collected, by kind of row."""
    found: dict[str, tuple[Iterable[Any], Iterable[Any]]] = {
        "ports": (_ports(switch), ((name, *_port_facts(row)) for name, row in facts["ports"].items())),
        "macs": (([s.vlan, s.mac, s.port] for s in switch.sightings if s.status == "learned"), facts["macs"]),
        "macs_other": (
            ([s.vlan, s.mac, s.port, s.status] for s in switch.sightings if s.status != "learned"),
            facts["macs_other"],
        ),
        "lldp": (
            ([n.port, n.chassis_id, n.port_id, n.system_name] for n in _lldp(switch)),
            facts["lldp"],
        ),
        "lldp_detail": (
            ([n.port_description, _first(n.management_addresses), _hex(n, "system_name")] for n in _lldp(switch)),
            ([d["port_desc"], d["mgmt_addr"], d["sysname_hex"].removesuffix("00")] for d in facts["lldp_detail"]),
        ),
        "arp and nd": (([a.ip, a.mac, a.port] for a in switch.addresses), facts["arp"] + facts["nd"]),
        "vlans": (((str(vlan), name) for vlan, name in switch.vlans.items() if name), facts["vlans"].items()),
        "pvid": (((port.name, port.pvid) for port in switch.ports if port.pvid), facts["pvid"].items()),
        "lag": (((port.name, port.aggregate) for port in switch.ports if port.aggregate), facts["lag"].items()),
    }
    wrong: dict[str, Any] = {}
    for kind, (ours, theirs) in found.items():
        left, right = sorted(map(repr, map(tuple, ours))), sorted(map(repr, map(tuple, theirs)))
        if left != right:
            wrong[kind] = {
                "only ours": [row for row in left if row not in right][:5],
                "only theirs": [row for row in right if row not in left][:5],
                "counts": (len(left), len(right)),
            }
    return wrong


_PORT_FACTS = (
    "ifIndex", "admin", "oper", "speed_mbps", "ifType", "descr", "alias", "mac", "last_change", "in_errors", "duplex",
)  # fmt: skip


def _port_facts(row: dict[str, Any]) -> tuple[Any, ...]:
    """A port without the column ifAlias has null in the facts and an empty alias with us."""
    return tuple(row[field] or "" if field == "alias" else row[field] for field in _PORT_FACTS)


def _ports(switch: CollectedSwitch) -> Iterator[tuple[Any, ...]]:
    for port in switch.ports:
        yield (
            port.name, port.if_index, port.admin, port.oper, port.speed_mbps, port.if_type, port.descr, port.alias,
            port.mac, port.last_change_ticks, port.counters.get("in_errors"), port.duplex,
        )  # fmt: skip


def _lldp(switch: CollectedSwitch) -> list[Neighbour]:
    return [neighbour for neighbour in switch.neighbours if neighbour.protocol == "lldp"]


def _first(addresses: list[str]) -> str | None:
    return addresses[0] if addresses else None


def _hex(neighbour: Neighbour, field: str) -> str:
    """The octets of a text, as the switch sent them apart from padding."""
    return neighbour.raw.get(field) or getattr(neighbour, field).encode().hex()


@pytest.mark.parametrize("name", SMALL)
def test_a_recorded_switch_is_collected_exactly(name: str, small: Collected) -> None:
    assert differences(small[name], recorded.truth()[name]) == {}


@pytest.mark.long
@pytest.mark.parametrize("name", LARGE)
def test_a_large_recorded_switch_is_collected_exactly(name: str, large: Collected) -> None:
    assert differences(large[name], recorded.truth()[name]) == {}


@pytest.mark.parametrize("name", [name for name in SMALL if recorded.truth()[name]["cdp"]])
def test_every_cdp_row_is_kept_or_repeats_an_lldp_row_of_its_port(name: str, small: Collected) -> None:
    switch = small[name]
    kept = [[n.port, n.chassis_id, n.port_id, _first(n.management_addresses)] for n in switch.neighbours]
    ports_of_lldp = {neighbour.port for neighbour in _lldp(switch)}
    facts = recorded.truth()[name]
    for row in facts["cdp"]:
        assert row in kept or row[0] in ports_of_lldp
    cdp = [n for n in switch.neighbours if n.protocol == "cdp"]
    assert len(cdp) == (0 if facts["lldp"] else len(facts["cdp"]))


def test_a_switch_keeps_its_own_addresses_and_names(small: Collected) -> None:
    for name, switch in small.items():
        facts = recorded.truth()[name]
        assert switch.lldp_name == (facts["lldp_sysname"] or "")
        assert switch.chassis_id == ((facts["lldp_chassis"] or "").replace("00:00:00:00:00:00", ""))
        assert {row[1] for row in facts["macs_other"] if row[3] == "self"} <= set(switch.own_macs)


def test_what_was_read_of_a_recorded_switch_is_never_called_unread(small: Collected) -> None:
    for switch in small.values():
        for table, report in switch.tables.items():
            assert report.state in (TableState.READ, TableState.EMPTY, TableState.NOT_SERVED), (switch.name, table)
            assert (report.state is TableState.READ) == bool(report.rows), (switch.name, table)


def addresses_of(switch: CollectedSwitch) -> set[str]:
    return {row.mac for row in switch.sightings if row.status == "learned"}


@pytest.mark.parametrize(("router", "known"), [("cisco-n5000-uk9", 244), ("cisco-n5000", 237)])
def test_quirk_48_a_routers_table_gives_ip_addresses_to_what_another_switch_sees(
    router: str, known: int, small: Collected
) -> None:
    stations = addresses_of(small["network/switch/hpe-procurve-516733-b21"])
    named = {row.mac for row in small[f"network/switch/{router}"].addresses}
    assert (len(stations), len(stations & named)) == (261, known)


@pytest.mark.long
def test_quirk_48_the_same_fifty_addresses_are_seen_on_both_sides_of_a_link(large: Collected) -> None:
    a, b = (addresses_of(large[f"network/router/juniper-mx960-16-1r6-7-{name}"]) for name in "ab")
    assert len(a & b) == 50


def test_quirk_50_two_snapshots_of_one_switch_differ_in_what_changed_alone(small: Collected) -> None:
    before, after = small["network/switch/cisco-n5000"], small["network/switch/cisco-n5000-uk9"]
    assert before.own_macs == after.own_macs
    up = [{port.name for port in switch.ports if port.oper == "up"} for switch in (before, after)]
    assert up[1] - up[0] == {"port-channel32", "Ethernet1/4", "Ethernet1/25", "Ethernet1/26"}
    assert (len(up[0]), len(up[1])) == (41, 45)
    enabled = [{port.name for port in switch.ports if port.admin == "up"} for switch in (before, after)]
    assert enabled[1] - enabled[0] == {"Ethernet1/8"}
    assert [len(_lldp(switch)) for switch in (before, after)] == [9, 11]


@pytest.mark.parametrize(
    ("name", "first_object"), [("bdcom-s5612", "dot1qTpFdbPort"), ("zte-zrx10", "ipNetToMediaPhysAddress")]
)
def test_quirk_53_rows_out_of_order_are_all_taken_and_told(name: str, first_object: str, small: Collected) -> None:
    oddities = small[f"network/switch/{name}"].oddities
    assert [told for told in oddities if f"rows of {first_object} came out of order; all were taken" in told]


def test_quirk_07_a_switch_that_hides_vlans_has_a_partial_forwarding_table(small: Collected) -> None:
    for name, vlans in (("cisco-c3560", 4), ("cisco-c3750", 274), ("cisco-n5000", 16)):
        report = small[f"network/switch/{name}"].report(Table.FORWARDING)
        assert report.partial.startswith(f"only the table of one VLAN of {vlans} is visible"), name
        assert not report.whole


@pytest.mark.long
@pytest.mark.parametrize("name", recorded.all_names())
def test_no_recording_of_the_package_stops_the_collector(name: str, everything: Collected) -> None:
    """Printers, cameras, firewalls and more switches, of which nothing is known but that they answered so."""
    switch = everything[name]
    names = [port.name for port in switch.ports]
    assert len(names) == len(set(names))
    assert {row.port for row in switch.sightings} <= {*names, None}
    assert {row.port for row in switch.neighbours} <= {*names, None}
    assert not [table for table, report in switch.tables.items() if report.state is TableState.TIMED_OUT]


@pytest.fixture(scope="module")
def everything(pytestconfig: pytest.Config) -> Collected:
    """All recordings of the package."""
    return collect_all(recorded.all_names(), pytestconfig)
