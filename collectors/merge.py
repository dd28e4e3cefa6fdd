"""One switch told by two sources: tables that the first lacks are filled from the second."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from typing import Any

from collectors.names import port_key
from collectors.sightings import packed
from collectors.snapshot import Address, CheckedRows, CollectedSwitch, Neighbour, Port, Sighting, Table, TableState

# What each table supplies: fields of the switch, and fields of its ports.
_SWITCH_FIELDS: dict[Table, tuple[str, ...]] = {
    Table.SYSTEM: ("system",),
    Table.VLANS: ("vlans",),
    Table.FORWARDING: ("sightings", "aging_seconds"),
    Table.LLDP_LOCAL: ("chassis_id", "lldp_name"),
    Table.NEIGHBOURS: ("neighbours",),
    Table.POWER: ("power_groups",),
    Table.ADDRESSES: ("addresses",),
    Table.SPANNING_TREE: ("topology_changes", "topology_change_ticks"),
    Table.HARDWARE: ("hardware",),
}
_PORT_FIELDS: dict[Table, tuple[str, ...]] = {
    Table.INTERFACES: (
        *("if_index", "if_type", "descr", "alias", "mac", "admin", "oper", "speed_mbps", "last_change_ticks"),
        "connector",
    ),
    Table.VLANS: ("pvid",),
    Table.ETHERNET: ("duplex", "counters", "mau_type", "auto_negotiation"),
    Table.POWER: ("power",),
    Table.AGGREGATION: ("aggregate",),
    Table.SPANNING_TREE: ("spanning_tree",),
}


def lacking(switch: CollectedSwitch, want: Collection[Table]) -> frozenset[Table]:
    """The wanted tables from which absence means nothing: not served, refused, cut short or known to be partial."""
    return frozenset(table for table in want if not switch.report(table).whole)


def better(switch: CollectedSwitch, other: CollectedSwitch, tables: Collection[Table]) -> frozenset[Table]:
    """Those of `tables` that `other` read whole, or read at all where `switch` could not."""
    return frozenset(
        table for table in tables if other.report(table).whole or (_read(other, table) and not _read(switch, table))
    )


def fill(switch: CollectedSwitch, other: CollectedSwitch, tables: Collection[Table]) -> CollectedSwitch:
    """`switch` with `tables` taken from `other`, under the port names of `switch`."""
    ports = _Ports(switch.ports or other.ports)
    changes: dict[str, Any] = {"tables": {**switch.tables, **{table: other.report(table) for table in tables}}}
    for table in tables:
        for field in _SWITCH_FIELDS.get(table, ()):
            changes[field] = _renamed(getattr(other, field), ports)
    ports.take(other.ports, [field for table in tables for field in _PORT_FIELDS.get(table, ())])
    changes["ports"] = ports.all
    changes["own_macs"] = sorted({*switch.own_macs, *other.own_macs})
    changes["oddities"] = [*switch.oddities, *(text for text in other.oddities if text not in switch.oddities)]
    return switch.model_copy(update=changes)


def _read(switch: CollectedSwitch, table: Table) -> bool:
    return switch.report(table).state in (TableState.READ, TableState.EMPTY)


class _Ports:
    """The ports of the switch, and the way from another source's names to them."""

    def __init__(self, ports: list[Port]) -> None:
        self.all = list(ports)
        self._place = {port.name: number for number, port in enumerate(ports)}
        keys = Counter(port_key(port.name) for port in ports)
        self._by_key = {port_key(port.name): port.name for port in ports if keys[port_key(port.name)] == 1}

    def named(self, name: str | None) -> str | None:
        """Our name for the other source's port; one that we never heard of becomes a port of which no more is known."""
        if name is None or name in self._place:
            return name
        known = self._by_key.get(port_key(name))
        if known is None:
            self._place[name] = len(self.all)
            self.all.append(Port(name=name))
        return known or name

    def take(self, others: list[Port], fields: list[str]) -> None:
        """Copies what the other source knows of each port; what it does not know stays as it was."""
        for other in others if fields else ():
            name = self.named(other.name)
            assert name is not None
            place = self._place[name]
            told = {field: getattr(other, field) for field in fields}
            told = {field: value for field, value in told.items() if value not in (None, "", {})}
            if told.get("aggregate"):
                told["aggregate"] = self.named(told["aggregate"])
            self.all[place] = self.all[place].model_copy(update=told)


def _renamed(value: Any, ports: _Ports) -> Any:
    """One field of the other source; where it is rows that name ports, with the ports under our names."""
    if isinstance(value, CheckedRows):
        return packed([_row(row, ports) for row in value])
    return [_row(row, ports) for row in value] if isinstance(value, list) else value


def _row(row: Sighting | Neighbour | Address | Any, ports: _Ports) -> Any:
    if isinstance(row, Sighting):
        return row._replace(port=ports.named(row.port))
    if isinstance(row, Neighbour | Address):
        return row.model_copy(update={"port": ports.named(row.port)})
    return row
