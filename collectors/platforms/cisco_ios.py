"""Cisco IOS and IOS XE switches. IF-MIB ifName is the short form (`Gi1/0/1`), ifDescr the long one."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.contract import Ask, Completion, Platform, Rows, Unreadable
from collectors.snapshot import Hardware, Neighbour, Port, Power, System, Table

_NAME = "cisco_ios"

# What "show interfaces status" says: (admin, oper). A monitoring or suspended port may or may not have a link.
_STATUS: dict[str, tuple[wording.UpDown, wording.UpDown | None]] = {
    "connected": ("up", "up"),
    "notconnect": ("up", "down"),
    "err-disabled": ("up", "down"),
    "errdisabled": ("up", "down"),
    "disabled": ("down", "down"),
}


def status(text: str) -> Rows:
    """`show interfaces status`: the switch ports, with the untagged VLAN of access ports."""
    table = templates.rows_of(_NAME, "show interfaces status", text, form=r"^Port\s+Name\s+Status\s")
    return Rows(ports=[status_row(row) for row in table.rows], partial=table.partial)


def status_row(row: templates.Row) -> Port:
    """One line of such a table; Arista's looks the same."""
    # A cable test appends itself to the state: "connected: TDR".
    admin, oper = _STATUS.get(row["status"].partition(":")[0], (None, None))
    return Port(
        name=row["port"],
        alias=wording.text(row["name"]),
        admin=admin,
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_id"]),
    )


def details(text: str) -> Rows:
    """`show interfaces`: addresses, counters, and every interface that is no switch port."""
    heading = r"^\S+ is .*line protocol is"
    known, partial = templates.without_strange_blocks(text, heading)
    table = templates.rows_of(_NAME, "show interfaces", known, form=heading, blocks=True)
    return Rows(ports=[_detail(row) for row in table.rows], partial=table.partial or partial)


def _detail(row: templates.Row) -> Port:
    counted = {"in_errors": "input_errors", "fcs_errors": "crc", "out_errors": "output_errors"}
    counters = {ours: wording.number(row[theirs]) for ours, theirs in counted.items()}
    oper = wording.up_down(row["protocol_status"])
    return Port(
        name=row["interface"],
        descr=row["interface"],
        alias=wording.text(row["description"]),
        mac=wording.mac(row["mac_address"]),
        admin="down" if "administratively" in row["link_status"] else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        counters={name: count for name, count in counters.items() if count is not None},
    )


def forwarding(text: str) -> Rows:
    """`show mac address-table`."""
    table = templates.rows_of(
        _NAME, "show mac address-table", text, form=r"mac address|Destination Address", total=r"criterion: *(\d+)"
    )
    rows = Rows(partial=table.partial)
    for row in table.rows:
        for port in row["destination_port"] or [""]:
            rows.seen += wording.seen(row["destination_address"], wording.vlan_id(row["vlan_id"]), port, row["type"])
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id",),
    "port_id": ("port id",),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("enabled capabilities",),
    "management_address": ("ip", "ipv6"),
    "pvid": ("vlan id",),
    "mau_type": ("media attachment unit type",),
    "maker": ("manufacturer",),
    "model": ("model",),
    "serial": ("serial number",),
}
_KNOWN = blocks.labels_of(_LABELS, "local intf", "time remaining", "system capabilities")


def neighbours(text: str) -> Rows:
    """`show lldp neighbors detail`. Software of the 12.2 line does not print the local port."""
    if not re.search(r"^Chassis id:|^Total entries displayed: 0", text, re.MULTILINE):
        raise Unreadable("no chassis id in the answer")
    with_port = re.search(r"^Local Intf:", text, re.MULTILINE)
    found = blocks.blocks(text, "local intf" if with_port else "chassis id", known=_KNOWN)
    rows = Rows(
        neighbours=[blocks.neighbour(one, _LABELS, one.get("local intf")) for one in found if one.get("chassis id")]
    )
    rows.partial = blocks.miscounted(text, r"Total entries displayed: *(\d+)", len(rows.neighbours))
    return rows


def brief_neighbours(text: str) -> Rows:
    """`show lldp neighbors`: names cut to 20 characters, no chassis ids."""
    table = templates.rows_of(_NAME, "show lldp neighbors", text, form=r"^Device ID\s+Local Intf")
    return Rows(neighbours=[brief_neighbour(row) for row in table.rows], partial=table.partial)


def brief_neighbour(row: templates.Row) -> Neighbour:
    """One line of such a list; NX-OS prints the same."""
    return Neighbour(
        port=row["local_interface"],
        port_id=wording.identifier(row["neighbor_interface"]),
        system_name=wording.text(row["neighbor_name"]),
        capabilities=wording.capabilities(row["capabilities"] or None, letters=True),
    )


def with_ports(found: Rows, brief: Rows) -> Rows:
    """Details without local ports, completed from the brief list where the neighbour's port and name name one line."""
    for one in found.neighbours:
        lines = [
            line
            for line in brief.neighbours
            if line.port_id == one.port_id and one.system_name.startswith(line.system_name)
        ]
        if one.port is None and len(lines) == 1:
            one.port = lines[0].port
    return found


def cdp_neighbours(text: str) -> Rows:
    """`show cdp neighbors detail`, where LLDP is off: Cisco's own protocol is on from the factory."""
    table = templates.rows_of(_NAME, "show cdp neighbors detail", text, form=r"^Device ID:|CDP entries displayed *: *0")
    return Rows(neighbours=[_cdp(row) for row in table.rows], partial=table.partial)


