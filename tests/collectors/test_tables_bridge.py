"""Forwarding tables: bridge ports, VLANs and statuses as real agents fill them.

Quirk numbers are those of the project's catalogue of what recorded switches answer; the rows here are cut-down
copies of such answers.
"""

from __future__ import annotations

import pytest

from collectors.snapshot import Table, TableState
from collectors.tables import plan
from collectors.tables.bridge import bridge_ports, vlans
from collectors.tables.mib import OBJECTS
from collectors.tables.readings import Readings
from tests.collectors.mib_rows import answers, ethernet, fdb, mac_arcs, port, rows, scalar, seen, switch

A, B, C = "00:00:5e:00:53:01", "00:00:5e:00:53:02", "00:00:5e:00:53:03"
LEARNED, SELF, MGMT, OTHER, INVALID = 3, 4, 5, 1, 2


def test_quirk_01_a_bridge_port_is_no_if_index_even_where_an_interface_has_its_number() -> None:
    found = switch(
        ifName={1: "InLoopBack0", 6: "GigabitEthernet0/0/1"},
        dot1dBasePortIfIndex={1: 6},
        **fdb((None, A, 1, LEARNED)),
    )
    assert seen(found) == [(None, A, "GigabitEthernet0/0/1")]


def test_quirk_02_a_bridge_port_may_be_the_if_index_of_another_port() -> None:
    found = switch(
        ifName={2210: "Ten-GigabitEthernet2/0/0/4", 2212: "Ten-GigabitEthernet2/0/0/6", 1: "GigabitEthernet1/0/1"},
        dot1dBasePortIfIndex={1: 1, 2212: 2210, 2210: 2212},
        **fdb((54, A, 2212, LEARNED)),
    )
    assert seen(found) == [(54, A, "Ten-GigabitEthernet2/0/0/4")]


def test_quirk_03_a_map_of_zeros_leaves_the_port_unknown_and_keeps_the_address() -> None:
    found = switch(**ethernet("xe-0/2/0"), dot1dBasePortIfIndex={1: 0, 2: 0}, **fdb((1, A, 1, LEARNED)))
    assert seen(found) == [(1, A, None)]
    assert "1 address at bridge ports that lead to no interface: port unknown" in found.oddities


def test_quirk_04_port_0_means_not_known_even_where_an_agent_lists_a_base_port_0() -> None:
    found = switch(**ethernet("ge-0/0/5", first=556), dot1dBasePortIfIndex={0: 556, 6: 556}, **fdb((1, A, 0, LEARNED)))
    assert seen(found) == [(1, A, None)]


def test_quirk_05_a_bridge_port_of_an_interface_that_is_not_there_leads_nowhere() -> None:
    found = switch(**ethernet("Eth-Trunk3", first=51), dot1dBasePortIfIndex={1: 51, 60: 714}, **fdb((None, A, 60, 3)))
    assert seen(found) == [(None, A, None)]


@pytest.mark.parametrize(
    ("base", "expected"),
    [({1: 1}, "Ca46014"), ({1: 2}, None), ({}, None)],
    ids=["all rows are the identity", "one row is not", "no rows"],
)
def test_quirk_06_a_bridge_port_without_a_row_is_an_if_index_only_where_all_rows_say_so(
    base: dict[int, int], expected: str | None
) -> None:
    found = switch(
        ifName={1: "Te1/1", 2: "Te1/2", 46014: "Ca46014"}, dot1dBasePortIfIndex=base, **fdb((1, A, 46014, 3))
    )
    assert seen(found) == [(1, A, expected)]


PER_VLAN_AGENT = {
    "vtpVlanState": {"1.1": 1, "1.10": 1, "1.20": 1, "1.30": 2, "1.1002": 1},
    "vtpVlanType": {"1.1": 1, "1.10": 1, "1.20": 1, "1.30": 1, "1.1002": 2},
    "vtpVlanName": {"1.1": "default", "1.10": "wet-lab", "1.20": "imaging", "1.30": "off", "1.1002": "fddi-default"},
}


