"""LLDP and CDP neighbours: identifiers, local ports and copies, by the standards and by what real agents send.

Quirk numbers are those of the project's catalogue of what recorded switches answer. Sources of the values:
IEEE 802.1AB-2005 (LLDP-MIB, subtypes), IEEE 802.1AB-2016 (LLDP-V2-MIB), RFC 2579 (BITS), RFC 4502 (TimeFilter),
ANSI/TIA-1057 (LLDP-MED), IANA address family numbers.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.snapshot import MAX_TEXT, CollectedSwitch, Table, TableState
from collectors.tables.text import bits, identifier, mac, text
from tests.collectors.mib_rows import ethernet, scalar, switch

CHASSIS = bytes.fromhex("8c604f19167c")


def remote(index: str = "0.1.1", **said: Any) -> dict[str, dict[str, Any]]:
    """One row of lldpRemTable; a MAC as chassis and an interface name as port unless told otherwise."""
    row = {"ChassisIdSubtype": 4, "ChassisId": CHASSIS, "PortIdSubtype": 5, "PortId": "Eth1/19"} | said
    return {f"lldpRem{name}": {index: value} for name, value in row.items() if value is not None}


def merged(*tables: dict[str, dict[Any, Any]]) -> dict[str, dict[Any, Any]]:
    """Several rows in the same columns."""
    together: dict[str, dict[Any, Any]] = {}
    for table in tables:
        for name, column in table.items():
            together[name] = together.get(name, {}) | column
    return together


def port_of(found: CollectedSwitch) -> str | None:
    (neighbour,) = found.neighbours
    return neighbour.port


def test_quirk_36_the_local_port_is_found_by_name_before_any_number() -> None:
    vlans = {"ifName": {1: "Vlan1", 10101: "Gi0/1"}, "ifType": {1: 53, 10101: 6}}
    found = switch(**vlans, lldpLocPortIdSubtype={1: 5}, lldpLocPortId={1: "Gi0/1"}, **remote("0.1.1"))
    assert port_of(found) == "Gi0/1"


def test_quirk_36_else_the_number_is_a_bridge_port_and_then_an_if_index() -> None:
    base = {"dot1dBasePortIfIndex": {97: 999001}}
    ports = {"ifName": {97: "Ethernet97", 98: "Ethernet98", 999001: "Management1"}}
    assert port_of(switch(**ports, **base, **remote("0.97.1"))) == "Management1"
    assert port_of(switch(**ports, **base, **remote("0.98.1"))) == "Ethernet98"
    assert port_of(switch(**ports, **base, **remote("0.99.1"))) is None


@pytest.mark.parametrize(
    ("kind", "port_id", "descr"),
    [
        (5, "Gi0/1", ""),
        (5, "GigabitEthernet0/1", "to the boat shed"),
        (7, "10101", "a name that a user gave"),
        (7, "1", "GigabitEthernet0/1"),
        (3, "00:00:5e:00:53:21", "uplink"),
        (3, bytes.fromhex("00005e005321"), ""),
    ],
    ids=["name", "long name", "ifIndex as text", "number and description", "MAC as text", "MAC as octets"],
)
def test_quirk_37_every_form_of_a_local_port_id_leads_to_its_port(kind: int, port_id: Any, descr: str) -> None:
    found = switch(
        ifName={10101: "Gi0/1", 10102: "Gi0/2"},
        ifPhysAddress={10101: bytes.fromhex("00005e005321"), 10102: bytes.fromhex("00005e005322")},
        lldpLocPortIdSubtype={7: kind},
        lldpLocPortId={7: port_id},
        lldpLocPortDesc={7: descr},
        **remote("0.7.1"),
    )
    assert port_of(found) == "Gi0/1"


def test_quirk_37_an_address_that_all_ports_share_leads_to_none_of_them() -> None:
    shared = bytes.fromhex("00005e005321")
    found = switch(
        ifName={10: "a", 11: "b"},
        ifPhysAddress={10: shared, 11: shared},
        lldpLocPortIdSubtype={7: 3},
        lldpLocPortId={7: shared},
        **remote("0.7.1"),
    )
    assert port_of(found) is None


def test_quirk_38_a_mac_in_ascii_and_one_in_octets_are_the_same() -> None:
    assert identifier("macAddress", b"8c:60:4f:19:16:7c") == identifier("macAddress", CHASSIS) == "8c:60:4f:19:16:7c"
    found = switch(lldpLocChassisIdSubtype=scalar(4), lldpLocChassisId=scalar("8c:60:4f:19:16:7c"))
    assert found.chassis_id == "8c:60:4f:19:16:7c"


def test_quirk_39_a_chassis_id_that_is_a_port_address_is_told_with_the_name_that_links_it() -> None:
    found = switch(**ethernet("17"), **remote("0.1.1", SysName="NWPU-CA-5548-01", PortDesc="Ethernet1/19"))
    (neighbour,) = found.neighbours
    assert (neighbour.system_name, neighbour.port_id, neighbour.port_description) == (
        "NWPU-CA-5548-01", "Eth1/19", "Ethernet1/19",
    )  # fmt: skip


def cdp(index: str = "1.1", **said: Any) -> dict[str, dict[str, Any]]:
    """One row of cdpCacheTable."""
    row = {"DeviceId": "NWPU-CA-5548-01(SSI183706KP)", "DevicePort": "Ethernet1/19"} | said
    return {f"cdpCache{name}": {index: value} for name, value in row.items()}


def test_quirk_40_copies_between_lldp_and_cdp_tell_of_one_neighbour() -> None:
    copied = remote(
        "0.1.2", ChassisIdSubtype=7, ChassisId="NWPU-CA-5548-01(SSI183706KP)", PortIdSubtype=7, PortId="Ethernet1/19"
    )
    found = switch(
        **ethernet("17"),
        **merged(remote("0.1.1", SysName="NWPU-CA-5548-01"), copied),
        **merged(cdp("1.1", DeviceId=CHASSIS, DevicePort="Eth1/19"), cdp("1.2")),
    )
    assert [(n.protocol, n.chassis_id_kind, n.repeats) for n in found.neighbours] == [
        ("lldp", "macAddress", False),
        ("lldp", "local", True),
    ]


def test_quirk_40_a_cdp_neighbour_that_lldp_does_not_know_is_kept() -> None:
    found = switch(
        **ethernet("17", "18"),
        **remote("0.1.1", SysName="NWPU-CA-5548-01"),
        **merged(cdp("1.1", DeviceId="wetlab-ap1", DevicePort="GigabitEthernet0"), cdp("2.1")),
    )
    assert [(n.protocol, n.port, n.system_name) for n in found.neighbours] == [
        ("lldp", "17", "NWPU-CA-5548-01"),
        ("cdp", "17", "wetlab-ap1"),
        ("cdp", "18", "NWPU-CA-5548-01"),
    ]


def test_quirk_40_names_that_differ_behind_the_sixteenth_octet_are_different_neighbours() -> None:
    one, other = "E-DJ-3F-309indoor-1", "E-DJ-3F-309indoor-2"
    found = switch(
        **ethernet("1"), **remote(SysName=one, PortId="GigabitEthernet0"), **cdp(DeviceId=other, DevicePort="Gi0")
    )
    assert len(found.neighbours) == 2
    cut = switch(
        **ethernet("1"), **remote(SysName=one[:16], PortId="GigabitEthernet0"), **cdp(DeviceId=one, DevicePort="Gi0")
    )
    assert len(cut.neighbours) == 1


def test_quirk_41_padding_is_dropped_and_a_cut_name_is_kept_as_it_came() -> None:
    found = switch(**remote(PortId=b"mgmt0" + bytes(11), SysName=b"WLAN.S2928G-24P.", PortDesc=b"uplink \0"))
    (neighbour,) = found.neighbours
    assert (neighbour.port_id, neighbour.system_name, neighbour.port_description) == (
        "mgmt0", "WLAN.S2928G-24P.", "uplink",
    )  # fmt: skip


def test_quirk_41_neighbours_of_one_cut_name_are_told_apart_by_chassis() -> None:
    two = merged(
        remote("0.1.1", SysName="WLAN.S2928G-24P."),
        remote("0.1.2", SysName="WLAN.S2928G-24P.", ChassisId=b"\0" * 5 + b"\1"),
    )
    assert len(switch(**two).neighbours) == 2


def test_quirk_42_text_that_is_not_utf_8_is_read_as_gb_18030_and_kept_raw() -> None:
    octets = bytes.fromhex("cde2cac2c2a52d5335383030")
    (neighbour,) = switch(**remote(SysName=octets)).neighbours
    assert neighbour.system_name == "外事楼-S5800"
    assert neighbour.raw == {"system_name": octets.hex()}


@given(st.binary(max_size=200))
def test_quirk_42_no_octets_make_the_reader_stumble(octets: bytes) -> None:
    text(octets).encode("utf-8")
    for kind in ("", "macAddress", "networkAddress", "local"):
        identifier(kind, octets).encode("utf-8")
    switch(**remote(ChassisId=octets, PortId=octets, SysName=octets, PortDesc=octets, SysCapEnabled=octets))


def test_a_neighbour_that_never_stops_talking_is_cut() -> None:
    (neighbour,) = switch(**remote(SysName=b"x" * 100_000, ChassisIdSubtype=7, ChassisId=b"y" * 100_000)).neighbours
    assert (len(neighbour.system_name), len(neighbour.chassis_id)) == (MAX_TEXT, MAX_TEXT)


def test_quirk_43_the_time_mark_is_no_part_of_a_neighbours_identity() -> None:
    addresses = {"lldpRemManAddrIfSubtype": {"3595210.581.39.1.4.10.40.1.19": 2}}
    found = switch(ifName={581: "xe-1/2/0"}, **remote("3595148.581.39"), **addresses)
    assert found.neighbours[0].management_addresses == ["10.40.1.19"]


def test_quirk_43_the_same_row_under_several_time_marks_is_one_neighbour() -> None:
    """RFC 4502, TimeFilter: a walk may return every instance of a row, one per TimeMark."""
    found = switch(**merged(*(remote(f"{mark}.1.1") for mark in (3, 4, 5))))
    assert len(found.neighbours) == 1


def test_a_published_row_index_is_time_mark_local_port_and_remote_index() -> None:
    """lldpRemChassisId.109450360.6.8 as seen in a public paste of a walk (W13 of the values collected for tests)."""
    assert port_of(switch(ifName={6: "Gi6", 8: "Gi8"}, **remote("109450360.6.8"))) == "Gi6"


def test_quirk_44_several_neighbours_on_one_port_and_one_neighbour_on_two_are_all_kept() -> None:
    other = bytes.fromhex("00005e005301")
    rows = merged(remote("0.1.1"), remote("0.1.2", ChassisId=other, PortIdSubtype=3, PortId=other), remote("0.2.1"))
    found = switch(**ethernet("a", "b"), **rows)
    assert [(n.port, n.chassis_id) for n in found.neighbours] == [
        ("a", "8c:60:4f:19:16:7c"),
        ("a", "00:00:5e:00:53:01"),
        ("b", "8c:60:4f:19:16:7c"),
    ]
    assert found.neighbours[1].port_id == "00:00:5e:00:53:01"


def test_quirk_45_a_remote_port_id_that_is_its_own_if_index_stays_as_it_was_said() -> None:
    (neighbour,) = switch(**remote(PortIdSubtype=7, PortId="642")).neighbours
    assert (neighbour.port_id, neighbour.port_id_kind) == ("642", "local")


@pytest.mark.parametrize("octets", [b"\x28", b"\x28\0", b"\x28\0\0\0"], ids=["one", "two", "four"])
def test_quirk_46_capabilities_are_in_the_first_octet_of_any_number(octets: bytes) -> None:
    """RFC 2579 BITS: bit 0 is the most significant; bridge(2) and router(4) are 28 hex."""
    assert switch(**remote(SysCapEnabled=octets)).neighbours[0].capabilities == ["bridge", "router"]


def test_quirk_46_capabilities_that_are_not_told_are_unknown_and_not_none() -> None:
    assert switch(**remote()).neighbours[0].capabilities is None
    assert switch(**remote(SysCapEnabled=b"\1")).neighbours[0].capabilities == ["stationOnly"]
    assert switch(**remote(SysCapEnabled=b"\0")).neighbours[0].capabilities == []


def test_quirk_46_management_addresses_are_ip_addresses() -> None:
    mac_, v4, v6 = "6.6.0.0.94.0.83.1", "1.4.192.0.2.7", "2.16.32.1.13.184.0.0.0.0.0.0.0.0.0.0.0.1"
    rows = {f"0.1.1.{address}": 2 for address in (mac_, v4, v6, "1.3.192.0.2", "1", "1.4.192.0.2.999")}
    found = switch(**remote("0.1.1"), lldpRemManAddrIfSubtype=rows)
    assert found.neighbours[0].management_addresses == ["192.0.2.7", "2001:db8::1"]


@pytest.mark.parametrize(
    ("kind", "octets", "expected"),
    [
        ("networkAddress", bytes.fromhex("01c0a8010a"), "192.168.1.10"),  # IEEE 802.1AB: address family, address
        ("networkAddress", bytes.fromhex("02" + "20010db8" + "00" * 11 + "01"), "2001:db8::1"),
        ("macAddress", CHASSIS, "8c:60:4f:19:16:7c"),
        ("interfaceName", b"ge-0/0/1", "ge-0/0/1"),
        ("local", b"Switch of the wet lab", "Switch of the wet lab"),
    ],
)
def test_identifiers_are_read_by_their_subtype(kind: str, octets: bytes, expected: str) -> None:
    assert identifier(kind, octets) == expected


@pytest.mark.parametrize(
    ("number", "chassis", "port"),
    [
        (1, "chassisComponent", "interfaceAlias"),
        (2, "interfaceAlias", "portComponent"),
        (3, "portComponent", "macAddress"),
        (4, "macAddress", "networkAddress"),
        (5, "networkAddress", "interfaceName"),
        (6, "interfaceName", "agentCircuitId"),
        (7, "local", "local"),
        (9, "", ""),
    ],
)
def test_chassis_and_port_subtypes_are_numbered_apart(number: int, chassis: str, port: str) -> None:
    """IEEE 802.1AB-2005: 4 is a MAC for a chassis, 3 for a port."""
    (neighbour,) = switch(**remote(ChassisIdSubtype=number, PortIdSubtype=number)).neighbours
    assert (neighbour.chassis_id_kind, neighbour.port_id_kind) == (chassis, port)


def test_bits_are_counted_from_the_most_significant() -> None:
    """RFC 2579 BITS, RFC 4363 PortList: A0 is bits 0 and 2, 00 01 is bit 15."""
    assert bits(b"\xa0") == {0, 2}
    assert bits(b"\0\1") == {15}


def test_a_torn_row_without_chassis_and_port_is_no_neighbour() -> None:
    assert switch(**remote(ChassisId=None, PortId=None, SysName="half a row")).neighbours == []


def test_extensions_add_vlan_medium_and_inventory() -> None:
    found = switch(
        **remote("0.1.1"),
        lldpXdot1RemPortVlanId={"0.1.1": 30},
        lldpXdot3RemPortOperMauType={"0.1.1": 30},
        lldpXMedRemSerialNum={"0.1.1": "SN 7"},
        lldpXMedRemMfgName={"0.1.1": "Maker"},
        lldpXMedRemModelName={"0.1.1": "Phone 3"},
    )
    (neighbour,) = found.neighbours
    assert (neighbour.pvid, neighbour.mau_type, neighbour.serial, neighbour.maker, neighbour.model) == (
        30, 30, "SN 7", "Maker", "Phone 3",
    )  # fmt: skip


def test_an_unlisted_medium_is_unknown() -> None:
    """IEEE 802.1AB-2005 annex G: lldpXdot3RemPortOperMauType is 0 for a type that is not listed."""
    assert switch(**remote("0.1.1"), lldpXdot3RemPortOperMauType={"0.1.1": 0}).neighbours[0].mau_type is None


def test_the_newer_mib_has_the_if_index_second_and_the_row_last() -> None:
    """IEEE 802.1AB-2016 lldpV2RemTable: TimeMark, LocalIfIndex, LocalDestMACAddress, RemIndex."""
    found = switch(
        ifName={3: "Gi3", 7: "Gi7"},
        dot1dBasePortIfIndex={7: 3},
        lldpV2RemChassisIdSubtype={"0.7.1.1": 4},
        lldpV2RemChassisId={"0.7.1.1": CHASSIS},
        lldpV2RemPortIdSubtype={"0.7.1.1": 5},
        lldpV2RemPortId={"0.7.1.1": "Gi1"},
        lldpV2RemSysName={"0.7.1.1": "boatshed-sw1"},
        lldpV2RemManAddrIfSubtype={"0.7.1.1.1.4.192.0.2.9": 2},
    )
    (neighbour,) = found.neighbours
    assert (neighbour.port, neighbour.chassis_id, neighbour.management_addresses) == (
        "Gi7", "8c:60:4f:19:16:7c", ["192.0.2.9"],
    )  # fmt: skip


def test_a_neighbour_that_both_mibs_list_is_one() -> None:
    newer = {"lldpV2RemChassisIdSubtype": {"0.1.1.1": 4}, "lldpV2RemChassisId": {"0.1.1.1": CHASSIS}}
    newer |= {"lldpV2RemPortIdSubtype": {"0.1.1.1": 5}, "lldpV2RemPortId": {"0.1.1.1": "Eth1/19"}}
    assert len(switch(**ethernet("1"), **remote("0.1.1"), **newer).neighbours) == 1


def test_a_table_that_was_full_proves_no_absence() -> None:
    """lldpStatsRemTablesDrops, IEEE 802.1AB-2005: neighbours not stored for lack of space."""
    found = switch(**remote(), lldpStatsRemTablesDrops=scalar(5))
    assert found.report(Table.NEIGHBOURS).partial.startswith("the table was full: 5 neighbours")


def test_lldp_that_hears_nobody_is_empty_and_a_switch_without_it_does_not_serve_it() -> None:
    """LLDP lies outside 1.3.6.1: a view of that subtree hides it, which is not the same as no neighbour."""
    hears_nobody = switch(
        lldpLocChassisIdSubtype=scalar(4), lldpLocChassisId=scalar(CHASSIS), lldpLocSysName=scalar("x")
    )
    assert hears_nobody.report(Table.NEIGHBOURS).state is TableState.EMPTY
    without = switch(**ethernet("1")).report(Table.NEIGHBOURS)
    assert (without.state, without.whole) == (TableState.NOT_SERVED, False)
    assert "hidden by the view" in without.reason


def test_cdp_alone_does_not_show_who_speaks_lldp() -> None:
    assert not switch(**ethernet("1"), **cdp()).report(Table.NEIGHBOURS).whole


def test_an_all_zero_chassis_id_is_none() -> None:
    assert switch(lldpLocChassisIdSubtype=scalar(4), lldpLocChassisId=scalar(bytes(6))).chassis_id == ""


@pytest.mark.parametrize("octets", [b"", b"12345", b"1234567", b"not a mac at all!"])
def test_what_is_no_address_is_none(octets: bytes) -> None:
    assert mac(octets) is None
