"""The model of learning, against tables worked out by hand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.worlds import changes
from tests.worlds.build import Builder
from tests.worlds.dialects import NUMBERED, STACKED
from tests.worlds.equipment import access_point, camera, host, phone, router, unmanaged_switch
from tests.worlds.model import World
from tests.worlds.observe import observe

A, B, C = "00:00:5e:00:53:0a", "00:00:5e:00:53:0b", "00:00:5e:00:53:0c"  # RFC 7042: for documentation
SW1, SW2 = "00:00:5e:00:53:10", "00:00:5e:00:53:80"


def two_switches() -> Builder:
    """sw1:Gi1/0/4 to sw2:4, trunks; access ports in VLAN 10; management in VLAN 1."""
    site = Builder("test")
    ports: dict[str, Any] = {
        "vlans": {1: "default", 10: "lab", 20: "voice"},
        "access": dict.fromkeys((1, 2, 3), 10),
        "trunks": (4,),
    }
    site.switch("sw1", STACKED, 4, mac=SW1, **ports, tagged={2: 20})
    site.switch("sw2", NUMBERED, 4, mac=SW2, **ports)
    site.cord("U", "sw1:Gi1/0/4", "sw2:4")
    return site


def test_a_station_is_learned_on_its_port_and_behind_the_uplink_of_the_other_switch() -> None:
    site = two_switches()
    site.device(host("a", A), at="sw1:Gi1/0/1")
    views = observe(site.build())
    assert views["sw1"].learned == {(10, A): "Gi1/0/1", (1, SW2): "Gi1/0/4"}
    assert views["sw2"].learned == {(10, A): "4", (1, SW1): "4"}


def test_a_path_through_panels_and_fixed_cables_is_one_wire() -> None:
    site = two_switches()
    site.panel("PP", 4)
    site.panel("PR", 4)
    site.outlet("WL-1")
    site.cord("C", "sw2:1", "PP:2")
    site.tie("T", "PP", "PR", 4)
    site.cord("D", "PR:2", "a")
    site.device(host("a", A, speed=100))
    view = observe(site.build())["sw2"]
    assert view.learned[10, A] == "1"
    assert view.up == {"1": 100, "4": 1000}


def test_a_telephone_is_tagged_and_its_computer_is_not() -> None:
    site = two_switches()
    site.device(phone("phone", A, 20, ip="10.0.0.9", pc="pc"), at="sw1:Gi1/0/2")
    site.device(host("pc", B), at="phone:pc")
    view = observe(site.build())["sw1"]
    assert view.learned[20, A] == "Gi1/0/2"
    assert view.learned[10, B] == "Gi1/0/2"
    assert [advert.chassis_id for advert in view.heard["Gi1/0/2"]] == ["10.0.0.9"]


def test_a_tagged_frame_is_dropped_where_the_port_does_not_carry_its_vlan() -> None:
    site = two_switches()
    site.device(phone("phone", A, 20, ip="10.0.0.9"), at="sw1:Gi1/0/1")
    view = observe(site.build())["sw1"]
    assert "Gi1/0/1" in view.up
    assert (20, A) not in view.learned


def test_clients_of_an_access_point_are_learned_on_its_port() -> None:
    site = two_switches()
    site.device(access_point("ap", A, clients=[(B, 20), (C, None)]), at="sw1:Gi1/0/2")
    assert observe(site.build())["sw2"].learned == {(1, SW1): "4", (10, A): "4", (20, B): "4", (10, C): "4"}


def test_an_unmanaged_switch_passes_frames_and_lldp_between_all_its_sockets() -> None:
    site = two_switches()
    site.device(unmanaged_switch("bench", 3), at="sw1:Gi1/0/1", macs=())
    site.undocumented(host("a", A), at="bench:2")
    site.undocumented(camera("b", B), at="bench:3")
    view = observe(site.build())["sw1"]
    assert {view.learned[10, A], view.learned[10, B]} == {"Gi1/0/1"}
    assert [advert.chassis_id for advert in view.heard["Gi1/0/1"]] == [B]


def test_an_unmanaged_switch_between_switches_makes_them_neighbours_of_one_another() -> None:
    site = Builder("test")
    for name, dialect, mac in (("sw1", STACKED, SW1), ("sw2", NUMBERED, SW2)):
        site.switch(name, dialect, 2, mac=mac, vlans={1: "default"})
    site.device(unmanaged_switch("box", 3), macs=())
    site.cord("1", "sw1:Gi1/0/1", "box:1")
    site.cord("2", "sw2:1", "box:2")
    views = observe(site.build())
    assert [advert.system_name for advert in views["sw1"].heard["Gi1/0/1"]] == ["sw2"]
    assert [advert.port_id for advert in views["sw2"].heard["1"]] == ["Gi1/0/1"]


def test_a_virtual_gateway_stands_where_its_master_is() -> None:
    site = two_switches()
    site.device(router("gw1", A, (None,), gateway="00:00:5e:00:01:01"), at="sw1:Gi1/0/1")
    site.device(router("gw2", B, (None,)), at="sw2:1")
    views = observe(site.build())
    assert views["sw1"].learned[10, "00:00:5e:00:01:01"] == "Gi1/0/1"
    assert views["sw2"].learned[10, "00:00:5e:00:01:01"] == "4"


def test_nothing_is_learned_on_a_blocked_port_and_its_neighbour_is_still_heard() -> None:
    site = two_switches()
    site.cord("U2", "sw1:Gi1/0/3", "sw2:3")
    site.device(host("a", A), at="sw1:Gi1/0/1")
    views = observe(changes.change_port(site.build(), "sw2:3", blocked=True))
    assert set(views["sw2"].learned.values()) == {"4"}
    assert views["sw2"].up["3"] == 1000
    assert [advert.port_id for advert in views["sw2"].heard["3"]] == ["Gi1/0/3"]


def test_a_loop_of_cords_is_refused_rather_than_followed_for_ever() -> None:
    site = two_switches()
    site.cord("U2", "sw1:Gi1/0/3", "sw2:3")
    site.device(host("a", A), at="sw1:Gi1/0/1")
    with pytest.raises(ValueError, match="loop"):
        observe(site.build())


def test_two_cords_in_one_socket_are_refused() -> None:
    site = two_switches()
    site.device(host("a", A), at="sw1:Gi1/0/1")
    site.device(host("b", B), at="sw1:Gi1/0/1")
    with pytest.raises(ValueError, match="2 cables at sw1:Gi1/0/1"):
        observe(site.build())


@pytest.mark.parametrize(
    "change",
    [
        lambda world: changes.unplug(world, "sw1:Gi1/0/1"),
        lambda world: changes.shut(world, "sw1:Gi1/0/1"),
        lambda world: changes.switch_off(world, "a"),
    ],
    ids=["unplugged", "shut", "off"],
)
def test_there_is_no_link_when_either_side_is_gone_shut_or_off(change: Callable[[World], World]) -> None:
    site = two_switches()
    site.device(host("a", A), at="sw1:Gi1/0/1")
    view = observe(change(site.build()))["sw1"]
    assert set(view.up) == {"Gi1/0/4"}
    assert (10, A) not in view.learned


def test_crossing_two_cords_exchanges_what_two_ports_learn_and_leaves_the_map_alone() -> None:
    site = two_switches()
    site.device(host("a", A), at="sw1:Gi1/0/1")
    site.device(host("b", B), at="sw2:2")
    before = site.build()
    after = changes.cross(before, "sw1:Gi1/0/1", "sw2:2")
    assert observe(after)["sw2"].learned[10, A] == "2"
    assert observe(after)["sw1"].learned[10, B] == "Gi1/0/1"
    assert after.record == before.record
