"""What is written for each kind of thing on a port, a small network by hand per sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from collectors.snapshot import Address, CollectedSwitch, Neighbour, Sighting
from reconcile.draft import Draft, draft
from reconcile.draft.model import DraftRow
from tests.nasty import NASTY, acting_characters
from tests.reconcile.draft.round_trip import FORMS, trip
from tests.reconcile.handmade_network import answer, heard, port, snapshot

# Addresses of real makers, as the registry of the IEEE has them; 52:54:00 is a convention for guests (from memory).
PUMP, LAPTOP, SCOPE = "00:30:de:41:b7:09", "20:47:47:3a:9c:11", "00:30:53:21:4a:87"
PHONE_MAC, GUEST, VMWARE_GUEST, RANDOM = (
    "00:04:13:8a:40:1d",
    "52:54:00:6b:1f:20",
    "00:50:56:88:02:65",
    "6e:1b:90:44:d7:3f",
)


def one(switch: CollectedSwitch, **options: object) -> list[DraftRow]:
    return list(draft(snapshot(switch), **options).rows)  # type: ignore[arg-type]  # options of draft, by name


def collected(kind: str) -> str:
    """A nasty text as collectors hand it over: bounded, and of octets that are UTF-8."""
    return NASTY[kind][:1024].encode("utf-8", "replace").decode()


def told(at: str, name: str, *capabilities: str, mac: str = "", **more: object) -> Neighbour:
    """What a neighbour announces, its address as chassis."""
    chassis = {"chassis_id": mac, "chassis_id_kind": "macAddress"} if mac else {}
    fields = {"port": at, "system_name": name, "capabilities": list(capabilities), **chassis, **more}
    return Neighbour.model_validate(fields)


def test_a_station_alone_is_a_device_whose_name_is_a_gap() -> None:
    (row,) = one(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1"))))
    assert (str(row.at), row.device, row.named, row.carries) == ("sw-a:Gi1", "00-30-de-41-b7-09", False, False)
    assert row.macs == (PUMP,)
    assert row.maker == "WAGO Kontakttechnik GmbH"
    assert row.to_fill == ("device", "outlet", "jack", "room", "cord")


def test_a_neighbour_gives_its_name_without_its_domain() -> None:
    (row,) = one(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1")), [told("Gi1", "pump-2.lab.example", mac=PUMP)]))
    assert (row.device, row.named, row.macs) == ("pump-2", True, (PUMP,))


def test_a_name_server_names_who_does_not_announce_itself() -> None:
    switch = answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1")))
    switch = switch.model_copy(update={"addresses": [Address(ip="10.1.1.9", mac=PUMP)]})
    assert draft(snapshot(switch)).ips == ("10.1.1.9",)
    (row,) = one(switch, names={"10.1.1.9": "dosing-pump.lab.example."})
    assert (row.device, row.named, row.ips) == ("dosing-pump", True, ("10.1.1.9",))


def test_two_devices_of_one_name_are_told_apart() -> None:
    rows = one(
        answer(
            "sw-a", [port("Gi1"), port("Gi2")], heard((PUMP, "Gi1"), (SCOPE, "Gi2")),
            [told("Gi1", "pump", mac=PUMP), told("Gi2", "PUMP", mac=SCOPE)],
        )
    )  # fmt: skip
    assert [row.device for row in rows] == ["pump", "PUMP 214a87"]


def test_a_device_with_two_cords_has_two_sockets() -> None:
    ports = [port("Gi1"), port("Gi2")]
    rows = one(
        answer("sw-a", ports, heard((PUMP, "Gi1")), [told("Gi1", "nas", mac=PUMP), told("Gi2", "nas", mac=PUMP)])
    )
    assert [(str(row.at), row.device, row.socket, row.macs) for row in rows] == [
        ("sw-a:Gi1", "nas", "?1", (PUMP,)),
        ("sw-a:Gi2", "nas", "?2", ()),
    ]


def test_a_computer_behind_a_telephone_is_behind_it() -> None:
    phone, computer = one(
        answer(
            "sw-a", [port("Gi1")], heard((PHONE_MAC, "Gi1"), (LAPTOP, "Gi1")),
            [told("Gi1", "desk-12", "bridge", "telephone", mac=PHONE_MAC)],
        )
    )  # fmt: skip
    assert (phone.device, phone.kind, phone.carries, phone.macs) == ("desk-12", "phone", True, (PHONE_MAC,))
    assert (str(computer.at), computer.behind, computer.macs) == ("desk-12:pc", True, (LAPTOP,))


def test_clients_of_an_access_point_are_no_rows() -> None:
    made = draft(
        snapshot(
            answer(
                "sw-a", [port("Gi1")], heard((SCOPE, "Gi1"), (LAPTOP, "Gi1"), (RANDOM, "Gi1")),
                [told("Gi1", "ap-1", "bridge", "wlanAccessPoint", mac=SCOPE)],
            )
        )
    )  # fmt: skip
    (row,) = made.rows
    assert (row.kind, row.carries, row.macs) == ("access point", True, (SCOPE,))
    (point,) = made.open
    assert set(point.macs) == {LAPTOP, RANDOM}


def test_guests_make_a_hypervisor_of_the_one_that_is_none() -> None:
    (row,) = one(answer("sw-a", [port("Gi1")], heard((LAPTOP, "Gi1"), (GUEST, "Gi1"), (VMWARE_GUEST, "Gi1"))))
    assert (row.kind, row.carries, row.macs) == ("hypervisor", True, (LAPTOP,))


def test_several_devices_on_one_port_are_behind_something_unknown() -> None:
    front, *behind = one(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1"), (SCOPE, "Gi1"))))
    assert (front.device, front.named, front.carries, front.macs) == ("unknown at sw-a Gi1", False, True, ())
    assert "renamed in the rows behind it too" in front.note
    assert [(str(row.at), row.macs) for row in behind] == [
        ("unknown at sw-a Gi1:?1", (SCOPE,)),
        ("unknown at sw-a Gi1:?2", (PUMP,)),
    ]


def test_more_than_a_small_switch_has_sockets_are_not_written_one_by_one() -> None:
    many = [(f"00:30:de:00:00:{n:02x}", "Gi1") for n in range(9)]
    made = draft(snapshot(answer("sw-a", [port("Gi1")], heard(*many))))
    (row,) = made.rows
    assert (row.kind, row.carries, row.macs) == ("switch", True, ())
    assert {mac for point in made.open for mac in point.macs} == {mac for mac, _ in many}


@pytest.mark.parametrize("asked", [False, True])
def test_an_address_that_may_change_tomorrow_is_a_device_only_when_asked(asked: bool) -> None:
    (row,) = one(answer("sw-a", [port("Gi1")], heard((RANDOM, "Gi1"))), passing=asked)
    assert row.macs == ((RANDOM,) if asked else ())
    assert asked or "6e:1b:90:44:d7:3f (locally administered)" in row.note


def test_the_address_of_a_virtual_gateway_is_nobody() -> None:
    """VRRP, RFC 9568 section 7.3."""
    made = draft(snapshot(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1"), ("00:00:5e:00:01:0a", "Gi1")))))
    assert [row.macs for row in made.rows] == [(PUMP,)]


@pytest.mark.parametrize("state", [{"oper": "down"}, {"oper": "up", "admin": "down"}])
def test_who_is_remembered_on_a_port_without_a_link_is_left_open(state: dict[str, str]) -> None:
    made = draft(snapshot(answer("sw-a", [port("Gi1", **state)], heard((PUMP, "Gi1")))))  # type: ignore[arg-type]
    assert made.rows == ()
    assert [point.macs for point in made.open] == [(PUMP,)]


def test_what_is_only_probable_or_could_be_at_several_ports_is_no_fact() -> None:
    ports = [port("Gi1"), port("Gi2")]
    twice = [Sighting(mac=PUMP, vlan=10, port="Gi1"), Sighting(mac=PUMP, vlan=20, port="Gi2")]
    made = draft(snapshot(answer("sw-a", ports, twice)))
    assert [row.macs for row in made.rows] == [(), ()]
    assert all(PUMP in row.note and "perhaps" in row.note for row in made.rows)
    assert [point.macs for point in made.open] == [(PUMP,)]


def test_an_address_that_a_neighbour_borrows_stays_with_its_owner() -> None:
    """Whoever is plugged in announces what it likes; where an address is heard, there it is."""
    ports, liar = [port("Gi1"), port("Gi2")], told("Gi2", "liar", mac=PUMP)
    rows = one(answer("sw-a", ports, heard((PUMP, "Gi1")), [liar]))
    assert [(row.device, row.macs) for row in rows] == [("00-30-de-41-b7-09", (PUMP,)), ("liar", ())]


def test_a_name_that_a_neighbour_borrows_from_a_switch_is_not_given_twice() -> None:
    (row,) = one(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1")), [told("Gi1", "unknown at sw-a Gi1", mac=PUMP)]))
    assert row.device == "00-30-de-41-b7-09"


def _aggregated(names: dict[str, str]) -> Draft:
    def switch(name: str, other: str, number: int) -> CollectedSwitch:
        members = [port(f"Te{n}", aggregate="Po1") for n in (1, 2)]
        said = [
            told(here, other, "bridge", port_id=there, port_id_kind="interfaceName") for here, there in names.items()
        ]
        return answer(name, [*members, port("Po1", if_type=161), port("Gi9")], [], said, [f"00:30:de:00:0{number}:00"])

    return draft(snapshot(switch("sw-a", "sw-b", 1), switch("sw-b", "sw-a", 2)))


def test_each_cord_of_an_aggregate_is_a_link_of_its_own() -> None:
    links = [(str(r.at), str(r.far)) for r in _aggregated({"Te1": "Te2", "Te2": "Te1"}).rows if r.far]
    assert links == [("sw-a:Te1", "sw-b:Te2"), ("sw-a:Te2", "sw-b:Te1")]


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", NASTY)
def test_what_a_neighbour_calls_itself_lands_harmlessly(kind: str, form: str, tmp_path: Path) -> None:
    said, ports = collected(kind), [port("Gi1", alias=collected(kind)), port("Gi2")]
    neighbours = [told("Gi1", said, mac=PUMP, system_description=said), told("Gi2", said, mac=SCOPE, port_id=said)]
    found = trip(snapshot(answer("sw-a", ports, heard((PUMP, "Gi1"), (SCOPE, "Gi2")), neighbours)), tmp_path, form)  # type: ignore[arg-type]
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []
    for device in found.patch_map.devices:
        assert not acting_characters(device.name)
        assert not device.name.startswith(("=", "+", "-", "@", "＝", "'"))
        assert len(device.name) <= 80


# A port always has some name: where the switch gives none, the collector does.
@pytest.mark.parametrize("kind", [kind for kind in NASTY if collected(kind)])
def test_a_port_whose_name_no_cell_can_hold_is_left_open_or_read_again(kind: str, tmp_path: Path) -> None:
    name = collected(kind)[:300]
    found = trip(snapshot(answer("sw-a", [port(name), port("Gi2")], heard((PUMP, name), (SCOPE, "Gi2")))), tmp_path)
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []
