"""Which interfaces are sockets, and which port a documented name means."""

from __future__ import annotations

import pytest

from collectors.snapshot import Port
from reconcile.ports import PortBook, is_socket


def book(*names: str) -> PortBook:
    return PortBook(Port(name=name, if_type=6) for name in names)


@pytest.mark.parametrize(
    ("documented", "found"),
    [
        ("GigabitEthernet1/0/7", "Gi1/0/7"),
        ("gi 1/0/7", "Gi1/0/7"),
        ("Gi1/0/7", "Gi1/0/7"),
        (" gi1/0/7 ", "Gi1/0/7"),
        ("Te1/1/1", "TenGigabitEthernet1/1/1"),
    ],
)
def test_the_usual_spellings_of_a_port_name_meet(documented: str, found: str) -> None:
    assert book("Gi1/0/7", "Gi1/0/8", "TenGigabitEthernet1/1/1").find(documented).port == found


def test_a_number_alone_means_the_one_socket_that_ends_in_it() -> None:
    assert book("ge-0/0/1", "ge-0/0/12", "vlan12").find("12").port == "ge-0/0/12"


def test_a_number_that_fits_two_sockets_finds_none_and_names_both() -> None:
    match = book("Gi1/0/1", "Te1/1/1").find("1")
    assert (match.port, match.nearest) == (None, ("Gi1/0/1", "Te1/1/1"))


def test_an_unknown_name_brings_the_nearest() -> None:
    assert "Gi1/0/11" in book("Gi1/0/11", "Gi1/0/12").find("Gi1/1/11").nearest


def test_a_description_serves_where_it_names_the_port() -> None:
    ports = PortBook([Port(name="1", if_type=6, descr="GigabitEthernet0/1")])
    assert ports.find("gi0/1").port == "1"


@pytest.mark.parametrize(
    ("name", "if_type"),
    [("Vlan10", 6), ("Port-channel1", 53), ("lo", 24), ("eth0.20", 6), ("br0", 6), ("veth1a2b", 6), ("wlan0", 6)],
)
def test_software_interfaces_are_no_sockets(name: str, if_type: int) -> None:
    assert not is_socket(Port(name=name, if_type=if_type))


@pytest.mark.parametrize(
    ("name", "if_type"),
    [("Port1", 6), ("port0", 2), ("1", 117), ("ge-0/0/0", 6), ("enp3s0", 6), ("bootp1", None), ("brocade1", 6)],
)
def test_sockets_are_sockets_whatever_type_the_agent_gives_them(name: str, if_type: int | None) -> None:
    assert is_socket(Port(name=name, if_type=if_type))
