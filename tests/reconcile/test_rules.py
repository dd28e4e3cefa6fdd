"""What is drift and what is not, one hand-made network per sentence."""

from __future__ import annotations

import pytest

from collectors.snapshot import Neighbour, Table, TableReport, TableState
from reconcile.findings import Kind, Verdict
from tests.reconcile.handmade_network import (
    answer,
    device,
    heard,
    kinds,
    only,
    port,
    run,
    site,
    verdict_of,
)

TANK = "00:30:de:41:b7:09"
DESK = "20:47:47:3a:9c:11"
STRANGER = "dc:a6:32:9e:04:5b"
RANDOM = "da:a1:19:00:00:01"  # local bit set: randomised or virtual (IEEE 802)
SWITCH_A, SWITCH_B = "b8:6c:e0:21:c4:00", "d0:43:1e:77:5a:00"

NOT_READ = TableReport(state=TableState.NOT_SERVED, reason="no BRIDGE-MIB")


def lldp(here: str, chassis: str, their_port: str) -> Neighbour:
    return Neighbour(
        port=here, chassis_id=chassis, chassis_id_kind="macAddress", port_id=their_port, port_id_kind="interfaceName",
        capabilities=["bridge"],
    )  # fmt: skip


def test_a_device_at_its_documented_port_is_confirmed_and_no_finding() -> None:
    result = run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1")], heard((TANK, "1"))))
    assert kinds(result) == []
    assert verdict_of(result, "sw-a:1") is Verdict.CONFIRMED
    assert result.exit_code == 0


def test_a_device_without_a_documented_address_is_silent_and_its_station_is_no_stranger() -> None:
    result = run(site([device("tank", "sw-a:1")]), answer("sw-a", [port("1")], heard((TANK, "1"))))
    assert kinds(result) == []
    assert verdict_of(result, "sw-a:1") is Verdict.SILENT


def test_a_device_that_names_itself_by_lldp_is_confirmed_without_an_address() -> None:
    neighbour = Neighbour(port="1", chassis_id="10.20.20.31", system_name="phone-1.saltmarsh.example")
    result = run(site([device("Phone-1", "sw-a:1")]), answer("sw-a", [port("1")], neighbours=[neighbour]))
    assert verdict_of(result, "sw-a:1") is Verdict.CONFIRMED


def test_a_station_next_to_a_device_that_carries_nobody_is_undocumented() -> None:
    found = only(
        run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1")], heard((TANK, "1"), (STRANGER, "1"))))
    )
    assert (found.kind, found.macs) == (Kind.UNDOCUMENTED_DEVICE, (STRANGER,))
    assert "Raspberry Pi" in found.seen  # IEEE registry, MA-L DC-A6-32


def test_stations_behind_a_device_that_carries_others_are_expected() -> None:
    patch_map = site([device("ap", "sw-a:1", TANK, carries=True)])
    assert kinds(run(patch_map, answer("sw-a", [port("1")], heard((TANK, "1"), (STRANGER, "1"), (RANDOM, "1"))))) == []


def test_a_locally_administered_stranger_is_called_so_and_keeps_its_key_when_its_address_changes() -> None:
    def found(mac: str) -> str:
        finding = only(run(site(), answer("sw-a", [port("1")], heard((mac, "1")))))
        assert "locally administered" in finding.seen
        return finding.key

    assert found(RANDOM) == found("fe:21:00:9c:11:02")


def test_another_stranger_at_the_same_port_is_another_finding() -> None:
    keys = {only(run(site(), answer("sw-a", [port("1")], heard((mac, "1"))))).key for mac in (STRANGER, TANK)}
    assert len(keys) == 2


@pytest.mark.parametrize(
    "mac",
    [
        "00:00:5e:00:01:0a",  # VRRP, RFC 9568, VRID 10
        "00:00:0c:07:ac:2f",  # HSRP version 1, RFC 2281, group 47
        "00:00:0c:9f:f1:2c",  # HSRP version 2, vendor manuals, group 300
        "00:07:b4:00:01:02",  # GLBP, vendor manuals
        "02:bf:0a:14:14:01",  # load-balancing cluster, well-known address lists
        "01:00:5e:00:00:fb",  # IPv4 multicast, RFC 1112: a group address in a forwarding table is no station
    ],
)
def test_virtual_gateways_clusters_and_groups_are_never_strangers(mac: str) -> None:
    # The device that is documented at the port keeps the link itself from being news.
    result = run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1")], heard((TANK, "1"), (mac, "1"))))
    assert kinds(result) == []


