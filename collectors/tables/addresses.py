"""IP-MIB (RFC 4293): which MAC answers for which IP address, from the ARP and IPv6 neighbour tables of routers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from collectors.names import AddressKind, address_kind
from collectors.snapshot import Address
from collectors.tables.mib import Answers, Index
from collectors.tables.text import ip, mac

OBJECTS = ("ipNetToMediaPhysAddress", "ipNetToMediaType")
NEWER_OBJECTS = ("ipNetToPhysicalPhysAddress", "ipNetToPhysicalType", "ipNetToPhysicalState")

_OTHER, _INVALID, _LOCAL = 1, 2, 5
_STATE_INVALID, _STATE_INCOMPLETE = 5, 7
_FAMILIES = {1: 4, 2: 16, 3: 8, 4: 20}
"""Octets of InetAddressType ipv4, ipv6, ipv4z, ipv6z; the zone is the last four (RFC 4001)."""


class _Row(NamedTuple):
    ip: str
    mac: str
    if_index: int


def addresses(answers: Answers, names: Mapping[int, str]) -> list[Address]:
    """Both tables, since agents are known that keep IPv4 in the older and IPv6 in the newer only.

    Left out: invalid and incomplete rows, group addresses, the switch's own ones (local, and recorded: other), and a
    row under an interface that does not exist where the same pair has one that does.
    """
    pairs: dict[tuple[str, str], list[str | None]] = {}
    for row in (*_media(answers), *_physical(answers)):
        ports = pairs.setdefault((row.ip, row.mac), [])
        if (name := names.get(row.if_index)) not in ports:
            ports.append(name)
    return [
        Address(ip=address, mac=station, port=port)
        for (address, station), ports in pairs.items()
        for port in (ports if ports == [None] else (port for port in ports if port is not None))
    ]


def _media(answers: Answers) -> Iterator[_Row]:
    """ipNetToMediaTable: ifIndex and four octets of the address."""
    types = answers.numbers("ipNetToMediaType")
    for index, octets in answers.octets("ipNetToMediaPhysAddress").items():
        station = _station(octets)
        if len(index) == 5 and max(index[1:]) < 256 and station and types.get(index, 3) not in (_OTHER, _INVALID):
            yield _Row(".".join(map(str, index[1:])), station, index[0])


def _physical(answers: Answers) -> Iterator[_Row]:
    """ipNetToPhysicalTable: ifIndex, address type, length, octets of the address."""
    types, states = answers.numbers("ipNetToPhysicalType"), answers.numbers("ipNetToPhysicalState")
    for index, octets in answers.octets("ipNetToPhysicalPhysAddress").items():
        station, address = _station(octets), _address(index)
        if types.get(index) in (_OTHER, _INVALID, _LOCAL) or states.get(index) in (_STATE_INVALID, _STATE_INCOMPLETE):
            continue
        if station and address:
            yield _Row(address, station, index[0])


def _address(index: Index) -> str | None:
    """The address of an index; None where the length is missing (recorded) or does not fit."""
    if len(index) < 4 or _FAMILIES.get(index[1]) != index[2] or len(index) != 3 + index[2] or max(index[3:]) > 255:
        return None
    return ip(bytes(index[3 : 3 + (4 if index[1] in (1, 3) else 16)]))


def _station(octets: bytes) -> str | None:
    found = mac(octets) if len(octets) == 6 else None
    return found if found and address_kind(found) not in (AddressKind.GROUP, AddressKind.NONE) else None
