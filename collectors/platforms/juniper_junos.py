"""Juniper Junos. Its JSON wraps every value as `[{"data": ...}]`, after the element names of its XML.

Ports are named without the unit of the logical interface (`ge-0/0/1.0` is port `ge-0/0/1`). The MAC table prints VLAN
names, so VLANs are asked for as well. LLDP comes as a list without capabilities: details exist for one port at a time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from collectors.platforms import json_rows, templates, wording
from collectors.platforms.contract import Platform, Rows, Unreadable, json_or_text
from collectors.snapshot import Hardware, Neighbour, Port, System, Table

_NAME = "juniper_junos"
_JSON = "| display json"


def _said(found: Any, *keys: str) -> str:
    """The value of the first of these elements that is there."""
    for key in keys:
        value = json_rows.under(found, key, "data")
        if value is not None:
            return wording.text(value)
    return ""


def _port(name: str) -> str:
    return name if name.startswith("irb") else re.sub(r"\.\d+$", "", name)


def interfaces(text: str) -> Rows:
    """`show interfaces | display json`."""
    found = json_rows.table(json_rows.load(text), "interface-information", "physical-interface")
    return Rows(ports=[_interface(one) for one in json_rows.dicts(found) if _said(one, "name")])


def _interface(one: dict[str, Any]) -> Port:
    oper = wording.up_down(_said(one, "oper-status"))
    bundles = (
        _said(family, "ae-bundle-name")
        for logical in json_rows.dicts(one.get("logical-interface"))
        for family in json_rows.dicts(logical.get("address-family"))
    )
    bundle = next((_port(name) for name in bundles if name), None)
    return Port(
        name=_said(one, "name"),
        if_index=wording.number(_said(one, "snmp-index")),
        alias=_said(one, "description"),
        mac=wording.mac(_said(one, "current-physical-address", "hardware-physical-address")),
        admin=wording.up_down(_said(one, "admin-status")),
        oper=oper,
        speed_mbps=wording.speed_mbps(_said(one, "speed")) if oper == "up" else None,
        duplex=wording.duplex(_said(one, "duplex", "link-mode")) if oper == "up" else None,
        aggregate=bundle,
    )


def interfaces_text(text: str) -> Rows:
    """`show interfaces`."""
    table = templates.rows_of(_NAME, "show interfaces", text, form=r"^Physical interface: ", blocks=True)
    return Rows(
        ports=[
            Port(
                name=row["interface"],
                alias=wording.text(row["description"]),
                admin="up" if row["admin_state"].lower().startswith("enabled") else "down",
                oper=wording.up_down(row["link_status"]),
            )
            for row in table.rows
            if not re.search(r"\.\d+$", row["interface"])
        ],
        partial=table.partial,
    )


def _entries(document: Any) -> Iterator[tuple[str, str, str, str]]:
    """VLAN (number or name), address, port and kind, in the two forms that Junos switches print."""
    databases = json_rows.under(document, "l2ng-l2ald-rtb-macdb")
    if databases is None:
        found = json_rows.table(document, "ethernet-switching-table-information", "ethernet-switching-table")
        for one in json_rows.dicts(json_rows.under(found, "mac-table-entry")):
            listed = json_rows.under(one, "mac-interfaces-list")
            port = _said(listed, "mac-interfaces") or _said(one, "mac-interface")
            yield _said(one, "mac-vlan"), _said(one, "mac-address"), port, _said(one, "mac-type")
        return
    for database in json_rows.dicts(databases):
        for group in json_rows.dicts(database.get("l2ng-l2ald-mac-entry-vlan")):
            for one in json_rows.dicts(group.get("l2ng-mac-entry")):
                port = _said(one, "l2ng-l2-mac-logical-interface")
                vlan, mac = _said(one, "l2ng-l2-mac-vlan-name"), _said(one, "l2ng-l2-mac-address")
                yield vlan, mac, port, _said(one, "l2ng-l2-mac-flags")


def forwarding(text: str) -> Rows:
    """`show ethernet-switching table | display json`."""
    rows = Rows()
    for vlan, mac, port, kind in _entries(json_rows.load(text)):
        rows.seen += wording.seen(mac, _vlan(vlan), _port(port), _kind(kind))
    return rows


def _vlan(said: str) -> int | str | None:
    return wording.vlan_id(said) or said or None


def _kind(flags: str) -> str:
    """Flags of the table (`D`, `DL`, `S`, `DR,SD`) or words (`Learn`, `Static`) as a word."""
    first = re.split(r"[,\s]", flags.strip())[0]
    return {"D": "dynamic", "S": "static", "P": "static", "C": "system"}.get(
        first[:1] if first.isupper() else "", first
    )


_LINE = re.compile(r"^\s*(?P<vlan>\S+)\s+(?P<mac>(?:[0-9a-f]{2}:){5}[0-9a-f]{2})\s+(?P<kind>\S+)\s+\S+\s+(?P<port>\S+)")


def forwarding_text(text: str) -> Rows:
    """`show ethernet-switching table`. Read here: the template keeps only the digits of a VLAN's name."""
    if not re.search(r"Ethernet.switching table", text, re.IGNORECASE):
        raise Unreadable("no 'Ethernet switching table' line in the answer")
    rows = Rows()
    for line in text.splitlines():
        found = _LINE.match(line)
        if found:
            port, kind = _port(found["port"]), _kind(found["kind"])
            rows.seen += wording.seen(found["mac"], _vlan(found["vlan"]), port, kind)
        elif re.search(r"(?:[0-9a-f]{2}:){5}", line):
            rows.partial = f"left out a line of unknown form: {line.strip()[:60]!r}"
    return rows


