"""Cisco NX-OS. IF-MIB ifName is the long form (`Ethernet1/1`, `port-channel10`); tables shorten it (`Eth1/1`, `Po10`).

JSON where the software prints it (Nexus 3000 and 9000; later 5000 and 7000), else text.
"""

from __future__ import annotations

import re
from typing import Any

from collectors.platforms import blocks, json_rows, templates, wording
from collectors.platforms.cisco_ios import brief_neighbour, hardware_row
from collectors.platforms.contract import Ask, Platform, Rows, Seen, Unreadable, json_or_text
from collectors.snapshot import Hardware, Neighbour, Port, System, Table

_NAME = "cisco_nxos"
_DETAIL = "show lldp neighbors detail"


def _rows(text: str, name: str) -> list[dict[str, Any]]:
    """The rows of one table; NX-OS prints `TABLE_x` holding `ROW_x`, a list, or one object when there is one row."""
    return json_rows.dicts(json_rows.table(json_rows.load(text), f"TABLE_{name}", f"ROW_{name}"))


def interfaces(text: str) -> Rows:
    """`show interface | json`."""
    return Rows(ports=[_interface(row) for row in _rows(text, "interface") if row.get("interface")])


def _interface(row: dict[str, Any]) -> Port:
    counted = {"in_errors": "eth_inerr", "fcs_errors": "eth_crc", "out_errors": "eth_outerr"}
    counters = {ours: wording.number(row.get(theirs)) for ours, theirs in counted.items()}
    oper = wording.up_down(row.get("state") or row.get("svi_line_proto"))
    return Port(
        name=wording.text(row["interface"]),
        alias=wording.text(row.get("desc") or row.get("svi_desc")),
        mac=wording.mac(row.get("eth_hw_addr") or row.get("svi_mac")),
        admin=wording.up_down(row.get("admin_state") or row.get("svi_admin_state")),
        oper=oper,
        speed_mbps=wording.speed_mbps(row.get("eth_speed")) if oper == "up" else None,
        duplex=wording.duplex(row.get("eth_duplex")) if oper == "up" else None,
        counters={name: count for name, count in counters.items() if count is not None},
    )


def interfaces_text(text: str) -> Rows:
    """`show interface`."""
    table = templates.rows_of(_NAME, "show interface", text, form=r"^\S+ is (?:up|down)", blocks=True)
    return Rows(ports=[_interface_text(row) for row in table.rows], partial=table.partial)


def _interface_text(row: templates.Row) -> Port:
    oper = wording.up_down(row["link_status"])
    admin = "down" if "dministratively" in row["link_status"] else wording.up_down(row["admin_state"])
    return Port(
        name=row["interface"],
        alias=wording.text(row["description"]),
        mac=wording.mac(row["mac_address"]),
        admin=admin or ("up" if oper == "up" else None),
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
    )


def brief(text: str) -> Rows:
    """`show interface brief | json`: untagged VLANs and bundles."""
    return Rows(
        ports=[
            _brief(row["interface"], row.get("vlan"), row.get("portmode"), row.get("portchan"))
            for row in _rows(text, "interface")
            if row.get("interface")
        ]
    )


def _brief(name: Any, vlan: Any, mode: Any, bundle: Any) -> Port:
    number = wording.number(bundle)
    return Port(
        name=wording.text(name),
        # The VLAN of a trunk is its untagged one as well.
        pvid=wording.vlan_id(vlan) if mode in ("access", "trunk") else None,
        aggregate=f"port-channel{number}" if number else None,
    )


def brief_text(text: str) -> Rows:
    """`show interface brief`."""
    table = templates.rows_of(_NAME, "show interface brief", text, form=r"^(?:Ethernet|Port|Interface)\s+\w+")
    ports = [_brief(row["interface"], row["vlan_id"], row["mode"], row["portch"]) for row in table.rows]
    return Rows(ports=ports, partial=table.partial)


def forwarding(text: str) -> Rows:
    """`show mac address-table | json`."""
    rows = Rows()
    for row in _rows(text, "mac_address"):
        kind = "static" if str(row.get("disp_is_static")).lower() in ("enabled", "static", "true") else "dynamic"
        rows.seen += _seen(row.get("disp_mac_addr"), row.get("disp_vlan"), row.get("disp_port"), kind)
    return rows