def _cdp(row: templates.Row) -> Neighbour:
    return Neighbour(
        port=row["local_interface"],
        protocol="cdp",
        chassis_id=wording.identifier(row["neighbor_name"]),
        port_id=wording.text(row["neighbor_interface"]),
        system_name=wording.text(row["neighbor_name"]),
        system_description=wording.text(row["neighbor_description"]),
        capabilities=wording.capabilities(row["capabilities"] or None),
        management_addresses=wording.management_addresses([row["mgmt_address"]]),
        model=wording.text(row["platform"]),
    )


def vlans(text: str) -> Rows:
    """`show vlan brief`."""
    table = templates.rows_of(_NAME, "show vlan brief", text, form=r"^VLAN\s+Name\s+Status")
    return Rows(
        vlans=wording.vlan_names((row["vlan_id"], row["vlan_name"]) for row in table.rows), partial=table.partial
    )


def aggregation(text: str) -> Rows:
    """`show etherchannel summary`."""
    table = templates.rows_of(_NAME, "show etherchannel summary", text, form=r"channel-groups in use|^Group\s+Port-ch")
    members = [(port, row["bundle_name"]) for row in table.rows for port in row["member_interface"]]
    return Rows(ports=[Port(name=port, aggregate=bundle) for port, bundle in members], partial=table.partial)


_POWER_STATES: dict[str, wording.PowerState] = {
    "on": "deliveringPower",
    "off": "searching",
    "faulty": "fault",
    "fault": "fault",
    "power-deny": "otherFault",
}


def power(text: str) -> Rows:
    """`show power inline`. An `off` port that may deliver is looking for a device."""
    table = templates.rows_of(_NAME, "show power inline", text, form=r"^Interface\s+Admin\s+Oper")
    return Rows(ports=[Port(name=row["interface"], power=_power(row)) for row in table.rows], partial=table.partial)


def _power(row: templates.Row) -> Power:
    enabled = row["admin_status"] not in ("off", "never")
    delivering = row["operational_status"] == "on"
    watts = re.fullmatch(r"\d+(?:\.\d+)?", row["power"])
    grade = wording.number(row["class"])
    return Power(
        enabled=enabled,
        state=_POWER_STATES.get(row["operational_status"]) if enabled else "disabled",
        power_class=grade if delivering and grade is not None and grade <= 8 else None,
        watts=float(watts.group()) if watts else None,
    )


def addresses(text: str) -> Rows:
    """`show ip arp`."""
    table = templates.rows_of(_NAME, "show ip arp", text, form=r"^Protocol\s+Address")
    told = ((row["ip_address"], row["mac_address"], row["interface"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


def system(text: str) -> Rows:
    """`show version`: what the switch calls itself, and its base address, which LLDP sends as chassis id."""
    table = templates.rows_of(_NAME, "show version", text, form=r"^Cisco ")
    row = table.rows[0] if table.rows else {}
    first = re.search(r"^Cisco .*$", text, re.MULTILINE)
    own = (wording.mac(one) for one in row.get("mac_address", []))
    return Rows(
        system=System(descr=wording.text(first and first.group()), name=wording.text(row.get("hostname"))),
        own_macs=[one for one in own if one],
    )


def hardware(text: str) -> Rows:
    """`show inventory`."""
    table = templates.rows_of(_NAME, "show inventory", text, form=r"^NAME:")
    return Rows(hardware=[hardware_row(row) for row in table.rows], partial=table.partial)


def hardware_row(row: templates.Row) -> Hardware:
    """One item of an inventory."""
    return Hardware(
        name=wording.text(row["name"]),
        descr=wording.text(row["descr"]),
        model=wording.text(row["pid"]),
        serial=wording.text(row["sn"]),
    )


PLATFORM = Platform(
    name=_NAME,
    driver="cisco_ios",
    asks=(
        Ask(Table.SYSTEM, "show version", system),
        Ask(
            Table.INTERFACES,
            "show interfaces status",
            status,
            instead=Ask(Table.INTERFACES, "show interfaces", details),
        ),
        Ask(Table.BRIDGE_PORTS, "show interfaces status", status),
        Ask(Table.ETHERNET, "show interfaces", details),
        Ask(Table.VLANS, "show vlan brief", vlans),
        Ask(
            Table.FORWARDING,
            "show mac address-table",
            forwarding,
            instead=Ask(Table.FORWARDING, "show mac-address-table", forwarding),
        ),
        Ask(
            Table.NEIGHBOURS,
            "show lldp neighbors detail",
            neighbours,
            then=Completion(
                lacks=lambda rows: any(one.port is None for one in rows.neighbours),
                command="show lldp neighbors",
                read=brief_neighbours,
                complete=with_ports,
            ),
            instead=Ask(Table.NEIGHBOURS, "show cdp neighbors detail", cdp_neighbours),
        ),
        Ask(Table.AGGREGATION, "show etherchannel summary", aggregation),
        Ask(Table.POWER, "show power inline", power),
        Ask(Table.ADDRESSES, "show ip arp", addresses),
        Ask(Table.HARDWARE, "show inventory", hardware),
    ),
    preparation=("terminal width 511", "terminal length 0"),
    port_words={
        "FastEthernet": "Fa",
        "GigabitEthernet": "Gi",
        "TwoGigabitEthernet": "Tw",
        "FiveGigabitEthernet": "Fi",
        "TenGigabitEthernet": "Te",
        "TwentyFiveGigE": "Twe",
        "FortyGigabitEthernet": "Fo",
        "HundredGigE": "Hu",
        "AppGigabitEthernet": "Ap",
        "Port-channel": "Po",
        "Vlan": "Vl",
        "Loopback": "Lo",
        "Tunnel": "Tu",
    },
)
