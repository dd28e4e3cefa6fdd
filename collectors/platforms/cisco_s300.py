"""Cisco small business switches (Sx300, Sx350, Sx500 and relatives). Port names are those of IF-MIB ifName.

From the factory they let everybody in by SSH and ask for user and password in the terminal.
"""

from __future__ import annotations

import re

from collectors.platforms import templates, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Neighbour, Port, System, Table

_NAME = "cisco_s300"
_OPER: dict[str, wording.Oper] = {"up": "up", "down": "down", "not present": "notPresent"}


def interfaces(text: str) -> Rows:
    """`show interfaces status`: links and their state; it does not tell a port that was shut down from one without."""
    table = templates.rows_of(_NAME, "show interfaces status", text, form=r"^Port\s+Type\s+Duplex")
    return Rows(
        ports=[
            Port(
                name=row["port"],
                oper=_OPER.get(row["linkstate"].strip().lower()),
                speed_mbps=wording.speed_mbps(row["speed"]),
                duplex=wording.duplex(row["duplex"]),
            )
            for row in table.rows
        ],
        partial=table.partial,
    )


def descriptions(text: str) -> Rows:
    """`show interfaces description`."""
    table = templates.rows_of(_NAME, "show interfaces description", text, form=r"^(?:Port|Interface)\s+Desc")
    told = [Port(name=row["interface"], alias=wording.text(row["description"])) for row in table.rows]
    return Rows(ports=told, partial=table.partial)


def forwarding(text: str) -> Rows:
    """`show mac address-table`. Port 0 is the switch itself. Read here: the template knows no configured entries."""
    if not re.search(r"Vlan\s+Mac Address\s+Port", text, re.IGNORECASE):
        raise Unreadable("no 'Vlan  Mac Address  Port' header in the answer")
    rows = Rows()
    for vlan, mac, port, kind in re.findall(r"^\s*(\d+)\S*\s+([0-9a-f:]{17})\s+(\S+)\s+(\S+)", text, re.MULTILINE):
        rows.seen += wording.seen(mac, wording.vlan_id(vlan), port, kind)
    aging = re.search(r"Aging time is (\d+) sec", text)
    rows.aging_seconds = int(aging.group(1)) if aging else None
    return rows


def neighbours(text: str) -> Rows:
    """`show lldp neighbors`. Read here: the template drops the capabilities, which tell a switch from a telephone.

    Columns stand under their rulers; what does not fit goes on in the next line, under an empty port.
    """
    header = re.search(r"^\s*Port\s+Device ID\s+Port ID.*\n(-[-\s]+)\n", text, re.MULTILINE)
    if not header:
        raise Unreadable("no 'Port  Device ID' header in the answer")
    starts = [ruler.start() for ruler in re.finditer(r"-+", header.group(1))]
    spans = list(zip(starts, [*starts[1:], None], strict=True))
    lines = [[line[start:end].strip() for start, end in spans] for line in text[header.end() :].splitlines()]
    told: list[list[str]] = []
    for cells in lines:
        if cells[0]:
            told.append(cells)
        elif told and any(cells):
            told[-1] = [known + more for known, more in zip(told[-1], cells, strict=True)]
    return Rows(neighbours=[_neighbour(*cells[:5]) for cells in told if len(cells) >= 5 and cells[1]])


def _neighbour(port: str, chassis: str, port_id: str, name: str, letters: str) -> Neighbour:
    return Neighbour(
        port=port,
        chassis_id=wording.identifier(chassis),
        port_id=wording.identifier(port_id),
        system_name=wording.text(name),
        capabilities=wording.capabilities(letters),
    )


def vlans(text: str) -> Rows:
    """`show vlan`."""
    table = templates.rows_of(_NAME, "show vlan", text, form=r"^\s*Vlan\s+Name\s")
    return Rows(
        vlans=wording.vlan_names((row["vlan_id"], row["vlan_name"]) for row in table.rows), partial=table.partial
    )


def aggregation(text: str) -> Rows:
    """`show interfaces port-channel`: `Po1   Active: gi27-28`."""
    if not re.search(r"^Channel\s+Ports", text, re.MULTILINE):
        raise Unreadable("no 'Channel  Ports' header in the answer")
    rows = Rows()
    for bundle, told in re.findall(r"^(Po\d+)\s+(\S.*)$", text, re.MULTILINE):
        for group in re.sub(r"(?:In)?[Aa]ctive:", " ", told).replace(",", " ").split():
            rows.ports += [Port(name=name, aggregate=bundle) for name in _each(group)]
    return rows


def _each(group: str) -> list[str]:
    """`gi27-28` as both."""
    found = re.fullmatch(r"(\D+(?:\d+/)*)(\d+)-(\d+)", group)
    if not found:
        return [group]
    return [f"{found.group(1)}{number}" for number in range(int(found.group(2)), int(found.group(3)) + 1)][:64]


def addresses(text: str) -> Rows:
    """`show arp`."""
    if not re.search(r"IP address\s+HW address", text, re.IGNORECASE):
        raise Unreadable("no 'IP address  HW address' header in the answer")
    rows = re.findall(r"^\s*(?:vlan \d+)?\s*(\S*)\s+(\d+(?:\.\d+){3})\s+([0-9a-f:]{17})\s", text, re.MULTILINE)
    return Rows(addresses=wording.address_rows((ip, mac, port) for port, ip, mac in rows))


def system(text: str) -> Rows:
    """`show system`."""
    table = templates.rows_of(_NAME, "show system", text, form=r"^System (?:Description|Name)")
    row = table.rows[0] if table.rows else {}
    own = wording.mac(row.get("mac_address"))
    return Rows(
        system=System(
            descr=wording.text(row.get("description")),
            name=wording.text(row.get("hostname")),
            object_id=wording.text(row.get("oid")),
            location=wording.text(", ".join(row.get("location") or [])),
        ),
        own_macs=[own] if own else [],
        partial=table.partial,
    )


PLATFORM = Platform(
    name=_NAME,
    driver="cisco_s300",
    login_again=True,
    asks=(
        Ask(Table.SYSTEM, "show system", system),
        Ask(Table.INTERFACES, "show interfaces status", interfaces),
        Ask(Table.INTERFACES, "show interfaces description", descriptions),
        Ask(Table.ETHERNET, "show interfaces status", interfaces),
        Ask(Table.VLANS, "show vlan", vlans),
        Ask(Table.FORWARDING, "show mac address-table", forwarding),
        Ask(Table.NEIGHBOURS, "show lldp neighbors", neighbours),
        Ask(Table.AGGREGATION, "show interfaces port-channel", aggregation),
        Ask(Table.ADDRESSES, "show arp", addresses),
    ),
    preparation=("terminal width 511", "terminal datadump"),
)
