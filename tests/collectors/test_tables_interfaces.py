"""Interfaces, duplex, power, addresses, aggregates, hardware: as the MIBs say, and as real agents fill them.

Quirk numbers are those of the project's catalogue of what recorded switches answer. Sources of the values: RFC 2863
(IF-MIB), RFC 3635 (EtherLike-MIB), RFC 4836 (MAU-MIB), RFC 3621 (POWER-ETHERNET-MIB), RFC 4293 (IP-MIB),
IEEE 802.3ad (IEEE8023-LAG-MIB), RFC 6933 (ENTITY-MIB), RFC 2579 (TimeTicks).
"""

from __future__ import annotations

from typing import Any

import pytest

from collectors.snapshot import Port, Table, TableState
from collectors.tables.interfaces import speed_mbps
from collectors.tables.mib import OBJECTS
from tests.collectors.mib_rows import answers, ethernet, port, scalar, switch


@pytest.mark.parametrize(
    ("if_speed", "if_high_speed", "expected"),
    [
        (4294967295, 10000, 10000),  # RFC 2863: ifSpeed at its maximum, ifHighSpeed tells
        (2500000000, 2500, 2500),  # 2.5 Gb/s still fits
        (4294967295, 5000, 5000),  # 5 Gb/s does not
        (1000000000, None, 1000),
        (10000000, None, 10),
        (0, 0, None),
        (None, None, None),
    ],
)
def test_the_speed_is_in_megabits_a_second(
    if_speed: int | None, if_high_speed: int | None, expected: int | None
) -> None:
    assert speed_mbps(if_speed, if_high_speed) == expected


def test_quirk_21_a_high_speed_in_bits_a_second_is_known_by_its_size() -> None:
    assert [speed_mbps(None, value) for value in (10_000_000, 100_000_000, 1_000_000_000)] == [10, 100, 1000]
    found = switch(**ethernet("1/25"), ifHighSpeed={1: 1_000_000_000})
    assert "gives ifHighSpeed in bit/s: divided by a million" in found.oddities


def test_quirk_22_a_high_speed_that_is_absent_or_zero_yields_to_if_speed() -> None:
    assert speed_mbps(100_000_000, None) == 100
    assert speed_mbps(100_000_000, 0) == 100


def test_quirk_23_a_wrapped_if_speed_yields_and_a_saturated_one_alone_says_nothing() -> None:
    assert speed_mbps(1_410_065_408, 10_000) == 10_000  # 10^10 mod 2^32
    assert speed_mbps(4_294_967_295, 20_000) == 20_000
    assert speed_mbps(4_294_967_295, None) is None


def test_quirk_24_without_an_ifx_table_names_come_from_the_description() -> None:
    found = switch(ifDescr={7: "GigabitEthernet 1/1/1"}, ifOperStatus={7: 1}, ifInOctets={7: 5}, ifSpeed={7: 10**9})
    assert (found.ports[0].name, found.ports[0].speed_mbps) == ("GigabitEthernet 1/1/1", 1000)
    assert found.ports[0].counters == {"in_octets": 5}
    assert any("no ifXTable" in oddity for oddity in found.oddities)


def test_quirk_24_a_short_name_meets_the_long_one_with_a_blank() -> None:
    found = switch(
        ifDescr={7: "GigabitEthernet 1/1/1"},
        lldpLocPortId={900: "Gi1/1/1"},
        lldpRemChassisId={"0.900.1": "box"},
    )
    assert found.neighbours[0].port == "GigabitEthernet 1/1/1"


@pytest.mark.parametrize("if_type", [6, 117, 2, 56, 53, 1, 135, 136, 142])
def test_quirk_25_an_interface_is_kept_whatever_type_it_claims(if_type: int) -> None:
    found = switch(ifName={1: "x"}, ifType={1: if_type})
    assert (found.ports[0].name, found.ports[0].if_type) == ("x", if_type)


def test_quirk_26_connector_present_is_passed_on_as_the_hint_that_it_is() -> None:
    found = switch(ifName={1: "Te1", 2: "Vlan1", 3: "Te3"}, ifConnectorPresent={1: 2, 2: 1})
    assert [found_port.connector for found_port in found.ports] == [False, True, None]