def forwarding_text(text: str) -> Rows:
    """`show mac address-table`."""
    table = templates.rows_of(_NAME, "show mac address-table", text, form=r"VLAN\s+MAC Address\s+Type")
    rows = Rows(partial=table.partial)
    for row in table.rows:
        rows.seen += _seen(row["mac_address"], row["vlan_id"], row["ports"], row["type"])
    return rows


def _seen(mac: Any, vlan: Any, port: Any, kind: str) -> list[Seen]:
    where = re.sub(r"\s*\(R\)$", "", wording.text(port))
    if where.startswith("vPC"):
        # Learned from the peer: beyond the bundle to it, whose name is not printed here.
        return [one._replace(port=None) for one in wording.seen(mac, wording.vlan_id(vlan), "peer", kind)]
    return wording.seen(mac, wording.vlan_id(vlan), where, kind)


# Subtypes are printed as numbers, counted from 1 as in IEEE 802.1AB (chassis id and port id count differently).
_CHASSIS_KINDS = (
    *("", "chassisComponent", "interfaceAlias", "portComponent", "macAddress", "networkAddress", "interfaceName"),
    "local",
)
_PORT_KINDS = (
    *("", "interfaceAlias", "portComponent", "macAddress", "networkAddress", "interfaceName", "agentCircuitId"),
    "local",
)


def _kind(kinds: tuple[str, ...], said: Any) -> str:
    number = wording.number(said) or 0
    return kinds[number] if number < len(kinds) else ""


def neighbours(text: str) -> Rows:
    """`show lldp neighbors detail | json`."""
    return Rows(neighbours=[_neighbour(row) for row in _rows(text, "nbor_detail")])


def _neighbour(row: dict[str, Any]) -> Neighbour:
    def said(key: str) -> str:
        value = wording.text(row.get(key))
        return "" if value.lower() in ("null", "not advertised") else value

    chassis_kind = _kind(_CHASSIS_KINDS, row.get("chassis_type"))
    port_kind = _kind(_PORT_KINDS, row.get("port_type"))
    return Neighbour(
        port=said("l_port_id") or None,
        chassis_id=wording.identifier(said("chassis_id"), chassis_kind),
        chassis_id_kind=chassis_kind,
        port_id=wording.identifier(said("port_id"), port_kind),
        port_id_kind=port_kind,
        port_description=said("port_desc"),
        system_name=said("sys_name"),
        system_description=said("sys_desc"),
        capabilities=wording.capabilities(row.get("enabled_capability"), letters=True),
        management_addresses=wording.management_addresses([said("mgmt_addr"), said("mgmt_addr_ipv6")]),
        pvid=wording.vlan_id(said("vlan_id")),
    )


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id",),
    "port_id": ("port id",),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("enabled capabilities",),
    "management_address": ("management address", "management address ipv6"),
    "pvid": ("vlan id",),
}
_KNOWN = blocks.labels_of(_LABELS, "time remaining", "system capabilities", "local port id")


def neighbours_text(text: str) -> Rows:
    """`show lldp neighbors detail`."""
    if not re.search(r"^Chassis id:|^Total entries displayed: *0", text, re.MULTILINE):
        raise Unreadable("no chassis id in the answer")
    found = [one for one in blocks.blocks(text, "chassis id", known=_KNOWN) if one.get("chassis id")]
    rows = Rows(neighbours=[blocks.neighbour(one, _LABELS, one.get("local port id")) for one in found])
    rows.partial = blocks.miscounted(text, r"Total entries displayed: *(\d+)", len(rows.neighbours))
    return rows


def brief_neighbours(text: str) -> Rows:
    """`show lldp neighbors`: no chassis ids."""
    table = templates.rows_of(_NAME, "show lldp neighbors", text, form=r"^Device ID\s+Local Intf")
    return Rows(neighbours=[brief_neighbour(row) for row in table.rows], partial=table.partial)


def vlans(text: str) -> Rows:
    """`show vlan brief | json`."""
    told = ((row.get("vlanshowbr-vlanid"), row.get("vlanshowbr-vlanname")) for row in _rows(text, "vlanbriefxbrief"))
    return Rows(vlans=wording.vlan_names(told))


