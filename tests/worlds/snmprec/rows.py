"""What all tables share: rows, ASN.1 tags, and how values are put into hex and OIDs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from tests.worlds.model import Port, Switch, World
from tests.worlds.observe import View

Row = tuple[str, str, str]
"""OID, tag, value: one line of a recording."""

Table = Callable[[World, Switch, View], Iterator[Row]]
"""Makes the rows of one table, or of a few that belong together, for one switch."""

# ASN.1 tags in decimal, as snmpsim writes them.
INTEGER, OCTETS, HEX, OID, IP, COUNTER, GAUGE, TICKS, COUNTER64 = "2", "4", "4x", "6", "64", "65", "66", "67", "70"

UPTIME = 8_640_000  # 1/100 s: one day
SINCE_CHANGE = 4_320_000  # 1/100 s after start-up at which every port took its present state
AGING_SECONDS = 300  # RFC 4188 dot1dTpAgingTime, default
WATTS_PER_BOX = 185  # what a 24-port supply gives


def text_of(table: Iterable[Row]) -> str:
    """The text of a recording: its rows sorted by OID. ValueError for an OID that is there twice."""
    rows: dict[tuple[int, ...], str] = {}
    for oid, tag, value in table:
        key = tuple(map(int, oid.split(".")))
        if key in rows:
            raise ValueError(f"{oid} twice")
        rows[key] = f"{oid}|{tag}|{value}\n"
    return "".join(rows[key] for key in sorted(rows))


def if_index(switch: Switch, port: Port) -> int:
    """ifIndex of a port."""
    return switch.dialect.if_index + port.number


def base_port(switch: Switch, port: Port) -> int:
    """dot1dBasePort of a port."""
    return switch.dialect.base_port + port.number


def mac_arcs(mac: str) -> str:
    """An address as the six arcs of an index."""
    return ".".join(str(int(octet, 16)) for octet in mac.split(":"))


def port_list(numbers: Iterable[int]) -> str:
    """RFC 4363 PortList in hex: octet 1 holds ports 1 to 8, the lowest in the most significant bit."""
    listed = set(numbers)
    octets = bytearray((max(listed, default=1) + 7) // 8)
    for number in listed:
        octets[(number - 1) // 8] |= 0x80 >> (number - 1) % 8
    return octets.hex()


def bits(numbers: Iterable[int]) -> str:
    """SNMP BITS in hex: bit 0 is the most significant bit of the first octet."""
    octets = bytearray(2)
    for number in numbers:
        octets[number // 8] |= 0x80 >> number % 8
    return octets.hex()