def test_a_moved_device_is_told_once_with_both_places() -> None:
    found = only(
        run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1", "down"), port("2")], heard((TANK, "2"))))
    )
    assert (found.kind, found.where.port, found.moved_to and found.moved_to.port) == (Kind.MOVED_DEVICE, "1", "2")
    assert {"interfaces", "forwarding"} <= {row.table for row in found.evidence}


def test_a_device_that_the_map_plugs_in_nowhere_may_be_behind_an_access_point() -> None:
    patch_map = site([device("ap", "sw-a:1", TANK, carries=True), device("tablet", "", DESK)])
    assert kinds(run(patch_map, answer("sw-a", [port("1")], heard((TANK, "1"), (DESK, "1"))))) == []


def test_a_device_that_the_map_plugs_in_nowhere_and_that_is_on_a_wire_is_moved() -> None:
    found = only(run(site([device("desk", "", DESK)]), answer("sw-a", [port("1")], heard((DESK, "1")))))
    assert found.kind is Kind.MOVED_DEVICE
    assert "no switch port" in found.documented


def test_a_displaced_device_that_was_seen_nowhere_is_another_in_its_place() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK), device("desk", "sw-a:2", DESK)])
    result = run(patch_map, answer("sw-a", [port("1"), port("2", "down")], heard((DESK, "1"))))
    assert kinds(result) == [Kind.MOVED_DEVICE, Kind.OTHER_DEVICE]


def test_no_link_is_silent_dead_and_not_missing() -> None:
    result = run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1", "down")]))
    assert only(result).kind is Kind.DEAD_PORT
    assert verdict_of(result, "sw-a:1") is Verdict.SILENT


def test_a_port_that_is_administratively_down_is_no_cable_fault() -> None:
    # RFC 2863: with ifAdminStatus down, ifOperStatus should be down.
    found = only(run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1", "down", admin="down")])))
    assert found.kind is Kind.SHUT_PORT


def test_a_missing_module_is_named() -> None:
    # RFC 2863 ifOperStatus notPresent(6).
    found = only(run(site([device("tank", "sw-a:1", TANK)]), answer("sw-a", [port("1", "notPresent")])))
    assert "module" in found.seen


def test_a_forwarding_table_that_was_not_read_leaves_the_channel_unchecked() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK)])
    result = run(patch_map, answer("sw-a", [port("1")], tables={Table.FORWARDING: NOT_READ}))
    assert kinds(result) == []
    assert verdict_of(result, "sw-a:1") is Verdict.UNCHECKED
    assert (result.exit_code, [gap.table for gap in result.gaps]) == (3, ["forwarding"])


def test_a_switch_that_failed_gives_no_finding_and_exit_code_3() -> None:
    result = run(site([device("tank", "sw-a:1", TANK)]), failed=["sw-a"])
    assert kinds(result) == []
    assert verdict_of(result, "sw-a:1") is Verdict.UNCHECKED
    assert result.exit_code == 3


def test_a_switch_that_is_not_asked_on_purpose_is_no_gap() -> None:
    patch_map = site([device("tank", "sw-b:1", TANK), device("desk", "sw-a:1", DESK)])
    result = run(patch_map, answer("sw-a", [port("1")], heard((DESK, "1"))))
    assert verdict_of(result, "sw-b:1") is Verdict.UNCHECKED
    assert result.exit_code == 0


def test_stations_behind_a_documented_switch_that_is_not_asked_are_neither_strangers_nor_moved() -> None:
    patch_map = site([device("tank", "sw-b:1", TANK)], cords=[("sw-a:24", "sw-b:24")])
    result = run(patch_map, answer("sw-a", [port("24")], heard((TANK, "24"), (STRANGER, "24"))))
    assert kinds(result) == []


