"""What is physically there, beside what is documented: switches, boxes with sockets, and cables between them.

A world is immutable. `tests.worlds.build` makes one in which map and reality agree; `tests.worlds.changes` then
changes the reality and leaves the map alone, which is how drift comes about.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from reconcile.patchmap.model import End, PatchMap
from tests.worlds.dialects import Dialect

TAKEN = datetime(2026, 3, 17, 21, 40, tzinfo=UTC)
"""When every world is looked at; fixed, so that files written from it are reproducible."""


@dataclass(frozen=True)
class Port:
    """One Ethernet port of a switch, numbered from 1 in the order of the front. Speeds in Mbit/s, power in watts."""

    name: str
    number: int
    vlan: int = 1  # untagged in and out
    tagged: tuple[int, ...] = ()
    admin_up: bool = True
    blocked: bool = False  # by spanning tree: the link is up and no station is learned on it
    speed: int = 1000
    supplies_power: bool = False
    alias: str = ""

    def carries(self, vlan: int) -> bool:
        """True when frames of this VLAN pass the port, tagged or not."""
        return vlan == self.vlan or vlan in self.tagged


@dataclass(frozen=True)
class Entry:
    """A row of a forwarding table that was not learned; `status` in the words of RFC 4188 dot1dTpFdbStatus."""

    vlan: int
    mac: str
    port: str
    status: str


@dataclass(frozen=True)
class Switch:
    """One managed switch. `dialect` is how its agent words its answers; `routes` says that it keeps an ARP table."""

    name: str
    mac: str
    dialect: Dialect
    ports: tuple[Port, ...]
    vlans: tuple[tuple[int, str], ...] = ((1, "default"),)
    management_vlan: int = 1
    address: str = ""  # IPv4, for its LLDP management address
    location: str = ""
    routes: bool = False
    answers: bool = True  # False: it forwards frames and nobody answers to SNMP
    system_name: str = ""  # what it calls itself, when that is not its documented name
    entries: tuple[Entry, ...] = ()

    def port(self, name: str) -> Port:
        """The port of that name; KeyError names both."""
        for port in self.ports:
            if port.name == name:
                return port
        raise KeyError(f"{self.name} has no port {name}")

    @property
    def hostname(self) -> str:
        """sysName."""
        return self.system_name or self.name

    def port_mac(self, port: Port) -> str:
        """The port's own address: the base address counted up, as most makers do."""
        return count_up(self.mac, port.number)


@dataclass(frozen=True)
class Station:
    """One MAC address that talks. `vlan` None: untagged; `socket`: where it leaves its box."""

    mac: str
    vlan: int | None = None
    socket: str = ""
    ip: str = ""


@dataclass(frozen=True)
class Advert:
    """What an LLDP agent sends out of one socket (IEEE 802.1AB). Kinds are the TLV subtype names."""

    chassis_kind: str
    chassis_id: str
    port_kind: str
    port_id: str
    port_description: str = ""
    system_name: str = ""
    system_description: str = ""
    capabilities: tuple[str, ...] = ()
    management_address: str = ""
    pvid: int | None = None
    maker: str = ""  # LLDP-MED inventory
    model: str = ""
    serial: str = ""
    socket: str = ""  # where it leaves its box


@dataclass(frozen=True)
class Box:
    """Anything that is not a managed switch: computer, telephone, access point, unmanaged switch, firewall.

    `bridges`: frames pass between its sockets (telephone, unmanaged switch). `powered` False: no link.
    """

    name: str
    stations: tuple[Station, ...] = ()
    sockets: tuple[str, ...] = ("",)
    bridges: bool = False
    passes_lldp: bool = False
    adverts: tuple[Advert, ...] = ()
    speed: int = 1000
    powered: bool = True
    draws_watts: float = 0.0


@dataclass(frozen=True)
class Cable:
    """A cord, fixed cable or tie cable as it really runs. `label` is what is printed on it, if anything."""

    label: str
    a: End
    b: End

    def ends_at(self, end: End) -> bool:
        """True when one of its plugs is there."""
        return end in (self.a, self.b)


@dataclass(frozen=True)
class World:
    """One physical network and the record that somebody keeps of it."""

    record: PatchMap
    switches: tuple[Switch, ...] = ()
    boxes: tuple[Box, ...] = ()
    cables: tuple[Cable, ...] = ()
    taken: datetime = TAKEN

    def switch(self, name: str) -> Switch:
        """The switch of that name."""
        return next(switch for switch in self.switches if switch.name == name)

    def box(self, name: str) -> Box:
        """The box of that name."""
        return next(box for box in self.boxes if box.name == name)


def end(text: str) -> End:
    """`NAME:POSITION` as an End; a name alone is a device with one socket."""
    name, _, position = text.partition(":")
    return End(name, position)


def count_up(mac: str, by: int) -> str:
    """The address `by` steps further."""
    digits = f"{int(mac.replace(':', ''), 16) + by:012x}"
    return ":".join(digits[i : i + 2] for i in range(0, 12, 2))
