"""Foundry, Brocade and Ruckus with FastIron. Tables print bare numbers (`1/1/3`), ifName is `ethernet1/1/3`."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.cisco_ios import brief_neighbours
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Port, System, Table

_NAME = "brocade_fastiron"


def interfaces(text: str) -> Rows:
    """`show interfaces brief`. `Disable` is a port that somebody shut down; `ERR-DIS` one that the switch shut down."""
    table = templates.rows_of(_NAME, "show interfaces brief", text, form=r"^Port\s+Link\s+State")
    return Rows(ports=[_interface(row) for row in table.rows], partial=table.partial)


def _interface(row: templates.Row) -> Port:
    disabled = row["linkstate"].lower().startswith("disab")
    no_link = disabled or row["linkstate"].upper().startswith("ERR")
    oper = "down" if no_link else wording.up_down(row["linkstate"])
    return Port(
        name=row["interface"],
        alias=wording.text(row["name"]),
        mac=wording.mac(row["mac"]),
        admin="down" if disabled else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["pvid"]),
        spanning_tree=wording.port_state(row["portstate"]) if oper == "up" else None,
    )


def _table(text: str, header: str) -> list[dict[str, str]]:
    """Rows by column name. Releases differ in columns and their order, so the header says which is which.

    Only the last column may be left open.
    """
    found = re.search(header, text, re.IGNORECASE | re.MULTILINE)
    if not found:
        raise Unreadable(f"no line like {header!r} in the answer")
    names = re.sub(r"(mac|ip) address", r"\1-address", found.group().lower()).split()
    return [dict(zip(names, line.split(), strict=False)) for line in text[found.end() :].splitlines()]


def forwarding(text: str) -> Rows:
    """`show mac-address`. An entry without a type was learned."""
    rows = Rows()
    for told in _table(text, r"^MAC.Address\s+Port\s.*$"):
        vlan, kind = wording.vlan_id(told.get("vlan")), told.get("type", "")
        rows.seen += wording.seen(told.get("mac-address"), vlan, told.get("port"), kind)
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id (mac address)", "chassis id (network address)", "chassis id (locally assigned)"),
    "port_id": (
        *("port id (mac address)", "port id (interface name)", "port id (locally assigned)"),
        *("port id (interface alias)", "port id (network address)"),
    ),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("enabled capabilities",),
    "management_address": ("management address (ipv4)", "management address (ipv6)"),
    "pvid": ("port vlan id",),
}
_KNOWN = blocks.labels_of(_LABELS, "time to live", "system capabilities", "neighbor", "802.3 mac/phy")


def neighbours(text: str) -> Rows:
    """`show lldp neighbors detail`. Read here: the template at hand drops the chassis id."""
    heading = r"^Local port: (\S+)"
    if not re.search(heading, text, re.MULTILINE):
        raise Unreadable("no 'Local port' line in the answer")
    rows = Rows()
    for one in blocks.blocks(text, "neighbor", heading=heading, known=_KNOWN):
        found = blocks.neighbour(one, _LABELS, one.heading)
        # The subtype stands in the label itself.
        found.chassis_id_kind, found.port_id_kind = _subtype(one, "chassis id"), _subtype(one, "port id")
        rows.neighbours.append(found)
    return rows


def _subtype(block: blocks.Block, which: str) -> str:
    label = next((label for label in block.values if label.startswith(f"{which} (")), "")
    return wording.id_kind(label.removeprefix(f"{which} (").rstrip(")"))


def local(text: str) -> Rows:
    """`show lldp local-info`: the same block for every port, with the switch's own ids."""
    found = next(blocks.blocks(text, "local port", known=_KNOWN), blocks.Block())
    chassis = found.get(*_LABELS["chassis_id"])
    if not chassis:
        raise Unreadable("no 'Chassis ID' in the answer")
    return Rows(
        chassis_id=wording.identifier(chassis),
        lldp_name=wording.text(found.get("system name").strip('"')),
        system=System(
            name=wording.text(found.get("system name").strip('"')),
            descr=wording.text(found.get("system description").strip('"')),
        ),
    )


def vlans(text: str) -> Rows:
    """`show vlan`: `PORT-VLAN 20, Name wetlab, Priority level0, Spanning tree On`."""
    found = re.findall(r"^\s*PORT-VLAN (\d+), Name ([^,]*),", text, re.MULTILINE)
    if not found:
        raise Unreadable("no 'PORT-VLAN' line in the answer")
    return Rows(vlans=wording.vlan_names((vlan, name.replace("[None]", "")) for vlan, name in found))


def aggregation(text: str) -> Rows:
    """`show lag`: for each deployed group, `Ports: e 1/1/1 to 1/1/2`, and its own name `lg1` where it has one."""
    if not re.search(r"^Total number of LAGs|^=== LAG", text, re.MULTILINE):
        raise Unreadable("no 'Total number of LAGs' line in the answer")
    rows = Rows()
    for group in re.split(r"^=== LAG", text, flags=re.MULTILINE)[1:]:
        number = re.search(r"ID (\d+)", group)
        ports = re.search(r"^\s*Ports:\s+(.+)$", group, re.MULTILINE)
        if number and ports and "Not Deployed" not in group:
            bundle = f"lg{number.group(1)}"
            rows.ports += [Port(name=name, aggregate=bundle) for name in _each(ports.group(1))]
    return rows


def _each(said: str) -> list[str]:
    """`e 1/1/1 to 1/1/2 e 1/2/1` as single ports."""
    names: list[str] = []
    for first, last in re.findall(r"([\d/]+)(?:\s+to\s+([\d/]+))?", said.replace("e ", " ").replace("ethe ", " ")):
        head, _, start = first.rpartition("/")
        end = last.rpartition("/")[2] if last else start
        lead = f"{head}/" if head else ""
        names += [f"{lead}{number}" for number in range(int(start), int(end) + 1)][:64]
    return names


def addresses(text: str) -> Rows:
    """`show arp`."""
    told = _table(text, r"^\S+\s+IP(?: Address)?\s+MAC(?: Address)?\s.*$")
    return Rows(
        addresses=wording.address_rows((one.get("ip-address"), one.get("mac-address"), one.get("port")) for one in told)
    )


PLATFORM = Platform(
    name=_NAME,
    driver="brocade_fastiron",
    asks=(
        Ask(Table.SYSTEM, "show lldp local-info", local),
        Ask(Table.INTERFACES, "show interfaces brief", interfaces),
        Ask(Table.BRIDGE_PORTS, "show interfaces brief", interfaces),
        Ask(Table.ETHERNET, "show interfaces brief", interfaces),
        Ask(Table.SPANNING_TREE, "show interfaces brief", interfaces),
        Ask(Table.VLANS, "show vlan", vlans),
        Ask(Table.FORWARDING, "show mac-address", forwarding),
        Ask(Table.LLDP_LOCAL, "show lldp local-info", local),
        Ask(
            Table.NEIGHBOURS,
            "show lldp neighbors detail",
            neighbours,
            instead=Ask(Table.NEIGHBOURS, "show lldp neighbors", brief_neighbours),
        ),
        Ask(Table.AGGREGATION, "show lag", aggregation),
        Ask(Table.ADDRESSES, "show arp", addresses),
    ),
    preparation=("skip-page-display",),
    port_words={"": "ethernet"},
)