def neighbours(text: str) -> Rows:
    """`show lldp neighbors | display json`."""
    found = json_rows.table(json_rows.load(text), "lldp-neighbors-information")
    listed = json_rows.dicts(json_rows.under(found, "lldp-neighbor-information"))
    return Rows(neighbours=[_neighbour(one) for one in listed])


def _neighbour(one: dict[str, Any]) -> Neighbour:
    chassis_kind = wording.id_kind(_said(one, "lldp-remote-chassis-id-subtype"))
    port_kind = wording.id_kind(_said(one, "lldp-remote-port-id-subtype"))
    return Neighbour(
        port=_port(_said(one, "lldp-local-port-id", "lldp-local-interface")) or None,
        chassis_id=wording.identifier(_said(one, "lldp-remote-chassis-id"), chassis_kind),
        chassis_id_kind=chassis_kind,
        port_id=wording.identifier(_said(one, "lldp-remote-port-id"), port_kind),
        port_id_kind=port_kind,
        port_description=_said(one, "lldp-remote-port-description"),
        system_name=_said(one, "lldp-remote-system-name"),
    )


def neighbours_text(text: str) -> Rows:
    """`show lldp neighbors`: the column "Port info" is the port's id or its description, whichever there is."""
    table = templates.rows_of(_NAME, "show lldp neighbors", text, form=r"^Local Interface\s+Parent Interface")
    return Rows(
        neighbours=[
            Neighbour(
                port=_port(row["local_interface"]),
                chassis_id=wording.identifier(row["chassis_id"]),
                port_id=wording.identifier(row["neighbor_interface"]),
                system_name=wording.text(row["neighbor_name"]),
            )
            for row in table.rows
        ],
        partial=table.partial,
    )


def local(text: str) -> Rows:
    """`show lldp local-information | display json`."""
    found = json_rows.table(json_rows.load(text), "lldp-local-info")
    name = _said(found, "lldp-local-system-name")
    return Rows(
        chassis_id=wording.identifier(_said(found, "lldp-local-chassis-id")),
        lldp_name=name,
        system=System(descr=_said(found, "lldp-local-system-description")),
    )


