"""What is read for each table: objects that share their rows are asked for together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from collectors.snapshot import Table
from collectors.tables import (
    addresses,
    aggregation,
    bridge,
    cdp,
    ethernet,
    hardware,
    interfaces,
    lldp,
    power,
    spanning_tree,
)  # fmt: skip
from collectors.tables.mib import OBJECTS, Oid


class Read(NamedTuple):
    """Objects that are walked together, for one table."""

    table: Table
    objects: tuple[str, ...]


READS = (
    Read(Table.INTERFACES, interfaces.OBJECTS),
    Read(Table.BRIDGE_PORTS, bridge.BASE_OBJECTS),
    Read(Table.BRIDGE_PORTS, bridge.NEWER_BASE_OBJECTS),
    Read(Table.FORWARDING, bridge.DOT1Q_OBJECTS),
    Read(Table.FORWARDING, bridge.NEWER_DOT1Q_OBJECTS),
    Read(Table.FORWARDING, bridge.DOT1D_OBJECTS),
    Read(Table.VLANS, bridge.VLAN_OBJECTS),
    Read(Table.VLANS, bridge.VENDOR_VLAN_OBJECTS),
    Read(Table.LLDP_LOCAL, lldp.LOCAL_OBJECTS),
    Read(Table.NEIGHBOURS, lldp.OBJECTS),
    Read(Table.NEIGHBOURS, lldp.EXTENSION_OBJECTS),
    Read(Table.NEIGHBOURS, lldp.V2_OBJECTS),
    Read(Table.NEIGHBOURS, cdp.OBJECTS),
    Read(Table.AGGREGATION, aggregation.OBJECTS),
    Read(Table.ETHERNET, ethernet.OBJECTS),
    Read(Table.ETHERNET, ethernet.MAU_OBJECTS),
    Read(Table.SPANNING_TREE, spanning_tree.OBJECTS),
    Read(Table.ADDRESSES, addresses.OBJECTS),
    Read(Table.ADDRESSES, addresses.NEWER_OBJECTS),
    Read(Table.POWER, power.OBJECTS),
    Read(Table.POWER, power.GROUP_OBJECTS),
    Read(Table.HARDWARE, hardware.OBJECTS),
)
"""In the order of their worth: a switch whose time runs out has told the first ones."""

SCALARS: dict[Table, tuple[str, ...]] = {
    Table.BRIDGE_PORTS: ("dot1dBaseBridgeAddress", "dot1dBaseNumPorts"),
    Table.FORWARDING: ("dot1dTpLearnedEntryDiscards", "dot1dTpAgingTime"),
    Table.LLDP_LOCAL: lldp.SCALARS[:3],
    Table.NEIGHBOURS: lldp.SCALARS[3:],
    Table.SPANNING_TREE: spanning_tree.SCALARS,
}
"""Single objects that are read for a table, or that tell whether its MIB is served at all."""

_NEEDS: dict[Table, tuple[Table, ...]] = {
    Table.FORWARDING: (Table.BRIDGE_PORTS, Table.VLANS),
    Table.VLANS: (Table.BRIDGE_PORTS,),
    Table.SPANNING_TREE: (Table.BRIDGE_PORTS,),
    Table.NEIGHBOURS: (Table.LLDP_LOCAL, Table.BRIDGE_PORTS),
    Table.POWER: (Table.BRIDGE_PORTS,),
}
"""What is read besides, to name the ports and VLANs of a table's rows."""


def needed(want: Iterable[Table]) -> frozenset[Table]:
    """The wanted tables with what their rows cannot be understood without; interfaces always."""
    wanted = set(want)
    return frozenset(wanted | {Table.INTERFACES} | {need for table in wanted for need in _NEEDS.get(table, ())})


def entry(name: str) -> Oid:
    """The OID above a column: that of its row, which tells in one question whether there are any rows."""
    return OBJECTS[name][:-1]
