"""Arista EOS. IF-MIB ifName is the long form (`Ethernet1`, `Port-Channel1`); text tables shorten it (`Et1`, `Po1`).

Every release prints JSON; text stands in where `| json` is not allowed.
"""

from __future__ import annotations

import re
from typing import Any, get_args

from collectors.platforms import blocks, json_rows, templates, wording
from collectors.platforms.cisco_ios import status_row
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable, json_or_text
from collectors.snapshot import Hardware, Neighbour, Port, System, Table

_NAME = "arista_eos"
_DETAIL = "show lldp neighbors detail"
# EOS says lineProtocolStatus in the words of ifOperStatus.
_OPER: dict[str, wording.Oper] = {word: word for word in get_args(wording.Oper)}


def interfaces(text: str) -> Rows:
    """`show interfaces | json`."""
    found = json_rows.table(json_rows.load(text), "interfaces")
    return Rows(ports=[_interface(name, one) for name, one in json_rows.items(found)])


def _interface(name: str, one: dict[str, Any]) -> Port:
    counted = {
        "in_octets": ("inOctets",),
        "out_octets": ("outOctets",),
        "in_errors": ("totalInErrors",),
        "out_errors": ("totalOutErrors",),
        "fcs_errors": ("inputErrorsDetail", "fcsErrors"),
        "late_collisions": ("outputErrorsDetail", "lateCollisions"),
    }
    counters = {
        ours: wording.number(json_rows.under(one, "interfaceCounters", *path)) for ours, path in counted.items()
    }
    oper = _OPER.get(str(one.get("lineProtocolStatus")))
    bits = wording.number(one.get("bandwidth"))
    return Port(
        name=wording.text(name),
        alias=wording.text(one.get("description")),
        mac=wording.mac(one.get("physicalAddress")),
        admin="down" if one.get("interfaceStatus") == "disabled" else "up",
        oper=oper,
        speed_mbps=bits // 1_000_000 or None if bits else None,
        duplex=wording.duplex(one.get("duplex")) if oper == "up" else None,
        counters={counter: count for counter, count in counters.items() if count is not None},
    )


def status_text(text: str) -> Rows:
    """`show interfaces status`."""
    table = templates.rows_of(_NAME, "show interfaces status", text, form=r"^Port\s+Name\s+Status\s")
    ports = []
    for row in table.rows:
        port = status_row(row)
        member = re.fullmatch(r"(?:in )?(Po\d+)", row["vlan_id"])
        port.aggregate = member.group(1) if member else None
        ports.append(port)
    return Rows(ports=ports, partial=table.partial)


def status(text: str) -> Rows:
    """`show interfaces status | json`: untagged VLANs of access ports, and bundles."""
    found = json_rows.table(json_rows.load(text), "interfaceStatuses")
    rows = Rows()
    for name, one in json_rows.items(found):
        told = json_rows.under(one, "vlanInformation")
        member = re.fullmatch(r"in (Po\S+)", str(json_rows.under(told, "vlanExplanation")))
        vlan = wording.vlan_id(json_rows.under(told, "vlanId"))
        rows.ports.append(Port(name=wording.text(name), pvid=vlan, aggregate=member.group(1) if member else None))
    return rows


def forwarding(text: str) -> Rows:
    """`show mac address-table | json`."""
    rows = Rows()
    for one in json_rows.dicts(json_rows.table(json_rows.load(text), "unicastTable", "tableEntries")):
        vlan = wording.vlan_id(one.get("vlanId"))
        rows.seen += wording.seen(one.get("macAddress"), vlan, one.get("interface"), one.get("entryType"))
    return rows


def forwarding_text(text: str) -> Rows:
    """`show mac address-table`; the multicast table that follows holds no stations."""
    unicast = re.split(r"^\s*Multicast mac", text, maxsplit=1, flags=re.IGNORECASE | re.MULTILINE)[0]
    table = templates.rows_of(
        _NAME, "show mac address-table", unicast, form=r"Mac Address\s+Type\s+Ports", total=r"criterion: *(\d+)"
    )
    rows = Rows(partial=table.partial)
    for row in table.rows:
        for port in row["destination_port"] or [""]:
            rows.seen += wording.seen(row["mac_address"], wording.vlan_id(row["vlan_id"]), port, row["type"])
    return rows


def neighbours(text: str) -> Rows:
    """`show lldp neighbors detail | json`."""
    found = json_rows.table(json_rows.load(text), "lldpNeighbors")
    return Rows(
        neighbours=[
            _neighbour(port, one)
            for port, told in json_rows.items(found)
            for one in json_rows.dicts(told.get("lldpNeighborInfo"))
        ]
    )


