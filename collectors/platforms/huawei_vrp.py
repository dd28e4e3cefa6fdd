"""Huawei switches with VRP. ifName is the long form (`GigabitEthernet0/0/1`); newer tables shorten it (`GE0/0/1`)."""

from __future__ import annotations

import re

from collectors.platforms import blocks, templates, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Port, System, Table

_NAME = "huawei_vrp"


def brief(text: str) -> Rows:
    """`display interface brief`. Members of a trunk stand below it, indented."""
    table = templates.rows_of(_NAME, "display interface brief", text, form=r"^Interface\s+PHY\s+Protocol")
    bundles = _bundles(text)
    ports = []
    for row in table.rows:
        down = row["phy"].startswith("*")
        name = re.sub(r"\(\d+G\)$", "", row["interface"])
        ports.append(
            Port(
                name=name,
                admin="down" if down else "up",
                oper="down" if down else wording.up_down(row["phy"]),
                aggregate=bundles.get(name),
            )
        )
    return Rows(ports=ports, partial=table.partial)


def _bundles(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    bundle = ""
    for line in text.splitlines():
        member = re.match(r"^ +([A-Za-z]\S*?\d)(?:\(\d+G\))?\s", line)
        if member and bundle:
            found[member.group(1)] = bundle
        elif not line.startswith(" "):
            trunk = re.match(r"Eth-Trunk\d+(?=\s|\()", line)
            bundle = trunk.group() if trunk else ""
    return found


def details(text: str) -> Rows:
    """`display interface`: addresses, speeds, untagged VLANs."""
    table = templates.rows_of(_NAME, "display interface", text, form=r"^\S+ current state *:", blocks=True)
    return Rows(ports=[_detail(row) for row in table.rows], partial=table.partial)


def _detail(row: templates.Row) -> Port:
    oper = wording.up_down(row["link_status"])
    described = wording.text(row["interface_description"])
    return Port(
        name=row["interface"],
        # What stands there from the factory is no description: "HUAWEI, AR Series, GigabitEthernet0/0/1 Interface".
        alias="" if described.endswith(f"{row['interface']} Interface") else described,
        mac=wording.mac(row["mac_address"]),
        admin="down" if "dministratively" in row["link_status"] else "up",
        oper=oper,
        speed_mbps=wording.speed_mbps(row["speed"]) if oper == "up" else None,
        duplex=wording.duplex(row["duplex"]) if oper == "up" else None,
        pvid=wording.vlan_id(row["vlan_id"]),
    )


def forwarding(text: str) -> Rows:
    """`display mac-address`."""
    table = templates.rows_of(
        _NAME, "display mac-address", text, form=r"^\s*MAC Address\s+VLAN", total=r"Total items displayed = (\d+)"
    )
    rows = Rows(partial=table.partial)
    for row in table.rows:
        vlan, port = wording.vlan_id(row["vlan_id"]), row["destination_port"]
        rows.seen += wording.seen(row["destination_address"], vlan, port, row["type"])
    return rows


_LABELS: blocks.Labels = {
    "chassis_id": ("chassis id",),
    "chassis_id_kind": ("chassis type",),
    "port_id": ("port id",),
    "port_id_kind": ("port id type", "port id subtype"),
    "port_description": ("port description",),
    "system_name": ("system name",),
    "system_description": ("system description",),
    "capabilities": ("system capabilities enabled",),
    "management_address": ("management address", "management address value"),
    "pvid": ("port vlan id(pvid)",),
    "maker": ("manufacturer name",),
    "model": ("model name",),
    "serial": ("serialnum",),
}
_KNOWN = blocks.labels_of(_LABELS, "system capabilities supported", "management address type", "expired time")


def neighbours(text: str) -> Rows:
    """`display lldp neighbor`."""
    heading = r"^\s*(\S+) has \d+ neighbor"
    if not re.search(heading, text, re.MULTILINE):
        raise Unreadable("no '... has N neighbors' line in the answer")
    found = blocks.blocks(text, "neighbor index", heading=heading, known=_KNOWN)
    return Rows(neighbours=[blocks.neighbour(one, _LABELS, one.heading) for one in found if one.get("chassis id")])


def local(text: str) -> Rows:
    """`display lldp local`."""
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
    """`display vlan`: numbers, and the description, which is the number again unless somebody wrote one."""
    if not re.search(r"^VID\s+(?:Type|Status)", text, re.MULTILINE):
        raise Unreadable("no 'VID  Type' header in the answer")
    numbers = re.findall(r"^(\d+)\s+(?:common|super|sub|mux)\b", text, re.MULTILINE)
    named = dict(re.findall(r"^(\d+)\s+(?:en|dis)able(?:\s+\S+){3}\s+(\S.*?)\s*$", text, re.MULTILINE))
    return Rows(vlans=wording.vlan_names((vlan, named.get(vlan, "")) for vlan in numbers))


def aggregation(text: str) -> Rows:
    """`display eth-trunk`."""
    table = templates.rows_of(_NAME, "display eth-trunk", text, form=r"state information is:", blocks=True)
    return Rows(
        # The partner's table names our ports again.
        ports=[Port(name=port, aggregate=bundle) for port, bundle in _members(table.rows).items()],
        partial=table.partial,
    )


def _members(rows: list[templates.Row]) -> dict[str, str]:
    return {row["interface"]: row["eth_trunk"] for row in rows if row["interface"]}


def addresses(text: str) -> Rows:
    """`display arp all`."""
    table = templates.rows_of(_NAME, "display arp all", text, form=r"IP ADDRESS\s+MAC ADDRESS")
    told = ((row["ip_address"], row["mac_address"], row["interface"]) for row in table.rows)
    return Rows(addresses=wording.address_rows(told), partial=table.partial)


PLATFORM = Platform(
    name=_NAME,
    driver="huawei",
    asks=(
        Ask(Table.SYSTEM, "display lldp local", system),
        Ask(Table.INTERFACES, "display interface brief", brief),
        Ask(Table.ETHERNET, "display interface", details),
        Ask(Table.BRIDGE_PORTS, "display interface", details),
        Ask(Table.VLANS, "display vlan", vlans),
        Ask(Table.FORWARDING, "display mac-address", forwarding),
        Ask(Table.LLDP_LOCAL, "display lldp local", local),
        Ask(Table.NEIGHBOURS, "display lldp neighbor", neighbours),
        Ask(Table.AGGREGATION, "display eth-trunk", aggregation),
        Ask(Table.ADDRESSES, "display arp all", addresses),
    ),
    preparation=("screen-length 0 temporary",),
    port_words={"GE": "GigabitEthernet", "XGE": "XGigabitEthernet"},
)
