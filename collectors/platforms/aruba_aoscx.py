"""Aruba AOS-CX. Port names (`1/1/1`, `lag100`) are those of IF-MIB ifName."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Hardware, Port, System, Table

_NAME = "aruba_aoscx"


def interfaces(text: str) -> Rows:
    """`show interface`, with the members that each aggregate names."""
    table = templates.rows_of(_NAME, "show interface", text, form=r"^Interface \S+ is ", blocks=True)
    bundle = {port: row["interface"] for row in table.rows for port in row["aggregated_interfaces"]}
    ports = [_interface(row) for row in table.rows]
    for port in ports:
        port.aggregate = bundle.get(port.name)
    return Rows(ports=ports, partial=table.partial)


def _interface(row: templates.Row) -> Port:
    counted = {"in_octets": "rx_total_bytes", "out_octets": "tx_total_bytes", "in_errors": "rx_errors"}
    counted |= {"out_errors": "tx_errors", "fcs_errors": "rx_crc_fcs", "collisions": "tx_collision"}
    counters = {ours: wording.number(row[theirs]) for ours, theirs in counted.items()}
    oper = wording.up_down(row["link_status"])
    return Port(
        name=row["interface"],
        alias=wording.text(row["interface_desc"]),
        mac=wording.mac(row["mac_address"]),
        admin=wording.up_down(row["link_admin"]),
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_access"]) or wording.vlan_id(row["vlan_native"]),
        auto_negotiation={"on": True, "off": False}.get(row["auto_neg"]),
        counters={name: count for name, count in counters.items() if count is not None},
    )


def forwarding(text: str) -> Rows:
    """`show mac-address-table`."""
    table = templates.rows_of(
        _NAME, "show mac-address-table", text, form=r"MAC age-time|No MAC entries", total=r"MAC addresses *: *(\d+)"
    )
    rows = Rows(partial=table.partial)
    for row in table.rows:
        rows.seen += wording.seen(row["mac_address"], wording.vlan_id(row["vlan_id"]), row["port"], row["type"])
    aging = re.search(r"MAC age-time *: *(\d+)", text)
    rows.aging_seconds = int(aging.group(1)) if aging else None
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("neighbor chassis-id",),
    "port_id": ("neighbor port-id",),
    "port_description": ("neighbor port-desc",),
    "system_name": ("neighbor chassis-name",),
    "system_description": ("neighbor chassis-description",),
    "capabilities": ("chassis capabilities enabled",),
    "management_address": ("neighbor management-address",),
    "pvid": ("neighbor port vlan id",),
}
_KNOWN = blocks.labels_of(_LABELS, "port", "chassis capabilities available", "ttl")


def neighbours(text: str) -> Rows:
    """`show lldp neighbor-info detail`."""
    if not re.search(r"^LLDP Neighbor Information", text, re.MULTILINE):
        raise Unreadable("no 'LLDP Neighbor Information' line in the answer")
    found = [one for one in blocks.blocks(text, "port", known=_KNOWN) if one.get("neighbor chassis-id")]
    dropped = re.search(r"^Total Neighbor Entries Dropped\s*: ([1-9]\d*)", text, re.MULTILINE)
    counted = blocks.miscounted(text, r"^Total Neighbor Entries\s+: *(\d+)", len(found))
    return Rows(
        neighbours=[blocks.neighbour(one, _LABELS, one.get("port")) for one in found],
        partial=f"the table was full: {dropped.group(1)} neighbours dropped" if dropped else counted,
    )


def local(text: str) -> Rows:
    """`show lldp local-device`."""
    found = next(blocks.blocks(text, "chassis-id", known=frozenset()), blocks.Block())
    if not found.get("chassis-id"):
        raise Unreadable("no 'Chassis-ID' in the answer")
    return Rows(
        chassis_id=wording.identifier(found.get("chassis-id")),
        lldp_name=wording.text(found.get("system name")),
        system=System(descr=wording.text(found.get("system description"))),
    )


def vlans(text: str) -> Rows:
    """`show vlan`."""
    table = templates.rows_of(_NAME, "show vlan", text, form=r"^VLAN\s+Name\s+Status")
    return Rows(
        vlans=wording.vlan_names((row["vlan_id"], row["vlan_name"]) for row in table.rows), partial=table.partial
    )


def addresses(text: str) -> Rows:
    """`show arp all-vrfs`; the physical port stands beside the routed interface."""
    table = templates.rows_of(_NAME, "show arp all-vrfs", text, form=r"^IPv4 Address\s+MAC|No ARP entries")
    told = ((row["ip_address"], row["mac_address"], row["physical_port"] or row["port_id"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


def system(text: str) -> Rows:
    """`show system`."""
    name = wording.labelled(text, "Hostname")
    if not name:
        raise Unreadable("no 'Hostname' in the answer")
    words = (wording.labelled(text, label) for label in ("Vendor", "Product Name", "A(?:ruba)?OS-CX Version"))
    own = wording.mac(wording.labelled(text, "Base MAC Address"))
    return Rows(
        system=System(
            descr=" ".join(word for word in words if word),
            name=name,
            location=wording.labelled(text, "System Location"),
        ),
        own_macs=[own] if own else [],
    )


def hardware(text: str) -> Rows:
    """`show system` again, for the chassis."""
    serial = wording.labelled(text, "Chassis Serial Nbr")
    if not serial:
        raise Unreadable("no 'Chassis Serial Nbr' in the answer")
    return Rows(hardware=[Hardware(kind="chassis", model=wording.labelled(text, "Product Name"), serial=serial)])


PLATFORM = Platform(
    name=_NAME,
    driver="aruba_aoscx",
    asks=(
        Ask(Table.SYSTEM, "show system", system),
        Ask(Table.INTERFACES, "show interface", interfaces),
        Ask(Table.BRIDGE_PORTS, "show interface", interfaces),
        Ask(Table.ETHERNET, "show interface", interfaces),
        Ask(Table.AGGREGATION, "show interface", interfaces),
        Ask(Table.VLANS, "show vlan", vlans),
        Ask(Table.FORWARDING, "show mac-address-table", forwarding),
        Ask(Table.LLDP_LOCAL, "show lldp local-device", local),
        Ask(Table.NEIGHBOURS, "show lldp neighbor-info detail", neighbours),
        Ask(Table.ADDRESSES, "show arp all-vrfs", addresses),
        Ask(Table.HARDWARE, "show system", hardware),
    ),
    preparation=("no page",),
)
