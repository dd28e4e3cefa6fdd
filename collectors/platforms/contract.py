"""What a switch platform is: the commands to send, and pure functions from what they print to rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from collectors.snapshot import Address, Hardware, Neighbour, Port, PowerGroup, System, Table


class Unreadable(Exception):
    """An answer that has not the form we know. Its text says what was missed; it never means "no rows"."""


class Seen(NamedTuple):
    """One row of a MAC address table as it was printed: port and VLAN still under the names of that command."""

    mac: str
    vlan: int | str | None = None
    """VLAN number, or the VLAN's name where the command prints names only."""
    port: str | None = None
    status: str = "learned"
    """As in `Sighting.status`."""


# Tables whose rows are ports of which they tell something: what that is.
_TOLD_OF_PORTS: dict[Table, Callable[[Port], bool]] = {
    Table.BRIDGE_PORTS: lambda port: port.pvid is not None,
    Table.ETHERNET: lambda port: bool(port.duplex or port.counters),
    Table.POWER: lambda port: port.power is not None,
    Table.AGGREGATION: lambda port: port.aggregate is not None,
    Table.SPANNING_TREE: lambda port: port.spanning_tree is not None,
}


@dataclass
class Rows:
    """What one answer told. Ports are named as the command names them: `assemble` lets the names meet.

    A `Port` may carry one fact only (the aggregate that it belongs to, say): facts about one port are merged.
    """

    system: System | None = None
    chassis_id: str = ""
    lldp_name: str = ""
    own_macs: list[str] = field(default_factory=list)
    ports: list[Port] = field(default_factory=list)
    vlans: dict[int, str] = field(default_factory=dict)
    seen: list[Seen] = field(default_factory=list)
    neighbours: list[Neighbour] = field(default_factory=list)
    addresses: list[Address] = field(default_factory=list)
    hardware: list[Hardware] = field(default_factory=list)
    power_groups: list[PowerGroup] = field(default_factory=list)
    aging_seconds: int | None = None
    partial: str = ""
    """Why these rows are known not to be the whole table; see `TableReport.partial`."""
    oddities: list[str] = field(default_factory=list)

    def count(self, table: Table) -> int:
        """Rows of the kind that `table` is about."""
        if table is Table.FORWARDING:
            return len(self.seen)
        if table is Table.NEIGHBOURS:
            return len(self.neighbours)
        if table is Table.VLANS:
            return len(self.vlans) or len(self.ports)
        if table is Table.ADDRESSES:
            return len(self.addresses)
        if table is Table.HARDWARE:
            return len(self.hardware)
        if table in (Table.SYSTEM, Table.LLDP_LOCAL):
            return int(bool(self.system or self.chassis_id or self.lldp_name or self.own_macs))
        told = _TOLD_OF_PORTS.get(table)
        return len(self.ports) if told is None else sum(told(port) for port in self.ports)


Reader = Callable[[str], Rows]
"""Text of one answer to rows. Raises Unreadable when the text is not such an answer."""


@dataclass(frozen=True)
class Ask:
    """One command of the fixed list, what it tells, and how to read it.

    A command that tells of several tables stands once for each: it is sent once.
    """

    table: Table
    command: str
    read: Reader
    instead: Ask | None = None
    """Tried when the switch rejects this command, or answers in a form that we do not know (older software)."""
    then: Completion | None = None
    needs: frozenset[Table] = frozenset()
    """Tables without which the answer cannot be understood (VLAN numbers, where it prints VLAN names)."""

    def commands(self) -> list[str]:
        """Every command that asking this may send."""
        later = self.instead.commands() if self.instead else []
        return [self.command, *([self.then.command] if self.then else []), *later]


@dataclass(frozen=True)
class Completion:
    """A second command for rows that the first one left incomplete on older software."""

    lacks: Callable[[Rows], bool]
    command: str
    read: Reader
    complete: Callable[[Rows, Rows], Rows]


@dataclass(frozen=True)
class Platform:
    """One family of switches that speak the same command line."""

    name: str
    driver: str
    """netmiko's name for it: how it prompts, pages and prepares its terminal."""
    asks: tuple[Ask, ...]
    login_again: bool = False
    """True for a family that may ask for user and password a second time, in the terminal."""
    preparation: tuple[str, ...] = ()
    """What the driver sends to prepare the terminal: width and paging of this session, nothing else."""
    port_words: Mapping[str, str] = field(default_factory=dict)
    """Words of port names that some commands print (`GE`, `GigabitEthernet`), and what IF-MIB ifName has instead."""

    @property
    def commands(self) -> frozenset[str]:
        """The fixed list: nothing else is ever sent."""
        return frozenset(command for ask in self.asks for command in ask.commands())


def json_or_text(
    table: Table, command: str, suffix: str, json: Reader, text: Reader | None = None, needs: Iterable[Table] = ()
) -> Ask:
    """Asks for `command` as JSON; where the switch does not print that, for the same command as text."""
    needed = frozenset(needs)
    instead = Ask(table, command, text, needs=needed) if text else None
    return Ask(table, f"{command} {suffix}", json, instead=instead, needs=needed)