def test_a_port_of_an_aggregate_is_confirmed_by_what_the_aggregate_heard() -> None:
    # A MAC learned over a bundle is booked to the aggregate's bridge port (IEEE 802.1AX; from memory).
    ports = [port("1", aggregate="Po1"), port("2", aggregate="Po1"), port("Po1", if_type=161)]
    patch_map = site([device("server", "", TANK)], cords=[("sw-a:1", "server:a"), ("sw-a:2", "server:b")])
    result = run(patch_map, answer("sw-a", ports, heard((TANK, "Po1"))))
    assert kinds(result) == []
    assert verdict_of(result, "sw-a:1") is verdict_of(result, "sw-a:2") is Verdict.CONFIRMED


def test_a_link_that_nobody_documented_is_told_once_for_both_its_ends() -> None:
    a = answer("sw-a", [port("24")], neighbours=[lldp("24", SWITCH_B, "24")], own=[SWITCH_A])
    b = answer("sw-b", [port("24")], neighbours=[lldp("24", SWITCH_A, "24")], own=[SWITCH_B])
    found = only(run(site(), a, b))
    assert found.kind is Kind.UNEXPECTED_LINK
    assert "sw-b:24" in found.seen


def test_a_documented_link_confirmed_from_one_end_only_is_confirmed() -> None:
    a = answer("sw-a", [port("24")], neighbours=[lldp("24", SWITCH_B, "24")], own=[SWITCH_A])
    b = answer("sw-b", [port("24")], own=[SWITCH_B])
    result = run(site(cords=[("sw-a:24", "sw-b:24")]), a, b)
    assert kinds(result) == []
    assert verdict_of(result, "sw-b:24") is Verdict.CONFIRMED


def test_a_dead_link_between_switches_is_told_once_and_matters_most() -> None:
    result = run(
        site(cords=[("sw-a:24", "sw-b:24")]),
        answer("sw-a", [port("24", "down")], own=[SWITCH_A]),
        answer("sw-b", [port("24", "down", admin="down")], own=[SWITCH_B]),
    )
    found = only(result)
    assert (found.kind, found.severity, found.where.switch) == (Kind.SHUT_PORT, "high", "sw-b")


def test_vlan_and_loopback_interfaces_are_never_unexpected_links() -> None:
    # IANAifType: propVirtual 53, l3ipvlan 136, softwareLoopback 24; some agents type VLANs as Ethernet (6).
    software = [port("Vlan10"), port("Vlan20", if_type=53), port("Vlanif30", if_type=136), port("lo0", if_type=24)]
    assert kinds(run(site(), answer("sw-a", software))) == []


def test_a_link_without_any_station_is_unexpected_where_the_map_has_nothing() -> None:
    found = only(run(site(), answer("sw-a", [port("7")])))
    assert (found.kind, found.where.port) == (Kind.UNEXPECTED_LINK, "7")


def test_a_link_whose_stations_could_not_be_read_says_so() -> None:
    found = only(run(site(), answer("sw-a", [port("7")], tables={Table.FORWARDING: NOT_READ})))
    assert "cannot be told" in found.seen


def test_a_documented_port_that_the_switch_lacks_is_named_with_the_nearest() -> None:
    found = only(
        run(
            site([device("tank", "sw-a:Gi1/0/2", TANK)]),
            answer("sw-a", [port("Gi1/0/1", "down"), port("Gi1/0/22", "down")]),
        )
    )
    assert (found.kind, "Gi1/0/22" in found.seen) == (Kind.PORT_NOT_FOUND, True)


def test_keys_do_not_depend_on_the_order_of_anything() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK), device("desk", "sw-a:2", DESK)])
    rows = [(DESK, "1"), (TANK, "2"), (STRANGER, "3")]
    ports = [port(str(n)) for n in range(1, 5)]
    one = run(patch_map, answer("sw-a", ports, heard(*rows)))
    turned = patch_map.model_copy(update={"devices": patch_map.devices[::-1]})
    other = run(turned, answer("sw-a", ports[::-1], heard(*rows[::-1])))
    assert {f.key for f in one.findings} == {f.key for f in other.findings}
    assert len(one.findings) == 4