def test_quirk_27_a_doubled_name_gets_its_if_index_and_padding_is_dropped() -> None:
    found = switch(
        ifName={4170: "lo0", 4179: "lo0", 5: "TP1\0\0", 6: "", 7: ""},
        ifDescr={5: "Port 1 ", 6: " eth6 ", 7: ""},
        ifAlias={5: '"quoted"'},
    )
    assert [found_port.name for found_port in found.ports] == ["TP1", "eth6", "#7", "lo0", "lo0#4179"]
    assert (port(found, "TP1").descr, port(found, "TP1").alias) == ("Port 1", '"quoted"')


def test_names_are_unique_whatever_interfaces_are_called() -> None:
    found = switch(ifName={1: "a#3", 2: "a", 3: "a"})
    assert [found_port.name for found_port in found.ports] == ["a#3", "a", "a#3#3"]


def test_quirk_27_if_name_goes_before_a_description_that_says_more() -> None:
    found = switch(ifName={1: "xgei-0/1/0/1"}, ifDescr={1: "xgei-0/1/0/1 To-M480"})
    assert found.ports[0].name == "xgei-0/1/0/1"


def test_quirk_28_all_states_of_rfc_2863_are_told() -> None:
    states = {1: "up", 2: "down", 3: "testing", 4: "unknown", 5: "dormant", 6: "notPresent", 7: "lowerLayerDown"}
    found = switch(ifName={n: str(n) for n in (*states, 8)}, ifOperStatus={**{n: n for n in states}, 8: 99})
    assert [found_port.oper for found_port in found.ports] == [*states.values(), None]
    admin = switch(ifName={n: str(n) for n in (1, 2, 3)}, ifAdminStatus={1: 1, 2: 2, 3: 3})
    assert [found_port.admin for found_port in admin.ports] == ["up", "down", "testing"]


def test_quirk_29_the_number_of_interfaces_is_counted_not_read() -> None:
    assert "ifNumber" not in OBJECTS
    assert len(switch(**ethernet("1", "2", "3")).ports) == 3


def test_quirk_30_huge_and_sparse_indexes_are_ordinary() -> None:
    found = switch(ifName={436207616: "Ethernet1/1", 1073741824: "0/0", 4294967295: "last"})
    assert [found_port.if_index for found_port in found.ports] == [436207616, 1073741824, 4294967295]


def test_quirk_31_a_row_without_some_columns_is_a_port_with_less_known() -> None:
    found = switch(ifName={1: "StackPort1"}, ifDescr={2: "StackSub-St1-1"}, ifHCInOctets={1: 7})
    assert [(p.name, p.counters, p.oper) for p in found.ports] == [
        ("StackPort1", {"in_octets": 7}, None),
        ("StackSub-St1-1", {}, None),
    ]


@pytest.mark.parametrize(
    ("changed", "uptime", "seconds"),
    [
        (500, 1500, 10.0),
        (0, 1500, None),  # RFC 2863: before the agent started, not "never"
        (None, 1500, None),
        (500, None, None),
        (1500 + 307_300, 1500, 0.0),  # recorded: 3073 s ahead of sysUpTime, the reading took that long
        (4_294_967_000, 500, 7.96),  # RFC 2579 TimeTicks wrap at 2^32, 497.10 days
    ],
)
def test_quirk_32_the_age_of_a_state_is_unknown_or_clamped_and_never_negative(
    changed: int | None, uptime: int | None, seconds: float | None
) -> None:
    assert Port(name="1", last_change_ticks=changed).seconds_in_state(uptime) == seconds


def test_quirk_33_duplex_is_found_under_an_index_with_a_zero_behind() -> None:
    found = switch(**ethernet("a", "b", "c"), dot3StatsDuplexStatus={"1.0": 3, "2": 2, "3": 1})
    assert [found_port.duplex for found_port in found.ports] == ["full", "half", "unknown"]


def test_quirk_33_a_missing_duplex_column_leaves_duplex_unknown() -> None:
    assert switch(**ethernet("a")).ports[0].duplex is None


def test_quirk_34_numbers_count_whatever_type_they_come_in_and_null_does_not() -> None:
    found = switch(**ethernet("a") | {"ifSpeed": {1: None}, "ifHighSpeed": {1: 100}, "ifLastChange": {1: "soon"}})
    assert (found.ports[0].speed_mbps, found.ports[0].last_change_ticks) == (100, None)


@pytest.mark.parametrize(
    ("octets", "mac"),
    [(b"", None), (b"10000", None), (b"\0\x1a\xa9\xc5\x28\x73", "00:1a:a9:c5:28:73"), (bytes(8), None)],
)
def test_quirk_35_only_six_octets_are_an_interface_address(octets: bytes, mac: str | None) -> None:
    assert switch(ifName={1: "a"}, ifPhysAddress={1: octets}).ports[0].mac == mac