def test_quirk_07_a_forwarding_table_of_one_vlan_only_is_reported_as_partial() -> None:
    readings = Readings(per_vlan_problem="only the table of one VLAN of 3 is visible")
    found = switch(
        readings,
        **ethernet("Gi0/1"),
        **PER_VLAN_AGENT,
        dot1dBasePortIfIndex={1: 1},
        **fdb((None, A, 1, LEARNED)),
    )
    assert seen(found) == [(None, A, "Gi0/1")]
    report = found.report(Table.FORWARDING)
    assert (report.state, report.whole) == (TableState.READ, False)
    assert report.partial == "only the table of one VLAN of 3 is visible"


def test_quirk_07_each_vlans_own_tables_give_ports_and_vlan() -> None:
    own = {"dot1dBasePortIfIndex": {7: 2}, **fdb((None, A, 7, LEARNED))}
    readings = Readings(per_vlan={1: answers(**fdb((None, B, 1, LEARNED))), 10: answers(**own)})
    found = switch(readings, **ethernet("Gi0/1", "Gi0/2"), **PER_VLAN_AGENT, dot1dBasePortIfIndex={1: 1})
    assert seen(found) == [(1, B, "Gi0/1"), (10, A, "Gi0/2")]
    assert found.report(Table.FORWARDING).whole


def test_quirk_08_addresses_behind_an_aggregate_are_at_the_aggregate() -> None:
    found = switch(
        ifName={51: "XGigabitEthernet4/0/0", 52: "Eth-Trunk4"},
        ifType={51: 6, 52: 53},
        dot1dBasePortIfIndex={2: 52},
        ifStackStatus={"52.51": 1},
        **fdb((None, A, 2, LEARNED)),
    )
    assert seen(found) == [(None, A, "Eth-Trunk4")]
    assert port(found, "XGigabitEthernet4/0/0").aggregate == "Eth-Trunk4"


def test_quirk_09_a_filtering_database_id_is_mapped_to_its_vlan() -> None:
    found = switch(
        **ethernet("17"),
        dot1dBasePortIfIndex={1: 1},
        dot1qVlanFdbId={"0.1": 1, "0.50": 2, "0.78": 8},
        **fdb((2, A, 1, LEARNED), (8, B, 1, LEARNED), (2, C, None, LEARNED)),
    )
    assert seen(found) == [(50, A, "17"), (78, B, "17"), (50, C, None)]


@pytest.mark.parametrize("fdb_ids", [{"0.602": 90, "0.2004": 212}, {"0.602": 1, "0.2004": 1}])
def test_quirk_10_a_wrong_map_yields_to_ids_that_are_vlans_themselves(fdb_ids: dict[str, int]) -> None:
    found = switch(**ethernet("1/1"), dot1qVlanFdbId=fdb_ids, **fdb((602, A, None, LEARNED), (2004, B, None, LEARNED)))
    assert [vlan for vlan, _, _ in seen(found)] == [602, 2004]


def test_quirk_11_without_any_vlan_table_an_id_that_can_be_a_vlan_is_one() -> None:
    found = switch(
        **ethernet("bond1"), **fdb((4000, A, None, LEARNED), (4095, B, None, LEARNED), (0, C, None, LEARNED))
    )
    assert [vlan for vlan, _, _ in seen(found)] == [4000, None, None]


def test_quirk_11_vlans_may_be_in_the_static_table_only() -> None:
    found = switch(dot1qVlanStaticName={2: "VLAN 0002"}, **fdb((2, A, None, LEARNED), (3, B, None, LEARNED)))
    assert [vlan for vlan, _, _ in seen(found)] == [2, None]


def test_quirk_12_a_database_id_beyond_any_vlan_is_mapped_by_the_vendor_or_unknown() -> None:
    vendor = {"jnxL2aldVlanTag": {3: 100}, "jnxL2aldVlanFdbId": {3: 196608}, "jnxL2aldVlanName": {3: "vlan_100+100"}}
    table = fdb((196608, A, None, LEARNED), (131072, B, None, LEARNED))
    assert [vlan for vlan, _, _ in seen(switch(**vendor, **table))] == [100, None]
    assert [vlan for vlan, _, _ in seen(switch(**table))] == [None, None]
    assert switch(**vendor, **table).vlans == {100: "vlan_100+100"}


