"""Recordings, against values published in the MIBs and standards, named beside each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.worlds import changes
from tests.worlds.dialects import NUMBERED, OFFSET, PER_CONTEXT, SLOTTED, STACKED, Dialect
from tests.worlds.equipment import phone
from tests.worlds.model import World
from tests.worlds.observe import observe
from tests.worlds.snmprec import recording, recordings
from tests.worlds.stories import SCOPE, TANK, patch, station


def rows_of(world: World, name: str) -> dict[str, str]:
    """OID to `TAG|VALUE` of one switch's recording."""
    text = recording(world, world.switch(name), observe(world)[name])
    return dict(line.split("|", 1) for line in text.splitlines())


def arcs(mac: str) -> str:
    return ".".join(str(int(octet, 16)) for octet in mac.split(":"))


def test_rows_are_sorted_by_oid_as_numbers() -> None:
    world = station().build()
    text = recording(world, world.switch("wet-1"), observe(world)["wet-1"])
    oids = [tuple(map(int, line.partition("|")[0].split("."))) for line in text.splitlines()]
    assert oids == sorted(set(oids))


def test_the_forwarding_table_is_indexed_by_fdb_id_and_names_bridge_ports() -> None:
    # RFC 4363 dot1qTpFdbPort: index dot1qFdbId and address; the value is a dot1dBasePort.
    rows = rows_of(station(SLOTTED, NUMBERED).build(), "wet-1")
    second_vlan = 2 << 16
    assert rows[f"1.3.6.1.2.1.17.7.1.2.2.1.2.{second_vlan}.{arcs(TANK)}"] == "2|490"
    assert rows["1.3.6.1.2.1.17.1.4.1.2.490"] == "2|506"
    assert rows["1.3.6.1.2.1.31.1.1.1.1.506"] == "4|ge-0/0/0"
    assert rows["1.3.6.1.2.1.17.7.1.4.2.1.3.1280.10"] == f"66|{second_vlan}"  # dot1qVlanFdbId, TimeMark first


def test_the_switchs_own_address_is_on_port_0_with_status_self() -> None:
    # RFC 4188 dot1dTpFdbPort: 0 where the port is not learned; dot1dTpFdbStatus self(4).
    world = station().build()
    own = arcs(world.switch("img-1").mac)
    rows = rows_of(world, "img-1")
    assert rows[f"1.3.6.1.2.1.17.4.3.1.2.{own}"] == "2|0"
    assert rows[f"1.3.6.1.2.1.17.4.3.1.3.{own}"] == "2|4"


def test_a_port_list_has_the_lowest_port_in_the_most_significant_bit() -> None:
    # RFC 4363 PortList. VLAN 30 is on the trunks alone: ports 7 and 8.
    rows = rows_of(station().build(), "wet-1")
    assert rows["1.3.6.1.2.1.17.7.1.4.3.1.2.30"] == "4x|03"
    assert rows["1.3.6.1.2.1.17.7.1.4.3.1.2.10"] == "4x|ff"
    assert rows["1.3.6.1.2.1.17.7.1.4.3.1.4.10"] == "4x|fc"


def test_identifier_subtypes_differ_between_chassis_and_port() -> None:
    # IEEE 802.1AB: a MAC address is chassis subtype 4 and port subtype 3; a network address begins with its IANA
    # address family, 1 for IPv4.
    site = station()
    site.device(phone("phone", "00:04:13:8a:40:1d", 20, ip="10.20.20.31"), at=patch(site, 4), carries=True)
    rows = rows_of(site.build(), "wet-1")
    base = "1.0.8802.1.1.2.1.4.1.1"
    assert rows[f"{base}.4.0.4.1"] == "2|5"
    assert rows[f"{base}.5.0.4.1"] == "4x|010a14141f"
    assert rows[f"{base}.6.0.4.1"] == "2|3"
    assert rows[f"{base}.7.0.4.1"] == "4x|0004138a401d"
    assert rows[f"{base}.4.0.8.2"] == "2|4"  # the other switch


def test_capabilities_are_bits_from_the_most_significant_on() -> None:
    # LLDP-MIB lldpRemSysCapEnabled: bridge(2), router(4) is 28 00 as SNMP BITS; bridge and telephone(5) 24 00.
    site = station()
    site.device(phone("phone", "00:04:13:8a:40:1d", 20, ip="10.20.20.31"), at=patch(site, 4), carries=True)
    world = changes.change_switch(site.build(), "img-1", routes=True)
    rows = rows_of(world, "wet-1")
    assert rows["1.0.8802.1.1.2.1.4.1.1.12.0.8.2"] == "4x|2800"
    assert rows["1.0.8802.1.1.2.1.4.1.1.12.0.4.1"] == "4x|2400"


def test_speed_stands_in_both_columns() -> None:
    # RFC 2863: ifSpeed in bit/s, ifHighSpeed in 10^6 bit/s.
    rows = rows_of(station().build(), "wet-1")
    assert rows["1.3.6.1.2.1.2.2.1.5.10101"] == "66|1000000000"
    assert rows["1.3.6.1.2.1.31.1.1.1.15.10101"] == "66|1000"


def test_a_shut_port_is_down_twice() -> None:
    # RFC 2863: ifAdminStatus down(2), ifOperStatus down(2).
    rows = rows_of(changes.shut(station().build(), "wet-1:Gi1/0/3"), "wet-1")
    assert rows["1.3.6.1.2.1.2.2.1.7.10103"] == "2|2"
    assert rows["1.3.6.1.2.1.2.2.1.8.10103"] == "2|2"


def test_power_classes_are_coded_one_higher() -> None:
    # RFC 3621 pethPsePortPowerClassifications: class1(2); pethPsePortDetectionStatus deliveringPower(3).
    site = station()
    site.device(phone("phone", "00:04:13:8a:40:1d", 20, ip="10.20.20.31"), at=patch(site, 4), carries=True)
    rows = rows_of(changes.change_port(site.build(), "wet-1:Gi1/0/4", supplies_power=True), "wet-1")
    assert rows["1.3.6.1.2.1.105.1.1.1.10.1.4"] == "2|2"
    assert rows["1.3.6.1.2.1.105.1.1.1.6.1.4"] == "2|3"


def test_an_agent_of_one_context_per_vlan_shows_neither_stations_nor_ports_of_the_others() -> None:
    world = station(PER_CONTEXT).build()
    rows = rows_of(world, "wet-1")
    seen = [oid for oid in rows if oid.startswith("1.3.6.1.2.1.17.4.3.1.2.")]
    assert seen == sorted(f"1.3.6.1.2.1.17.4.3.1.2.{arcs(s.mac)}" for s in world.switches)
    assert f"1.3.6.1.2.1.17.4.3.1.2.{arcs(SCOPE)}" not in rows
    in_vlan_10 = recordings(world, observe(world))["wet-1@10.snmprec"]
    assert f"1.3.6.1.2.1.17.4.3.1.2.{arcs(SCOPE)}|2|8" in in_vlan_10
    listed = [oid for oid in rows if oid.startswith("1.3.6.1.2.1.17.1.4.1.2.")]
    assert listed == [f"1.3.6.1.2.1.17.1.4.1.2.{n}" for n in (7, 8)]


@pytest.mark.parametrize("dialect", [STACKED, OFFSET, SLOTTED])
def test_a_view_without_lldp_has_no_row_of_it(dialect: Dialect) -> None:
    rows = rows_of(station(replace(dialect, serves_lldp=False)).build(), "wet-1")
    assert not [oid for oid in rows if oid.startswith("1.0.8802.")]