def test_quirk_35_six_blanks_and_group_addresses_are_nobodys_own() -> None:
    found = switch(
        ifName={1: "MGMT", 2: "a", 3: "b", 4: "c"},
        ifPhysAddress={1: b"      ", 2: bytes(6), 3: b"\1\0\x5e\0\0\1", 4: b"\0\0\x5e\0\x53\1"},
        dot1dBaseBridgeAddress=scalar(b"\0\0\x5e\0\x53\x0f"),
        lldpLocChassisIdSubtype=scalar(4),
        lldpLocChassisId=scalar(b"\0\0\x5e\0\x53\x10"),
    )
    assert found.own_macs == ["00:00:5e:00:53:01", "00:00:5e:00:53:0f", "00:00:5e:00:53:10"]


def test_error_counters_and_medium_are_read_by_interface() -> None:
    found = switch(
        **ethernet("a"),
        dot3StatsFCSErrors={1: 4},
        dot3StatsLateCollisions={1: 9},
        ifInErrors={1: 13},
        ifMauType={"1.1": (1, 3, 6, 1, 2, 1, 26, 4, 30), "1.2": (1, 3, 6, 1, 2, 1, 26, 4, 16)},  # RFC 4836: 1000BASE-T
        ifMauAutoNegAdminStatus={"1.1": 1},
    )
    assert found.ports[0].counters == {"in_errors": 13, "fcs_errors": 4, "late_collisions": 9}
    assert (found.ports[0].mau_type, found.ports[0].auto_negotiation) == (30, True)


ARP: dict[str, Any] = {"ifName": {5: "Vlan5"}}


def test_quirk_47_a_row_under_interface_0_yields_to_the_one_that_has_a_real_interface() -> None:
    mac = b"\0\0\x5e\0\x53\1"
    found = switch(
        **ARP,
        ipNetToMediaPhysAddress={"0.192.0.2.1": mac, "5.192.0.2.1": mac, "0.192.0.2.2": mac},
        ipNetToMediaType={"0.192.0.2.1": 4, "5.192.0.2.1": 4, "0.192.0.2.2": 4},
    )
    assert [(a.ip, a.port) for a in found.addresses] == [("192.0.2.1", "Vlan5"), ("192.0.2.2", None)]


def test_quirk_47_group_own_and_invalid_rows_are_no_stations() -> None:
    mac = b"\0\0\x5e\0\x53\1"
    found = switch(
        **ARP,
        ipNetToMediaPhysAddress={
            "5.192.0.2.0": b"\xff" * 6,
            "5.192.0.2.1": mac,
            "5.192.0.2.2": mac,
            "5.192.0.2.3": mac,
        },
        ipNetToMediaType={"5.192.0.2.0": 1, "5.192.0.2.1": 1, "5.192.0.2.2": 2, "5.192.0.2.3": 3},
    )
    assert [a.ip for a in found.addresses] == ["192.0.2.3"]


def test_quirk_47_both_tables_are_read_and_an_index_without_its_length_is_skipped() -> None:
    mac = b"\0\0\x5e\0\x53\1"
    found = switch(
        **ARP,
        ipNetToMediaPhysAddress={"5.192.0.2.1": mac},
        ipNetToPhysicalPhysAddress={
            "5.1.4.192.0.2.1": mac,
            "5.2.16.32.1.13.184.0.0.0.0.0.0.0.0.0.0.0.1": mac,
            "4318.1.172.16.220.1": mac,
            "5.1.4.192.0.2.7": mac,
        },
        ipNetToPhysicalType={"5.1.4.192.0.2.7": 5},
    )
    assert [(a.ip, a.port) for a in found.addresses] == [("192.0.2.1", "Vlan5"), ("2001:db8::1", "Vlan5")]


def test_a_neighbour_that_was_asked_for_and_did_not_answer_is_none() -> None:
    """ipNetToPhysicalState incomplete(7), RFC 4293."""
    index = "5.1.4.192.0.2.1"
    found = switch(
        **ARP,
        ipNetToPhysicalPhysAddress={index: b"\0\0\x5e\0\x53\1"},
        ipNetToPhysicalState={index: 7},
    )
    assert found.addresses == []


LAG: dict[str, Any] = {
    "ifName": {1: "Ethernet1/1", 2: "Ethernet1/2", 50: "port-channel1"},
    "ifType": {1: 6, 2: 6, 50: 161},
}