@pytest.mark.parametrize("index", ["2003", "2003.0", "0.2003", "1280.2003", "117070.2003"])
def test_quirk_13_the_vlan_is_found_in_every_form_of_the_current_tables_index(index: str) -> None:
    assert vlans(answers(dot1qVlanFdbId={index: 7})).of(7) == 2003


def test_quirk_14_an_address_of_both_tables_counts_once_with_its_vlan() -> None:
    found = switch(
        **ethernet("Ethernet1"),
        dot1dBasePortIfIndex={1: 1},
        **fdb((40, A, 1, LEARNED), (None, A, 1, LEARNED), (None, B, 1, LEARNED)),
    )
    assert seen(found) == [(40, A, "Ethernet1"), (None, B, "Ethernet1")]
    assert [row.table for row in found.sightings] == ["dot1q", "dot1d"]


def test_quirk_15_what_is_not_learned_is_kept_apart_by_its_status() -> None:
    table = fdb(
        (1, A, 0, SELF), (2, A, 0, SELF), (1, B, 5, OTHER), (1, C, 5, MGMT), (1, "00:00:5e:00:53:04", 5, INVALID)
    )
    found = switch(**table)
    assert seen(found) == []
    assert [row.status for row in found.sightings] == ["self", "self", "other", "mgmt", "invalid"]
    assert rows(found, "self")[0].port is None
    assert found.own_macs == [A]


def test_quirk_16_torn_rows_count_as_far_as_they_say_anything() -> None:
    found = switch(
        **ethernet("Te1/1"),
        dot1dBasePortIfIndex={1: 1},
        **fdb((None, A, 1, None), (None, B, None, LEARNED), (None, C, 0, None)),
    )
    assert seen(found) == [(None, A, "Te1/1"), (None, B, None)]
    assert "3 incomplete rows in the forwarding table: it changed while it was read" in found.oddities


def test_quirk_16_the_address_is_taken_from_the_index_alone() -> None:
    assert not any(name.endswith("FdbAddress") for read in plan.READS for name in read.objects)


def test_quirk_17_an_address_in_several_vlans_and_at_several_ports_keeps_every_row() -> None:
    found = switch(
        **ethernet("1", "2"), dot1dBasePortIfIndex={1: 1, 2: 2}, **fdb((10, A, 1, 3), (20, A, 1, 3), (30, A, 2, 3))
    )
    assert seen(found) == [(10, A, "1"), (20, A, "1"), (30, A, "2")]


def test_quirk_18_links_without_a_single_address_make_the_empty_table_suspect() -> None:
    found = switch(**ethernet("xgei-0/1/0/1"), dot1dBasePortIfIndex={1: 1})
    report = found.report(Table.FORWARDING)
    assert (report.state, report.rows) == (TableState.EMPTY, 0)
    assert "no rows, with link on 1 port" in report.partial
    down = switch(**ethernet("1") | {"ifOperStatus": {1: 2}}, dot1dBasePortIfIndex={1: 1}).report(Table.FORWARDING)
    assert (down.state, down.partial) == (TableState.EMPTY, "")


def test_quirk_18_without_a_bridge_mib_the_table_is_not_served() -> None:
    assert switch(**ethernet("MGMT")).report(Table.FORWARDING).state is TableState.NOT_SERVED


def test_quirk_19_untagged_vlans_keyed_by_if_index_are_told_from_the_keys() -> None:
    columns = {**ethernet("GigabitEthernet1/2/0/1", first=193), "dot1dBasePortIfIndex": {1: 193}}
    by_if_index = switch(**columns, dot1qPvid={193: 3344})
    assert port(by_if_index, "GigabitEthernet1/2/0/1").pvid == 3344
    assert "keys the untagged VLANs by ifIndex instead of bridge port" in by_if_index.oddities
    assert port(switch(**columns, dot1qPvid={1: 30, 0: 7}), "GigabitEthernet1/2/0/1").pvid == 30


