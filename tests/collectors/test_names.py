"""MAC addresses and port names in every spelling, and what an address can stand for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.names import AddressKind, address_kind, int_to_mac, mac_from_octets, mac_to_int, parse_mac, port_key


@pytest.mark.parametrize(
    "spelling",
    [
        "00:1a:2b:0c:4d:5e",
        "00-1A-2B-0C-4D-5E",
        "00 1a 2b 0c 4d 5e",
        "0:1a:2b:c:4d:5e",
        "001a.2b0c.4d5e",
        "001a-2b0c-4d5e",
        "001a:2b0c:4d5e",
        "001a2b-0c4d5e",
        "001A2B0C4D5E",
        "0x001a2b0c4d5e",
        "  00:1a:2b:0c:4d:5e\t",
    ],
)
def test_every_usual_spelling_of_an_address_is_one_address(spelling: str) -> None:
    assert parse_mac(spelling) == "00:1a:2b:0c:4d:5e"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "printer",
        "00:1a:2b:0c:4d",
        "00:1a:2b:0c:4d:5e:6f",
        "00:1a-2b:0c:4d:5e",
        "00:1a:2b:0c:4d:5g",
        "001a.2b0c.4d5",
        "1a2b0c4d5e",
        "00:1a:2b:0c:4d:5e\0",
        "٠٠1a2b0c4d5e",
        "1.23457E+11",
        "192.0.2.1",
        "2001:db8:0:0:0:1",
    ],
)
def test_what_is_no_address_is_none_and_no_guess(text: str) -> None:
    assert parse_mac(text) is None


@given(st.binary(min_size=6, max_size=6))
def test_octets_text_and_number_are_the_same_address(octets: bytes) -> None:
    mac = mac_from_octets(octets)
    assert mac is not None
    assert parse_mac(mac) == parse_mac(octets.hex()) == parse_mac(octets.hex("-").upper()) == mac
    assert int_to_mac(mac_to_int(mac)) == mac
    assert mac_to_int(mac) == int.from_bytes(octets, "big")


@pytest.mark.parametrize("octets", [b"", b"12345", b"1234567", bytes(8)])
def test_only_six_octets_are_an_address(octets: bytes) -> None:
    assert mac_from_octets(octets) is None


@given(st.text(max_size=40))
def test_no_text_makes_the_readers_stumble(text: str) -> None:
    parse_mac(text)
    port_key(text)


@pytest.mark.parametrize(
    ("mac", "kind"),
    [
        ("da:a1:19:00:00:01", AddressKind.LOCAL),  # IEEE 802: local bit 0x02; randomised or virtual
        ("33:33:00:00:00:01", AddressKind.GROUP),  # IPv6 multicast, RFC 2464
        ("01:00:5e:00:00:01", AddressKind.GROUP),  # IPv4 multicast, RFC 1112
        ("00:00:5e:00:01:0a", AddressKind.VIRTUAL_GATEWAY),  # VRRP IPv4, VRID 10: RFC 9568 section 7.3
        ("00:00:5e:00:01:c8", AddressKind.VIRTUAL_GATEWAY),  # VRRP IPv4, VRID 200
        ("00:00:5e:00:02:01", AddressKind.VIRTUAL_GATEWAY),  # VRRP IPv6
        ("00:00:0c:07:ac:2f", AddressKind.VIRTUAL_GATEWAY),  # HSRP version 1 group 47: RFC 2281
        ("00:00:0c:9f:f1:2c", AddressKind.VIRTUAL_GATEWAY),  # HSRP version 2 group 300, vendor's manual
        ("00:05:73:a0:00:01", AddressKind.VIRTUAL_GATEWAY),  # HSRP version 2 for IPv6
        ("00:07:b4:00:01:02", AddressKind.VIRTUAL_GATEWAY),  # GLBP
        ("01:80:c2:00:00:02", AddressKind.GROUP),  # slow protocols: IEEE 802.1Q table 8-1
        ("01:80:c2:00:00:0e", AddressKind.GROUP),  # LLDP, nearest bridge: IEEE 802.1AB
        ("ff:ff:ff:ff:ff:ff", AddressKind.GROUP),
        ("52:54:00:12:34:56", AddressKind.LOCAL),  # common practice: virtual machines
        ("02:42:ac:11:00:02", AddressKind.LOCAL),  # common practice: containers
        ("02:bf:0a:00:00:01", AddressKind.CLUSTER),  # published list of well-known addresses: load balancing
        ("03:bf:0a:00:00:01", AddressKind.CLUSTER),
        ("02:01:0a:00:00:01", AddressKind.CLUSTER),
        ("02:20:0a:00:00:01", AddressKind.CLUSTER),
        ("02:21:0a:00:00:01", AddressKind.LOCAL),
        ("00:00:00:00:00:00", AddressKind.NONE),
        ("00:00:5e:00:53:01", AddressKind.DEVICE),  # documentation: RFC 9542
        ("00:1a:2b:0c:4d:5e", AddressKind.DEVICE),
    ],
)
def test_an_address_stands_for_what_is_published(mac: str, kind: AddressKind) -> None:
    assert address_kind(mac) is kind


@pytest.mark.parametrize("digit", "0123456789abcdef")
def test_locally_administered_unicast_has_2_6_a_or_e_as_its_second_digit(digit: str) -> None:
    """IEEE 802: bit 0x01 of the first octet is the group bit, 0x02 the local bit."""
    local = address_kind(f"4{digit}:00:00:00:00:01") is AddressKind.LOCAL
    assert local == (digit in "26ae")


@pytest.mark.parametrize(
    "spellings",
    [
        ("GigabitEthernet1/0/1", "Gi 1/0/1", "gi1/0/1", "GE1/0/1", "Gig1/0/1", "GigabitEthernet 1/0/1"),
        ("TenGigabitEthernet1/1", "Te1/1", "Ten-GigabitEthernet1/1", "XGE1/1", "XGigabitEthernet1/1"),
        ("Ethernet1/19", "Eth1/19"),
        ("port-channel1", "Po1", "Port-Channel1"),
        ("FastEthernet0/1", "Fa0/1"),
        ("Management0", "mgmt0", "Ma0"),
        ("1", "Port 1", "port1", "Interface 1"),
        ("Vlan20", "VLAN 20", "vlan20"),
    ],
)
def test_the_usual_spellings_of_a_port_meet_in_one_key(spellings: tuple[str, ...]) -> None:
    assert len({port_key(spelling) for spelling in spellings}) == 1


def test_different_ports_have_different_keys() -> None:
    names = ["Gi1/0/1", "Gi1/0/11", "Te1/0/1", "Fa1/0/1", "Po1", "Vlan1", "1", "11", "1/1", "ge-0/0/1", "xe-0/0/1"]
    assert len({port_key(name) for name in names}) == len(names)


def test_padding_is_no_part_of_a_name() -> None:
    assert port_key(" Gi1/0/1 \0") == port_key("Gi1/0/1")