def test_quirk_49_members_are_told_by_the_aggregate_they_are_attached_to() -> None:
    found = switch(**LAG, dot3adAggPortAttachedAggID={1: 50, 2: 0})
    assert [found_port.aggregate for found_port in found.ports] == ["port-channel1", None, None]


def test_quirk_49_a_port_attached_to_itself_or_to_nothing_that_exists_is_no_member() -> None:
    found = switch(**LAG, dot3adAggPortAttachedAggID={1: 1, 2: 1879081088})
    assert not any(found_port.aggregate for found_port in found.ports)
    assert found.report(Table.AGGREGATION).state is TableState.EMPTY


@pytest.mark.parametrize(
    ("name", "if_type", "member"),
    [("Port-Channel1", 161, True), ("Eth-Trunk3", 53, True), ("Vlan20", 135, False), ("Vlan20", 53, False)],
)
def test_quirk_49_what_is_stacked_on_a_port_is_its_aggregate_only_if_it_is_one(
    name: str, if_type: int, member: bool
) -> None:
    found = switch(ifName={1: "Ethernet47", 9: name}, ifType={1: 6, 9: if_type}, ifStackStatus={"9.1": 1, "0.9": 1})
    assert port(found, "Ethernet47").aggregate == (name if member else None)


def test_quirk_51_chassis_and_parts_with_a_serial_number_are_told() -> None:
    found = switch(
        entPhysicalClass={1: 3, 2: 3, 3: 10, 4: 9, 5: 6},
        entPhysicalSerialNum={1: "FOC1408Z61U", 2: "", 3: "", 4: "AB12 ", 5: "PS1"},
        entPhysicalModelName={1: "WS-C3560"},
        entPhysicalParentRelPos={1: -1, 4: 3},
    )
    assert [(part.kind, part.serial, part.position) for part in found.hardware] == [
        ("chassis", "FOC1408Z61U", None),
        ("chassis", "", None),
        ("module", "AB12", 3),
        ("powerSupply", "PS1", None),
    ]


def test_quirk_51_an_agent_without_a_chassis_has_none() -> None:
    assert switch(entPhysicalClass={1: 10, 2: 11}).hardware[0].kind == "stack"  # RFC 6933: port(10), stack(11)


def test_quirk_52_without_the_standard_power_table_nothing_is_said_of_power() -> None:
    found = switch(**ethernet("1"))
    assert found.ports[0].power is None
    assert found.report(Table.POWER).state is TableState.NOT_SERVED


POWERED: dict[str, Any] = {
    "pethPsePortAdminEnable": {"1.1": 1, "1.2": 1, "1.3": 2},
    "pethPsePortDetectionStatus": {"1.1": 3, "1.2": 2, "1.3": 1},
    "pethPsePortPowerPriority": {"1.1": 1, "1.2": 3},
    "pethPsePortPowerClassifications": {"1.1": 5, "1.2": 5},
    "pethMainPsePower": {"1": 370},
    "pethMainPseConsumptionPower": {"1": 45},
    "pethMainPseOperStatus": {"1": 1},
    "pethMainPseUsageThreshold": {"1": 80},
}


def test_power_of_a_port_is_told_with_its_class_only_while_it_is_delivered() -> None:
    """RFC 3621: deliveringPower(3), searching(2); class4 is 5; watts are whole."""
    found = switch(**ethernet("1", "2", "3"), **POWERED)
    powers = [found_port.power for found_port in found.ports]
    assert [(p.state, p.power_class, p.enabled, p.priority) for p in powers if p] == [
        ("deliveringPower", 4, True, "critical"),
        ("searching", None, True, "low"),
        ("disabled", None, False, None),
    ]
    assert [(g.group, g.budget_watts, g.used_watts, g.state, g.warn_percent) for g in found.power_groups] == [
        (1, 370, 45, "on", 80)
    ]
    assert found.report(Table.POWER).rows == 4


def test_power_is_booked_by_the_numbers_in_the_names_of_a_stack() -> None:
    found = switch(
        ifName={10101: "Gi1/0/1", 10102: "Gi1/0/2", 10601: "Gi2/0/1"},
        ifType=dict.fromkeys((10101, 10102, 10601), 6),
        pethPsePortDetectionStatus={"1.1": 3, "1.2": 2, "2.1": 4},
    )
    states = [found_port.power.state if found_port.power else None for found_port in found.ports]
    assert states == ["deliveringPower", "searching", "fault"]