def test_quirk_19_keys_that_are_both_bridge_ports_and_if_indexes_are_bridge_ports() -> None:
    found = switch(**ethernet("a", "b"), dot1dBasePortIfIndex={1: 2, 2: 1}, dot1qPvid={1: 10, 2: 20})
    assert (port(found, "a").pvid, port(found, "b").pvid) == (20, 10)


def test_quirk_20_port_lists_which_agents_encode_in_four_ways_are_not_needed() -> None:
    assert not any(name.endswith(("EgressPorts", "UntaggedPorts", "PortListPorts")) for name in OBJECTS)


def test_the_published_example_row_is_filtering_database_10_bridge_port_24() -> None:
    """1.3.6.1.2.1.17.7.1.2.2.1.2.10.0.17.34.51.68.85 = 24: RFC 4363 dot1qTpFdbTable, RFC 4188 dot1dBasePort."""
    name = OBJECTS["dot1qTpFdbPort"]
    assert name == (1, 3, 6, 1, 2, 1, 17, 7, 1, 2, 2, 1, 2)
    found = switch(
        ifName={10124: "Gi0/24"}, dot1dBasePortIfIndex={24: 10124}, dot1qTpFdbPort={"10.0.17.34.51.68.85": 24}
    )
    assert seen(found) == [(10, "00:11:22:33:44:55", "Gi0/24")]


@pytest.mark.parametrize(("number", "name"), [(1, "other"), (2, "invalid"), (3, "learned"), (4, "self"), (5, "mgmt")])
def test_statuses_are_those_of_rfc_4188(number: int, name: str) -> None:
    assert [row.status for row in switch(**fdb((1, A, 1, number))).sightings] == [name]


@pytest.mark.parametrize("index", ["", "1.2.3", "1.0.0.94.0.83", "1.0.0.94.0.83.256", "1.0.0.94.0.83.1.9"])
def test_an_index_that_spells_no_address_is_no_row(index: str) -> None:
    column = {} if not index else {index: 3}
    assert switch(dot1qTpFdbStatus=column).sightings == []


def test_the_newer_bridge_mibs_have_a_component_before_everything() -> None:
    """IEEE 802.1Q-2011: ieee8021BridgeBasePortTable and ieee8021QBridgeTpFdbTable."""
    row = "1.30." + mac_arcs(A)
    columns = {"ieee8021BridgeBasePortIfIndex": {"1.7": 101}, "ieee8021QBridgeTpFdbPort": {row: 7}}
    found = switch(ifName={101: "swp7"}, **columns, ieee8021QBridgeTpFdbStatus={row: 3})
    assert seen(found) == [(30, A, "swp7")]
    both = switch(ifName={101: "swp7"}, **columns, dot1dBasePortIfIndex={7: 101}, **fdb((30, A, 7, 3), (30, B, 7, 3)))
    assert seen(both) == [(30, A, "swp7"), (30, B, "swp7")]


def test_a_full_table_proves_no_absence() -> None:
    """dot1dTpLearnedEntryDiscards, RFC 4188: entries that could not be learned for lack of space."""
    found = switch(**fdb((1, A, 1, LEARNED)), dot1dTpLearnedEntryDiscards=scalar(12))
    assert found.report(Table.FORWARDING).partial.startswith("the table was full: 12 addresses")


def test_the_aging_time_is_kept() -> None:
    assert switch(dot1dTpAgingTime=scalar(300)).aging_seconds == 300


def test_values_of_the_wrong_type_are_as_good_as_missing() -> None:
    found = switch(dot1dBasePortIfIndex={1: "one"}, dot1qTpFdbPort={"1.0.0.94.0.83.1": "24"}, dot1qPvid={1: "x"})
    assert found.sightings == []
    assert bridge_ports(answers(dot1dBasePortIfIndex={1: None}), {}).if_index == {}


def test_access_ports_of_the_vendors_table_have_their_vlan() -> None:
    found = switch(**ethernet("Gi0/1", "Gi0/2"), vmVlan={1: 10, 2: 0})
    assert (port(found, "Gi0/1").pvid, port(found, "Gi0/2").pvid) == (10, None)
