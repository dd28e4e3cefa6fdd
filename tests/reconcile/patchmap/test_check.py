"""The relations of a map: what is a fault, what is none, and that broken paths and faults go together."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reconcile.channels import resolve
from reconcile.patchmap.check import check_map
from reconcile.patchmap.model import Device, Fault, Origin, Outlet, PatchMap, Severity, Switch
from tests.reconcile.patchmap.tangles import cord, end, fixed, panel, shuffled, tangles


def check(the_map: PatchMap) -> tuple[Fault, ...]:
    return check_map(the_map, resolve(the_map))


def codes(the_map: PatchMap) -> list[str]:
    return [fault.code for fault in check(the_map)]


@given(tangles())
def test_a_path_is_broken_exactly_where_the_map_has_an_error(the_map: PatchMap) -> None:
    errors = [fault for fault in check(the_map) if fault.severity is Severity.ERROR]
    assert bool(errors) == bool(resolve(the_map).broken)


@given(tangles(), st.randoms())
def test_the_order_of_rows_changes_no_fault(the_map: PatchMap, chance: random.Random) -> None:
    def told(one: PatchMap) -> Counter[tuple[str, str]]:
        return Counter((fault.code, fault.problem) for fault in check(one))

    assert told(the_map) == told(shuffled(the_map, chance))


@given(tangles())
def test_faults_come_in_the_order_of_the_rows(the_map: PatchMap) -> None:
    numbered = the_map.model_copy(
        update={
            name: [row.model_copy(update={"origin": Origin(f"{name}.csv", "", n)}) for n, row in enumerate(rows, 2)]
            for name in ("switches", "panels", "outlets", "fixed_cables", "cords", "devices")
            if (rows := getattr(the_map, name))
        }
    )
    places = [str(row.origin) for row in numbered.rows()]
    found = [places.index(str(fault.origin)) for fault in check(numbered)]
    assert found == sorted(found)


@pytest.mark.parametrize(
    "mac",
    [
        "00:1b:21:00:00:01",  # universally administered unicast
        "02:00:5e:10:00:01",  # locally administered: randomised or set by hand, and still a device's
        "00:00:5e:00:53:01",  # for documentation (RFC 7042), not a virtual router's
    ],
)
def test_an_address_that_a_device_can_have_is_no_fault(mac: str) -> None:
    the_map = PatchMap(switches=[Switch(name="SW-1")], devices=[Device(name="A", macs=(mac,), at=end("SW-1:1"))])
    assert codes(the_map) == []


@pytest.mark.parametrize(
    ("mac", "code", "words"),
    [
        ("ff:ff:ff:ff:ff:ff", "mac-group", "broadcast"),
        ("01:80:c2:00:00:00", "mac-group", "reserved multicast"),  # IEEE 802.1Q table 8-1: spanning tree
        ("01:80:c2:00:00:0e", "mac-group", "reserved multicast"),  # IEEE 802.1AB: LLDP
        ("01:00:5e:00:00:01", "mac-group", "multicast"),  # RFC 1112: IPv4 multicast
        ("33:33:00:00:00:01", "mac-group", "multicast"),  # RFC 2464: IPv6 multicast
        ("00:00:00:00:00:00", "mac-zero", "no device's address"),
        ("00:00:5e:00:01:0a", "mac-gateway", "virtual gateway"),  # RFC 9568: VRRP over IPv4
        ("00:00:5e:00:02:0a", "mac-gateway", "virtual gateway"),  # RFC 9568: VRRP over IPv6
        ("00:00:0c:07:ac:01", "mac-gateway", "virtual gateway"),  # RFC 2281: HSRP
    ],
)
def test_an_address_that_no_device_can_have_is_said(mac: str, code: str, words: str) -> None:
    the_map = PatchMap(switches=[Switch(name="SW-1")], devices=[Device(name="A", macs=(mac,), at=end("SW-1:1"))])
    (fault,) = check(the_map)
    assert (fault.code, words in fault.problem) == (code, True)


def test_routers_may_share_a_virtual_gateways_address() -> None:
    gateway = "00:00:5e:00:01:0a"
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        devices=[
            Device(name=f"R-{n}", macs=(gateway,), at=end(f"SW-1:{n}"), origin=Origin("devices.csv", "", n))
            for n in (2, 3)
        ],
    )
    assert codes(the_map) == ["mac-gateway", "mac-gateway"]


def test_two_spellings_of_one_port_are_one_port() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        devices=[Device(name="A", at=end("SW-1:Gi1/0/1")), Device(name="B", at=end("sw-1:GigabitEthernet 1/0/1"))],
    )
    assert codes(the_map) == ["place-twice", "place-twice"]


def test_two_ports_of_the_switchs_own_list_are_two_however_alike() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1", ports=("Ethernet1", "eth1"))],
        devices=[Device(name="A", at=end("SW-1:Ethernet1")), Device(name="B", at=end("SW-1:eth1"))],
    )
    assert codes(the_map) == []


def test_a_panel_may_have_both_7_and_07() -> None:
    the_map = PatchMap(
        panels=[panel("PP-A").model_copy(update={"jacks": ("7", "07")}), panel("PP-B")],
        fixed_cables=[fixed("F1", "PP-A:7", "PP-B:1"), fixed("F2", "PP-A:07", "PP-B:2")],
    )
    assert codes(the_map) == []


def test_a_loop_through_jacks_is_said_once_and_nothing_else() -> None:
    the_map = PatchMap(
        panels=[panel("PP-A"), panel("PP-B")],
        fixed_cables=[fixed("T1", "PP-A:1", "PP-B:1"), fixed("T2", "PP-A:2", "PP-B:2")],
        cords=[cord("C1", "PP-A:1", "PP-A:2"), cord("C2", "PP-B:1", "PP-B:2")],
    )
    (fault,) = check(the_map)
    assert fault.problem.startswith("it is part of a loop that reaches no switch and no device: PP-A:1 - PP-")


def test_a_hundred_unknown_names_are_a_hundred_faults_with_suggestions_where_there_are_any() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        outlets=[Outlet(name=f"WL-{n:02}") for n in range(50)],
        fixed_cables=[fixed(f"F{n}", f"SW-1:{n}", f"WL_{n:02}") for n in range(100)],
    )
    faults = check(the_map)
    assert len(faults) == 100
    assert faults[7].hint == 'did you mean "WL-07"?'


def test_thousands_of_unknown_names_are_not_all_compared_with_thousands_of_known_ones() -> None:
    """20,000 times 20,000 comparisons would take an hour: suggestions stop, faults do not."""
    the_map = PatchMap(
        outlets=[Outlet(name=f"WL-{n:05}") for n in range(3000)],
        fixed_cables=[fixed(f"F{n}", f"WL-{n:05}", f"PANEL-{n}:1") for n in range(3000)],
    )
    faults = check(the_map)
    assert len(faults) == 3000
    assert faults[-1].hint == "add it to its table, or correct the name"