def test_power_is_booked_one_back_where_names_count_from_zero() -> None:
    """RFC 3621: pethPsePortIndex counts from 1; names such as ge-0/0/0 count from 0."""
    found = switch(
        ifName={501: "ge-0/0/0", 502: "ge-0/0/1", 503: "ge-0/0/2"},
        ifType=dict.fromkeys((501, 502, 503), 6),
        pethPsePortDetectionStatus={"1.1": 2, "1.2": 3, "1.3": 2},
    )
    assert [found_port.power and found_port.power.state for found_port in found.ports] == [
        "searching",
        "deliveringPower",
        "searching",
    ]


def test_power_that_no_name_claims_alone_is_booked_by_index_where_all_are() -> None:
    found = switch(
        ifName={1: "gi1", 2: "gi2", 3: "te1"},
        ifType={1: 6, 2: 6, 3: 6},
        pethPsePortDetectionStatus={"1.1": 3, "1.2": 2},
    )
    assert [bool(found_port.power) for found_port in found.ports] == [True, True, False]


def test_spanning_tree_states_are_those_of_rfc_4188_by_bridge_port() -> None:
    found = switch(
        ifName={n: f"Gi{n}" for n in range(11, 17)},
        dot1dBasePortIfIndex={n: n + 10 for n in range(1, 7)},
        dot1dStpPortState={n: n for n in range(1, 7)},
        dot1dStpTopChanges=scalar(3),
        dot1dStpTimeSinceTopologyChange=scalar(9000),
    )
    expected = ["disabled", "blocking", "listening", "learning", "forwarding", "broken"]
    assert [found_port.spanning_tree for found_port in found.ports] == expected
    assert (found.topology_changes, found.topology_change_ticks) == (3, 9000)


def test_quirk_55_a_switch_with_the_system_group_alone_is_a_clean_result() -> None:
    found = switch(sysDescr=scalar("H3C"), sysUpTime=scalar(1), sysObjectID=scalar((1, 3, 6, 1, 4, 1)))
    assert (found.system.descr, found.system.object_id, found.ports) == ("H3C", "1.3.6.1.4.1", [])
    assert found.report(Table.SYSTEM).state is TableState.READ
    assert found.report(Table.INTERFACES).state is TableState.NOT_SERVED
    assert "serves no interface table: nothing can be said about its ports" in found.oddities


def test_quirk_56_a_text_is_kept_as_it_was_said_quotes_included() -> None:
    assert switch(sysDescr=scalar('"Nexus Software 6.0(2)')).system.descr == '"Nexus Software 6.0(2)'


@pytest.mark.parametrize(
    ("name", "oid"),
    [
        ("ifHighSpeed", "1.3.6.1.2.1.31.1.1.1.15"),  # RFC 2863
        ("ifAlias", "1.3.6.1.2.1.31.1.1.1.18"),
        ("lldpRemChassisId", "1.0.8802.1.1.2.1.4.1.1.5"),  # IEEE 802.1AB-2005
        ("lldpRemPortId", "1.0.8802.1.1.2.1.4.1.1.7"),
        ("lldpV2RemChassisId", "1.3.111.2.802.1.1.13.1.4.1.1.6"),  # IEEE 802.1AB-2016
        ("lldpXMedRemSerialNum", "1.0.8802.1.1.2.1.5.4795.1.3.3.1.4"),  # ANSI/TIA-1057
        ("entPhysicalSerialNum", "1.3.6.1.2.1.47.1.1.1.1.11"),  # RFC 6933
        ("dot1dBasePortIfIndex", "1.3.6.1.2.1.17.1.4.1.2"),  # RFC 4188
        ("dot3adAggPortAttachedAggID", "1.2.840.10006.300.43.1.2.1.1.13"),  # IEEE8023-LAG-MIB
        ("pethMainPsePower", "1.3.6.1.2.1.105.1.3.1.1.2"),  # RFC 3621
        ("dot3StatsDuplexStatus", "1.3.6.1.2.1.10.7.2.1.19"),  # RFC 3635
        ("ipNetToPhysicalPhysAddress", "1.3.6.1.2.1.4.35.1.4"),  # RFC 4293
    ],
)
def test_objects_have_their_published_identifiers(name: str, oid: str) -> None:
    assert ".".join(map(str, OBJECTS[name])) == oid


def test_an_object_that_nobody_declared_is_an_error_and_not_an_empty_column() -> None:
    with pytest.raises(KeyError):
        answers()["ifNmae"]