def vlans_text(text: str) -> Rows:
    """`show vlan brief`."""
    table = templates.rows_of(_NAME, "show vlan", text, form=r"^VLAN\s+Name\s+Status")
    told = ((row["vlan_id"], row["vlan_name"]) for row in table.rows)
    return Rows(vlans=wording.vlan_names(told), partial=table.partial)


def addresses(text: str) -> Rows:
    """`show ip arp | json`."""
    told = [
        (row.get("ip-addr-out"), row.get("mac"), row.get("intf-out"))
        for vrf in _rows(text, "vrf")
        for row in json_rows.dicts(json_rows.under(vrf, "TABLE_adj", "ROW_adj"))
    ]
    return Rows(addresses=wording.address_rows(told))


def addresses_text(text: str) -> Rows:
    """`show ip arp`."""
    table = templates.rows_of(_NAME, "show ip arp", text, form=r"^Address\s+Age\s+MAC Address")
    told = ((row["ip_address"], row["mac_address"], row["interface"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


def system(text: str) -> Rows:
    """`show version | json`."""
    found = json_rows.load(text)
    name = wording.text(json_rows.table(found, "host_name"))
    release = next((found[key] for key in ("nxos_ver_str", "sys_ver_str", "kickstart_ver_str") if found.get(key)), "")
    words = ("Cisco NX-OS", release, found.get("chassis_id"))
    return Rows(system=System(descr=wording.text(" ".join(str(word) for word in words if word)), name=name))


def system_text(text: str) -> Rows:
    """`show version`."""
    table = templates.rows_of(_NAME, "show version", text, form=r"Nexus Operating System")
    row = table.rows[0] if table.rows else {}
    words = ("Cisco NX-OS", row.get("os"), row.get("platform"))
    descr = wording.text(" ".join(word for word in words if word))
    return Rows(system=System(descr=descr, name=wording.text(row.get("hostname"))))


def hardware(text: str) -> Rows:
    """`show inventory | json`."""
    return Rows(
        hardware=[
            Hardware(
                name=wording.text(row.get("name")).strip('"'),
                descr=wording.text(row.get("desc")).strip('"'),
                model=wording.text(row.get("productid")),
                serial=wording.text(row.get("serialnum")),
            )
            for row in _rows(text, "inv")
        ]
    )


def hardware_text(text: str) -> Rows:
    """`show inventory`."""
    table = templates.rows_of(_NAME, "show inventory", text, form=r"^NAME:")
    return Rows(hardware=[hardware_row(row) for row in table.rows], partial=table.partial)


PLATFORM = Platform(
    name=_NAME,
    driver="cisco_nxos",
    asks=(
        json_or_text(Table.SYSTEM, "show version", "| json", system, system_text),
        json_or_text(Table.INTERFACES, "show interface", "| json", interfaces, interfaces_text),
        json_or_text(Table.ETHERNET, "show interface", "| json", interfaces, interfaces_text),
        json_or_text(Table.VLANS, "show vlan brief", "| json", vlans, vlans_text),
        json_or_text(Table.FORWARDING, "show mac address-table", "| json", forwarding, forwarding_text),
        Ask(
            Table.NEIGHBOURS,
            f"{_DETAIL} | json",
            neighbours,
            instead=Ask(
                Table.NEIGHBOURS,
                _DETAIL,
                neighbours_text,
                instead=Ask(Table.NEIGHBOURS, "show lldp neighbors", brief_neighbours),
            ),
        ),
        json_or_text(Table.AGGREGATION, "show interface brief", "| json", brief, brief_text),
        json_or_text(Table.BRIDGE_PORTS, "show interface brief", "| json", brief, brief_text),
        json_or_text(Table.ADDRESSES, "show ip arp", "| json", addresses, addresses_text),
        json_or_text(Table.HARDWARE, "show inventory", "| json", hardware, hardware_text),
    ),
    preparation=("terminal width 511", "terminal length 0"),
    port_words={"Eth": "Ethernet", "Po": "port-channel", "Port-channel": "port-channel", "Lo": "loopback"},
)
