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
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_id"]),
    )


def details(text: str) -> Rows:
    """`display interface`: addresses, whole descriptions."""
    table = templates.rows_of(_NAME, "display interface", text, form=r"^\s*Current state|current state:", blocks=True)
    return Rows(ports=[_detail(row) for row in table.rows], partial=table.partial)


def _detail(row: templates.Row) -> Port:
    oper = wording.up_down(row["line_status"])
    untagged = row["vlan_native"] or row["untagged_vlan_id"]
    default = f"{row['interface']} Interface"
    return Port(
        name=row["interface"],
        alias="" if row["description"] == default else wording.text(row["description"]),
        mac=wording.mac(templates.first(row["hw_address"])),
        admin="down" if "dministratively" in row["line_status"] else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(templates.first(untagged)),
    )


_ENTRY = re.compile(r"^\s*([0-9a-f]{4}(?:-[0-9a-f]{4}){2})\s+(\d+)\s+(\S.*?)\s+(\S+)\s+\S+\s*$", re.MULTILINE)


def forwarding(text: str) -> Rows:
    """`display mac-address`. Read here: the template takes half of the state `Config static` for the port."""
    if not re.search(r"^MAC ADDR(?:ESS)?\s+VLAN ID", text, re.IGNORECASE | re.MULTILINE):
        raise Unreadable("no 'MAC Address  VLAN ID' header in the answer")
    rows = Rows()
    for mac, vlan, state, port in _ENTRY.findall(text):
        rows.seen += wording.seen(mac, wording.vlan_id(vlan), port, state)
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
    """`display vlan brief`, or `display vlan all` on Comware 5. Names may hold blanks: `VLAN 0020` from the factory."""
    full = re.findall(r"^\s*VLAN ID: *(\d+)[^\0]*?^\s*Name: *(\S.*?)\s*$", text, re.MULTILINE)
    brief = re.findall(r"^(\d+)\s+(\S.*?)(?:\s{2,}.*)?$", text, re.MULTILINE)
    if not full and not re.search(r"^VLAN ID\s+Name", text, re.MULTILINE):
        raise Unreadable("neither 'VLAN ID:' nor 'VLAN ID  Name' in the answer")
    return Rows(vlans=wording.vlan_names(full or brief))


def aggregation(text: str) -> Rows:
    """`display link-aggregation verbose`: under each aggregate its own members, and behind them the partner's."""
    if not re.search(r"^Aggregat(?:e|ion) Interface:|^Loadsharing Type", text, re.MULTILINE):
        raise Unreadable("no 'Aggregate Interface' line in the answer")
    rows = Rows()
    bundle, local = "", False
    for line in text.splitlines():
        heading = re.match(r"Aggregat(?:e|ion) Interface:\s*(\S+)", line)
        if heading:
            bundle, local = heading.group(1), False
        elif re.match(r"(?:Local|Port Status|Remote)\b.*:", line):
            local = not line.startswith("Remote")
        member = re.match(r"\s+([A-Za-z][\w\-]*\d[\d/]*)(?:\([RC]\))?\s+[SUI]\s", line)
        if member and bundle and local:
            rows.ports.append(Port(name=member.group(1), aggregate=bundle))
    return rows


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
        Ask(Table.BRIDGE_PORTS, "display interface brief", brief),
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
