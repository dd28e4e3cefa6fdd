"""HP ProCurve and Aruba switches with ArubaOS-Switch. Port names (`1`, `A7`, `1/24`, `Trk1`) are those of ifName."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Hardware, Neighbour, Port, System, Table

_NAME = "hp_procurve"

# A trunk member is printed with its trunk (`D1-Trk1`, cut to `1/51-...`), a port set by RADIUS with an asterisk.
_MEMBER = re.compile(r"(?P<port>[A-Z]?\d+|\d+/[A-Z]?\d+)(?:-(?P<trunk>Trk\d+|\.\.\.))?\*?")


def _port(said: str) -> tuple[str, str | None]:
    """Name and trunk of a port."""
    found = _MEMBER.fullmatch(said)
    if not found:
        return said, None
    return found["port"], found["trunk"] if found["trunk"] != "..." else None


def interfaces(text: str) -> Rows:
    """`show interfaces brief`. The mode of a port without link is what it would try, so no duplex is taken from it."""
    table = templates.rows_of(_NAME, "show interfaces brief", text, form=r"^\s*Port\s+Type\s+\|")
    return Rows(ports=[_interface(row) for row in table.rows], partial=table.partial)


def _interface(row: templates.Row) -> Port:
    name, trunk = _port(row["port"])
    oper = wording.up_down(row["status"])
    return Port(
        name=name,
        admin={"yes": "up", "no": "down"}.get(row["enabled"].lower()),
        oper=oper,
        speed_mbps=wording.speed_mbps(row["mode"]) if oper == "up" else None,
        duplex=wording.duplex(row["mode"]) if oper == "up" else None,
        aggregate=trunk,
    )


def status(text: str) -> Rows:
    """`show interfaces status`: names of ports, and the untagged VLAN."""
    table = templates.rows_of(_NAME, "show interfaces status", text, form=r"^\s*Port\s+Name\s+Status")
    return Rows(ports=[_status(row) for row in table.rows], partial=table.partial)


def _status(row: templates.Row) -> Port:
    name, trunk = _port(row["port"])
    oper = wording.up_down(row["status"])
    return Port(
        name=name,
        alias=wording.text(row["name"]).removesuffix("..."),
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["speed"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_untagged"]),
        aggregate=trunk,
    )


def forwarding(text: str) -> Rows:
    """`show mac-address`. Older software prints no VLAN."""
    table = templates.rows_of(_NAME, "show mac-address", text, form=r"^\s*MAC Address\s+(?:Located on )?Port")
    rows = Rows(partial=table.partial)
    for row in table.rows:
        rows.seen += wording.seen(row["mac_address"], wording.vlan_id(row["vlan_id"]), _port(row["port"])[0])
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("chassisid",),
    "chassis_id_kind": ("chassistype",),
    "port_id": ("portid",),
    "port_id_kind": ("porttype",),
    "port_description": ("portdescr",),
    "system_name": ("sysname",),
    "system_description": ("system descr",),
    "capabilities": ("system capabilities enabled",),
    "management_address": ("address",),
    "pvid": ("pvid",),
}
_KNOWN = blocks.labels_of(_LABELS, "system capabilities supported", "local port")


def neighbours(text: str) -> Rows:
    """`show lldp info remote-device detail`."""
    if not re.search(r"LLDP Remote Device", text, re.IGNORECASE):
        raise Unreadable("no 'LLDP Remote Device' line in the answer")
    found = [one for one in blocks.blocks(text, "local port", known=_KNOWN) if one.get("chassisid")]
    return Rows(neighbours=[blocks.neighbour(one, _LABELS, one.get("local port")) for one in found])


def brief_neighbours(text: str) -> Rows:
    """`show lldp info remote-device`."""
    table = templates.rows_of(_NAME, "show lldp info remote-device", text, form=r"LocalPort\s+\|\s+ChassisId")
    return Rows(
        neighbours=[
            Neighbour(
                port=row["local_interface"],
                chassis_id=wording.identifier(row["chassis_id"]),
                port_id=wording.identifier(row["neighbor_interface"]),
                port_description=wording.text(row["neighbor_description"]),
                system_name=wording.text(row["neighbor_name"]).removesuffix("..."),
            )
            for row in table.rows
        ],
        partial=table.partial,
    )


def local(text: str) -> Rows:
    """`show lldp info local-device`."""
    chassis = wording.labelled(text, "Chassis Id")
    if not chassis:
        raise Unreadable("no 'Chassis Id' in the answer")
    return Rows(
        chassis_id=wording.identifier(chassis),
        lldp_name=wording.labelled(text, "System Name"),
        system=System(descr=wording.labelled(text, "System Description").removesuffix("...")),
    )


def vlans(text: str) -> Rows:
    """`show vlans`."""
    table = templates.rows_of(_NAME, "show vlans", text, form=r"VLAN ID\s+Name")
    return Rows(
        vlans=wording.vlan_names((row["vlan_id"], row["vlan_name"]) for row in table.rows), partial=table.partial
    )


def aggregation(text: str) -> Rows:
    """`show trunks`."""
    table = templates.rows_of(_NAME, "show trunks", text, form=r"^\s*Port\s+\|\s+Name|Load Balancing")
    return Rows(
        ports=[Port(name=row["local_port"], aggregate=row["trunk"]) for row in table.rows], partial=table.partial
    )


def addresses(text: str) -> Rows:
    """`show arp`."""
    table = templates.rows_of(_NAME, "show arp", text, form=r"IP Address\s+MAC Address")
    told = ((row["ip_address"], row["mac_address"], row["port"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


def system(text: str) -> Rows:
    """`show system`."""
    if not re.search(r"System Name\s*:", text):
        raise Unreadable("no 'System Name' in the answer")
    own = wording.mac(wording.labelled(text, "Base MAC Addr"))
    aging = wording.number(wording.labelled(text, r"MAC Age Time \(sec\)"))
    return Rows(
        system=System(name=wording.labelled(text, "System Name"), location=wording.labelled(text, "System Location")),
        own_macs=[own] if own else [],
        aging_seconds=aging,
    )


def hardware(text: str) -> Rows:
    """`show system` again, for the serial number."""
    serial = wording.labelled(text, "Serial Number")
    if not serial:
        raise Unreadable("no 'Serial Number' in the answer")
    return Rows(hardware=[Hardware(kind="chassis", serial=serial)])


PLATFORM = Platform(
    name=_NAME,
    driver="hp_procurve",
    asks=(
        Ask(Table.SYSTEM, "show system", system),
        Ask(
            Table.INTERFACES,
            "show interfaces brief",
            interfaces,
            instead=Ask(Table.INTERFACES, "show interfaces status", status),
        ),
        Ask(Table.ETHERNET, "show interfaces status", status),
        Ask(Table.BRIDGE_PORTS, "show interfaces status", status),
        Ask(Table.VLANS, "show vlans", vlans),
        Ask(Table.FORWARDING, "show mac-address", forwarding),
        Ask(Table.LLDP_LOCAL, "show lldp info local-device", local),
        Ask(
            Table.NEIGHBOURS,
            "show lldp info remote-device detail",
            neighbours,
            instead=Ask(Table.NEIGHBOURS, "show lldp info remote-device", brief_neighbours),
        ),
        Ask(Table.AGGREGATION, "show trunks", aggregation),
        Ask(Table.ADDRESSES, "show arp", addresses),
        Ask(Table.HARDWARE, "show system", hardware),
    ),
    preparation=("terminal width 511", "no page"),
)