def _neighbour(port: str, one: dict[str, Any]) -> Neighbour:
    far = json_rows.under(one, "neighborInterfaceInfo")
    chassis_kind = wording.id_kind(one.get("chassisIdType"))
    port_kind = wording.id_kind(json_rows.under(far, "interfaceIdType"))
    port_id = json_rows.under(far, "interfaceId_v2") or json_rows.under(far, "interfaceId")
    enabled = one.get("systemCapabilities")
    return Neighbour(
        port=wording.text(port) or None,
        chassis_id=wording.identifier(one.get("chassisId"), chassis_kind),
        chassis_id_kind=chassis_kind,
        port_id=wording.identifier(port_id, port_kind),
        port_id_kind=port_kind,
        port_description=wording.text(json_rows.under(far, "interfaceDescription")),
        system_name=wording.text(one.get("systemName")),
        system_description=wording.text(one.get("systemDescription")),
        capabilities=wording.capabilities(",".join(name for name, on in enabled.items() if on is True))
        if isinstance(enabled, dict)
        else None,
        management_addresses=wording.management_addresses(
            address.get("address") for address in json_rows.dicts(one.get("managementAddresses"))
        ),
        pvid=wording.vlan_id(json_rows.under(far, "portVlanId")),
    )


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id",),
    "chassis_id_kind": ("chassis id type",),
    "port_id": ("port id",),
    "port_id_kind": ("port id type",),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("enabled capabilities",),
    "management_address": ("management address",),
    "pvid": ("ieee802.1 port vlan id",),
}
_KNOWN = blocks.labels_of(_LABELS, "time to live", "system capabilities", "management address subtype")


def neighbours_text(text: str) -> Rows:
    """`show lldp neighbors detail`."""
    heading = r"^Interface (\S+) detected \d+ LLDP neighbors"
    if not re.search(heading, text, re.MULTILINE):
        raise Unreadable("no 'Interface ... detected' line in the answer")
    found = blocks.blocks(text, "chassis id type", heading=heading, known=_KNOWN)
    return Rows(neighbours=[blocks.neighbour(one, _LABELS, one.heading) for one in found if one.get("chassis id")])


def brief_neighbours(text: str) -> Rows:
    """`show lldp neighbors`: names and ports only."""
    table = templates.rows_of(_NAME, "show lldp neighbors", text, form=r"^Port\s+Neighbor Device ID")
    return Rows(
        neighbours=[
            Neighbour(
                port=row["local_interface"],
                port_id=wording.identifier(row["neighbor_interface"]),
                system_name=wording.text(row["neighbor_name"]),
            )
            for row in table.rows
        ],
        partial=table.partial,
    )


def local(text: str) -> Rows:
    """`show lldp local-info | json`."""
    found = json_rows.load(text)
    return Rows(
        chassis_id=wording.identifier(json_rows.table(found, "chassisId")),
        lldp_name=wording.text(json_rows.under(found, "systemName")),
    )


def vlans(text: str) -> Rows:
    """`show vlan | json`."""
    found = json_rows.items(json_rows.table(json_rows.load(text), "vlans"))
    return Rows(vlans=wording.vlan_names((vlan, one.get("name")) for vlan, one in found))


def vlans_text(text: str) -> Rows:
    """`show vlan`."""
    table = templates.rows_of(_NAME, "show vlan", text, form=r"^VLAN\s+Name\s+Status")
    told = ((row["vlan_id"], row["vlan_name"]) for row in table.rows)
    return Rows(vlans=wording.vlan_names(told), partial=table.partial)


def addresses(text: str) -> Rows:
    """`show ip arp | json`. The interface may be a pair, `Vlan20, Ethernet5`: the port comes last."""
    found = json_rows.dicts(json_rows.table(json_rows.load(text), "ipV4Neighbors"))
    return Rows(
        addresses=wording.address_rows(
            (one.get("address"), one.get("hwAddress"), str(one.get("interface") or "").split(",")[-1]) for one in found
        )
    )


def system(text: str) -> Rows:
    """`show hostname | json`."""
    return Rows(system=System(name=wording.text(json_rows.table(json_rows.load(text), "hostname"))))


def hardware(text: str) -> Rows:
    """`show version | json`."""
    found = json_rows.load(text)
    model = wording.text(json_rows.table(found, "modelName"))
    own = wording.mac(found.get("systemMacAddress"))
    descr = wording.text(f"Arista EOS {found.get('version', '')} {model}")
    serial = wording.text(found.get("serialNumber"))
    return Rows(
        system=System(descr=descr),
        own_macs=[own] if own else [],
        hardware=[Hardware(kind="chassis", descr=descr, model=model, serial=serial)],
    )


PLATFORM = Platform(
    name=_NAME,
    driver="arista_eos",
    asks=(
        json_or_text(Table.SYSTEM, "show hostname", "| json", system),
        Ask(
            Table.INTERFACES,
            "show interfaces | json",
            interfaces,
            instead=Ask(Table.INTERFACES, "show interfaces status", status_text),
        ),
        json_or_text(Table.ETHERNET, "show interfaces", "| json", interfaces),
        json_or_text(Table.VLANS, "show vlan", "| json", vlans, vlans_text),
        json_or_text(Table.FORWARDING, "show mac address-table", "| json", forwarding, forwarding_text),
        json_or_text(Table.LLDP_LOCAL, "show lldp local-info", "| json", local),
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
        json_or_text(Table.AGGREGATION, "show interfaces status", "| json", status, status_text),
        json_or_text(Table.BRIDGE_PORTS, "show interfaces status", "| json", status, status_text),
        json_or_text(Table.ADDRESSES, "show ip arp", "| json", addresses),
        json_or_text(Table.HARDWARE, "show version", "| json", hardware),
    ),
    preparation=("terminal width 511", "terminal length 0"),
    port_words={"Et": "Ethernet", "Po": "Port-Channel", "Ma": "Management", "Vl": "Vlan", "Lo": "Loopback"},
)
