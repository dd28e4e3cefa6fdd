from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.names import AddressKind, address_kind, parse_mac
from collectors.scrub import Scrubber

MACS = st.binary(min_size=6, max_size=6).map(lambda octets: octets.hex(":"))
DESK = "00:1b:21:3c:4d:5e"


@given(st.lists(MACS, unique=True, max_size=30))
def test_mac_addresses_are_replaced_one_to_one_and_keep_their_kind(macs: list[str]) -> None:
    scrubber = Scrubber()
    replaced = [scrubber.mac(mac) for mac in macs]
    assert replaced == [scrubber.mac(mac) for mac in macs]
    assert len(set(replaced)) == len(macs)
    for mac, new in zip(macs, replaced, strict=True):
        kind = address_kind(mac)
        # IEEE 802: bit 0x01 of the first octet is the group bit, bit 0x02 the local bit.
        assert int(new[:2], 16) & 0x03 == int(mac[:2], 16) & 0x03
        if kind is AddressKind.DEVICE:
            assert new[:8] == mac[:8]
            assert new != mac


@pytest.mark.parametrize(
    "mac",
    # Broadcast, LLDP's group (IEEE 802.1AB), a VRRP virtual router (RFC 9568), nothing: nobody's own.
    ["ff:ff:ff:ff:ff:ff", "01:80:c2:00:00:0e", "00:00:5e:00:01:07", "00:00:00:00:00:00"],
)
def test_addresses_that_are_the_same_everywhere_stay(mac: str) -> None:
    assert Scrubber().mac(mac) == mac


def test_the_random_part_of_a_local_address_is_replaced_too() -> None:
    assert Scrubber().mac("da:a1:19:3c:4d:5e")[3:8] != "a1:19"


def test_two_scrubbers_share_nothing() -> None:
    assert Scrubber().mac(DESK) != Scrubber().mac(DESK)


@pytest.mark.parametrize(
    "spelled",
    ["00:1b:21:3c:4d:5e", "00-1B-21-3C-4D-5E", "001b.213c.4d5e", "001b21-3c4d5e", "001B213C4D5E", "00 1b 21 3c 4d 5e"],
)
def test_a_mac_is_found_in_prose_in_every_spelling_and_keeps_it(spelled: str) -> None:
    scrubber = Scrubber()
    new = scrubber.text(f"seen {spelled}, once")
    found = new.removeprefix("seen ").removesuffix(", once")
    assert parse_mac(found) == scrubber.mac(DESK)
    assert [char for char in found if not char.isalnum()] == [char for char in spelled if not char.isalnum()]
    assert found.isupper() == spelled.isupper()


def test_ip_addresses_become_those_of_nobody_and_masks_stay() -> None:
    scrubber = Scrubber()
    first, second = scrubber.address("10.20.30.40"), scrubber.address("10.20.30.41")
    assert (first, second) == ("198.18.0.1", "198.18.0.2")  # RFC 2544: benchmarking
    assert scrubber.text("ip 10.20.30.40 255.255.255.0 via 10.20.30.41; lo 127.0.0.1") == (
        f"ip {first} 255.255.255.0 via {second}; lo 127.0.0.1"
    )
    assert scrubber.address("2001:db9:1::5") == "2001:db8::1"  # RFC 3849: documentation
    assert scrubber.text("inet6 fe80::21b:21ff:fe3c:4d5e/64") == "inet6 fe80::2/64"


def test_clock_times_and_interface_counters_are_no_addresses() -> None:
    assert Scrubber().text("at 12:34:56, 123456789012 octets, uptime 1:02:03") == (
        "at 12:34:56, 123456789012 octets, uptime 1:02:03"
    )


def test_a_name_is_the_same_name_short_in_full_in_prose_and_in_capitals() -> None:
    scrubber = Scrubber()
    assert scrubber.word("name", "kelp-sw1.station.example") == "name-1"
    assert scrubber.word("name", "KELP-SW1") == "name-1"
    assert scrubber.text("Linux kelp-sw1 6.1, at kelp-sw1.station.example (station.example)") == (
        "Linux name-1 6.1, at name-1 (domain-1)"
    )


def test_a_name_is_not_found_inside_longer_words_nor_when_it_is_a_mere_number() -> None:
    scrubber = Scrubber()
    scrubber.word("name", "pier")
    scrubber.word("vlan", "100")
    assert scrubber.text("pierced at pier 100") == "pierced at name-1 100"


def test_padding_around_a_name_stays() -> None:
    assert Scrubber().word("name", "kelp-switch\0\0\0\0\0") == "name-1\0\0\0\0\0"


@pytest.mark.parametrize(
    "name",
    [
        *("GigabitEthernet1/0/1", "Gi1/0/1", "ge-0/0/1.0", "xe-0/2/0", "1", "24", "1/24", "swp1", "eth0", "lo", "br0"),
        *("Port 12", "Port-channel1", "Ten-GigabitEthernet2/0/0/4", "StackSub-St1-1", "Slot: 0 Port: 7 Gigabit"),
        "EtherNet Port on unit 1, port:1",
    ],
)
def test_names_of_ports_stay(name: str) -> None:
    assert Scrubber().port(name) == name


@pytest.mark.parametrize(
    ("told", "kept"),
    [
        ("xgei-0/1/0/1 To-M480", "xgei-0/1/0/1 text-1"),  # a switch that appends the user's own description
        ("wet lab bench", "text-1"),
        ("Gi1/0/1 wet lab 3", "Gi1/0/1 text-1"),
    ],
)
def test_what_people_wrote_beside_a_port_name_goes(told: str, kept: str) -> None:
    assert Scrubber().port(told) == kept