def vlans(text: str) -> Rows:
    """`show vlans | display json`."""
    document = json_rows.load(text)
    grouped = json_rows.under(document, "l2ng-l2ald-vlan-instance-information", "l2ng-l2ald-vlan-instance-group")
    listed = grouped if grouped is not None else json_rows.table(document, "vlan-information", "vlan")
    told = (
        (_said(one, "l2ng-l2rtb-vlan-tag", "vlan-tag"), _said(one, "l2ng-l2rtb-vlan-name", "vlan-name"))
        for one in json_rows.dicts(listed)
    )
    return Rows(vlans=wording.vlan_names(told))


def vlans_text(text: str) -> Rows:
    """`show vlans`."""
    table = templates.rows_of(_NAME, "show vlans", text, form=r"VLAN name\s+Tag")
    told = ((row["tag"], row["vlan_name"]) for row in table.rows)
    return Rows(vlans=wording.vlan_names(told), partial=table.partial)


def addresses(text: str) -> Rows:
    """`show arp no-resolve | display json`. The interface may be `irb.20 [ge-0/0/5.0]`: the port stands in brackets."""
    found = json_rows.table(json_rows.load(text), "arp-table-information")
    told = []
    for one in json_rows.dicts(json_rows.under(found, "arp-table-entry")):
        port = re.sub(r".*\[(.+)\].*", r"\1", _said(one, "interface-name"))
        told.append((_said(one, "ip-address"), _said(one, "mac-address"), _port(port)))
    return Rows(addresses=wording.address_rows(told))


def system(text: str) -> Rows:
    """`show version | display json`; a virtual chassis nests it under its members."""
    found = json_rows.load(text)
    members = json_rows.under(found, "multi-routing-engine-results", "multi-routing-engine-item")
    if members is not None:
        found = next(iter(json_rows.dicts(members)), {})
    told = json_rows.table(found, "software-information")
    words = ("Juniper Networks", _said(told, "product-model"), "Junos", _said(told, "junos-version"))
    return Rows(system=System(descr=" ".join(word for word in words if word), name=_said(told, "host-name")))


def hardware(text: str) -> Rows:
    """`show chassis hardware | display json`."""
    found = json_rows.load(text)
    members = json_rows.under(found, "multi-routing-engine-results", "multi-routing-engine-item")
    inventories = json_rows.dicts(members) if members is not None else [found]
    chassis = [json_rows.table(one, "chassis-inventory", "chassis") for one in inventories]
    if not chassis:
        raise Unreadable("no chassis in the answer")
    return Rows(
        hardware=[
            Hardware(kind="chassis", model=_said(one, "description"), serial=_said(one, "serial-number"))
            for found_one in chassis
            for one in json_rows.dicts(found_one)
        ]
    )


PLATFORM = Platform(
    name=_NAME,
    driver="juniper_junos",
    asks=(
        json_or_text(Table.SYSTEM, "show version", _JSON, system),
        json_or_text(Table.INTERFACES, "show interfaces", _JSON, interfaces, interfaces_text),
        json_or_text(Table.ETHERNET, "show interfaces", _JSON, interfaces),
        json_or_text(Table.AGGREGATION, "show interfaces", _JSON, interfaces),
        json_or_text(Table.VLANS, "show vlans", _JSON, vlans, vlans_text),
        json_or_text(
            Table.FORWARDING, "show ethernet-switching table", _JSON, forwarding, forwarding_text, needs=[Table.VLANS]
        ),
        json_or_text(Table.LLDP_LOCAL, "show lldp local-information", _JSON, local),
        json_or_text(Table.NEIGHBOURS, "show lldp neighbors", _JSON, neighbours, neighbours_text),
        json_or_text(Table.ADDRESSES, "show arp no-resolve", _JSON, addresses),
        json_or_text(Table.HARDWARE, "show chassis hardware", _JSON, hardware),
    ),
    # A root login lands in the shell of the operating system; "cli" leaves it.
    preparation=("cli", "set cli screen-width 511", "set cli complete-on-space off", "set cli screen-length 0"),
)
