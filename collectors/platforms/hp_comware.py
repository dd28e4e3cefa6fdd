"""H3C and HPE Comware 5 and 7. ifName is the long form (`GigabitEthernet1/0/1`, `Bridge-Aggregation1`)."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Neighbour, Port, System, Table

_NAME = "hp_comware"


def brief(text: str) -> Rows:
    """`display interface brief`: names of all interfaces and their state; VLAN and speed of bridge ports."""
    form = r"^(?:The brief|Brief) information"
    table = templates.rows_of(_NAME, "display interface brief", text, form=form)
    return Rows(ports=[_brief(row) for row in table.rows], partial=table.partial)


def _brief(row: templates.Row) -> Port:
    down = row["link"].upper() == "ADM"
    oper = "down" if down else wording.up_down(row["link"])
    return Port(
        name=row["interface"],
        alias=wording.text(row["description"]).strip("-"),
        admin="down" if down else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]),
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_id"]),
    )


def details(text: str) -> Rows:
    """`display interface`: addresses, whole descriptions."""
    table = templates.rows_of(_NAME, "display interface", text, form=r"^\s*Current state|current state:")
    return Rows(ports=[_detail(row) for row in table.rows], partial=table.partial)


def _detail(row: templates.Row) -> Port:
    oper = wording.up_down(row["line_status"])
    untagged = row["vlan_native"] or row["untagged_vlan_id"]
    default = f"{row['interface']} Interface"
    return Port(
        name=row["interface"],
        alias="" if row["description"] == default else wording.text(row["description"]),
        mac=wording.mac(row["hw_address"]),
        admin="down" if "dministratively" in row["line_status"] else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]),
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(untagged[0] if isinstance(untagged, list) else untagged),
    )


def forwarding(text: str) -> Rows:
    """`display mac-address`. An entry that does not age was configured, or locked by port security."""
    table = templates.rows_of(_NAME, "display mac-address", text, form=r"^MAC ADDR(?:ESS)?\s+VLAN ID")
    rows = Rows(partial=table.partial)
    for row in table.rows:
        rows.seen += wording.seen(row["mac_address"], wording.vlan_id(row["vlan_id"]), row["interface"], row["state"])
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id",),
    "chassis_id_kind": ("chassis type", "chassisid subtype"),
    "port_id": ("port id",),
    "port_id_kind": ("port id type", "portid subtype"),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("system capabilities enabled",),
    "management_address": ("management address",),
    "pvid": ("port vlan id(pvid)",),
}
_KNOWN = blocks.labels_of(
    _LABELS, "system capabilities supported", "management address type", "auto-negotiation supported"
)


def neighbours(text: str) -> Rows:
    """`display lldp neighbor-information verbose`."""
    heading = r"^LLDP neighbor-information of port \d+\s*\[([^\]]+)\]"
    if not re.search(heading, text, re.MULTILINE):
        raise Unreadable("no 'LLDP neighbor-information of port' line in the answer")
    found = blocks.blocks(text, "lldp neighbor index", heading=heading, known=_KNOWN)
    return Rows(neighbours=[blocks.neighbour(one, _LABELS, one.heading) for one in found if one.get("chassis id")])


def brief_neighbours(text: str) -> Rows:
    """`display lldp neighbor-information list`."""
    command = "display lldp neighbor-information list"
    table = templates.rows_of(_NAME, command, text, form=r"^System Name\s+Local Interface")
    return Rows(
        neighbours=[
            Neighbour(
                port=row["local_interface"],
                chassis_id=wording.identifier(row["chassis_id"]),
                port_id=wording.identifier(row["neighbor_interface"]),
                system_name=wording.text(row["neighbor_name"]).removeprefix("-"),
            )
            for row in table.rows
        ],
        partial=table.partial,
    )


def local(text: str) -> Rows:
    """`display lldp local-information global`."""
    chassis = wording.labelled(text, "Chassis ID")
    if not chassis:
        raise Unreadable("no 'Chassis ID' in the answer")
    return Rows(chassis_id=wording.identifier(chassis), lldp_name=wording.labelled(text, "System name"))


def system(text: str) -> Rows:
    """The same answer: what the switch calls itself and its software."""
    name = wording.labelled(text, "System name")
    if not name:
        raise Unreadable("no 'System name' in the answer")
    return Rows(system=System(name=name, descr=wording.labelled(text, "System description")))


def vlans(text: str) -> Rows:
    """`display vlan brief`, or `display vlan all` on Comware 5."""
    full = re.search(r"^\s*VLAN ID\s*:", text, re.MULTILINE)
    command = "display vlan all" if full else "display vlan brief"
    table = templates.rows_of(_NAME, command, text, form=r"^\s*VLAN ID\s*:|^VLAN ID\s+Name")
    return Rows(
        vlans=wording.vlan_names((row["vlan_id"], row["vlan_name"]) for row in table.rows), partial=table.partial
    )


def aggregation(text: str) -> Rows:
    """`display link-aggregation verbose`."""
    form = r"^Aggregat(?:e|ion) Interface:|^Loadsharing Type"
    table = templates.rows_of(_NAME, "display link-aggregation verbose", text, form=form)
    members = [(port, row["interface"]) for row in table.rows for port in row["local_interfaces"] or []]
    return Rows(ports=[Port(name=port, aggregate=bundle) for port, bundle in members], partial=table.partial)


def addresses(text: str) -> Rows:
    """`display arp`."""
    table = templates.rows_of(_NAME, "display arp", text, form=r"IP address\s+MAC address")
    told = ((row["ip_address"], row["mac_address"], row["interface"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


_LOCAL = "display lldp local-information global"

PLATFORM = Platform(
    name=_NAME,
    driver="hp_comware",
    asks=(
        Ask(Table.SYSTEM, _LOCAL, system),
        Ask(Table.INTERFACES, "display interface brief", brief),
        Ask(Table.ETHERNET, "display interface", details),
        Ask(Table.VLANS, "display vlan brief", vlans, instead=Ask(Table.VLANS, "display vlan all", vlans)),
        Ask(Table.FORWARDING, "display mac-address", forwarding),
        Ask(Table.LLDP_LOCAL, _LOCAL, local),
        Ask(
            Table.NEIGHBOURS,
            "display lldp neighbor-information verbose",
            neighbours,
            instead=Ask(Table.NEIGHBOURS, "display lldp neighbor-information list", brief_neighbours),
        ),
        Ask(Table.AGGREGATION, "display link-aggregation verbose", aggregation),
        Ask(Table.ADDRESSES, "display arp", addresses),
    ),
    preparation=("screen-length disable",),
    port_words={
        "GE": "GigabitEthernet",
        "XGE": "Ten-GigabitEthernet",
        "MGE": "M-GigabitEthernet",
        "WGE": "Twenty-FiveGigE",
        "FGE": "FortyGigE",
        "HGE": "HundredGigE",
        "BAGG": "Bridge-Aggregation",
        "RAGG": "Route-Aggregation",
        "Vlan": "Vlan-interface",
        "Loop": "LoopBack",
        "InLoop": "InLoopBack",
        "REG": "Register-Tunnel",
    },
)
