"""Linux boxes that switch: home-made ones, router boxes with a switch chip, network operating systems on Linux.

iproute2 and lldpd print JSON. Sources: ip-link(8), bridge(8), lldpcli(8); Documentation/ABI/testing/sysfs-class-net.
"""

from __future__ import annotations

import re
from typing import Any

from collectors.platforms import json_rows, wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Neighbour, Port, System, Table

# operstate of the kernel (RFC 2863 section 3.1.12) in the words of ifOperStatus.
_OPER: dict[str, wording.Oper] = {
    "UP": "up", "DOWN": "down", "TESTING": "testing", "UNKNOWN": "unknown", "DORMANT": "dormant",
    "NOTPRESENT": "notPresent", "LOWERLAYERDOWN": "lowerLayerDown",
}  # fmt: skip
# IANAifType of what the kernel calls a link.
_IF_TYPE = {"ether": 6, "loopback": 24, "bridge": 209, "bond": 161, "team": 161, "vlan": 135}


def links(text: str) -> Rows:
    """`ip -j -d link`."""
    found = json_rows.load(text)
    if not isinstance(found, list) or not any("ifname" in one for one in json_rows.dicts(found)):
        raise Unreadable("no interface in the answer")
    return Rows(ports=[_link(one) for one in json_rows.dicts(found) if one.get("ifname")])


def _link(one: dict[str, Any]) -> Port:
    kind = json_rows.under(one, "linkinfo", "info_kind")
    slave = json_rows.under(one, "linkinfo", "info_slave_kind")
    state = json_rows.under(one, "linkinfo", "info_slave_data", "state")
    ether = one.get("link_type") == "ether"
    return Port(
        name=wording.text(one["ifname"]),
        if_index=wording.number(one.get("ifindex")),
        if_type=_IF_TYPE.get(str(kind)) or _IF_TYPE.get(str(one.get("link_type"))),
        alias=wording.text(one.get("ifalias")),
        mac=wording.mac(one.get("address")) if ether else None,
        admin="up" if "UP" in (one.get("flags") or []) else "down",
        oper=_OPER.get(str(one.get("operstate"))),
        aggregate=wording.text(one.get("master")) or None if slave in ("bond", "team") else None,
        spanning_tree=wording.port_state(state) if slave == "bridge" else None,
    )


def speeds(text: str) -> Rows:
    """`/sys/class/net/<port>/speed` and `duplex`, a line each. -1 and `unknown`: the kernel does not know."""
    found: dict[str, Port] = {}
    for line in text.splitlines():
        said = re.fullmatch(r"/sys/class/net/([^/]+)/(speed|duplex):(.*)", line.strip())
        if said:
            port = found.setdefault(said.group(1), Port(name=said.group(1)))
            if said.group(2) == "speed":
                port.speed_mbps = wording.number(said.group(3))
            else:
                port.duplex = wording.duplex(said.group(3))
    if not found and text.strip():
        raise Unreadable("no /sys/class/net line in the answer")
    return Rows(ports=list(found.values()))


def forwarding(text: str) -> Rows:
    """`bridge -j fdb show`. Permanent entries are the box's own addresses."""
    rows = Rows()
    for one in json_rows.dicts(json_rows.load(text)):
        state = str(one.get("state") or "dynamic")
        port = "self" if state == "permanent" else one.get("ifname")
        rows.seen += wording.seen(one.get("mac"), wording.vlan_id(one.get("vlan")), port, state)
    return rows


def vlans(text: str) -> Rows:
    """`bridge -j vlan show`: numbers without names, and the untagged VLAN of each port."""
    rows = Rows()
    for one in json_rows.dicts(json_rows.load(text)):
        for member in json_rows.dicts(one.get("vlans")):
            vlan = wording.vlan_id(member.get("vlan"))
            if vlan is None:
                continue
            rows.vlans.setdefault(vlan, "")
            if one.get("ifname") and "PVID" in (member.get("flags") or []):
                rows.ports.append(Port(name=wording.text(one["ifname"]), pvid=vlan))
    return rows


def neighbours(text: str) -> Rows:
    """`lldpcli -f json0 show neighbors details`."""
    found = json_rows.table(json_rows.load(text), "lldp")
    rows = Rows()
    for one in json_rows.dicts(json_rows.under(found, "interface")):
        via = str(one.get("via", "LLDP")).upper()
        if via.startswith(("LLDP", "CDP")):
            rows.neighbours.append(_neighbour(one, via))
        else:
            rows.oddities.append(f"a neighbour on {wording.text(one.get('name'))} by {via[:20]} was left out")
    return rows


def _value(found: Any, *path: str) -> str:
    return wording.text(json_rows.under(found, *path, "value"))


def _neighbour(one: dict[str, Any], via: str) -> Neighbour:
    chassis, port = json_rows.under(one, "chassis"), json_rows.under(one, "port")
    chassis_kind = wording.id_kind(json_rows.under(chassis, "id", "type"))
    port_kind = wording.id_kind(json_rows.under(port, "id", "type"))
    told = json_rows.under(chassis, "capability")
    enabled = [str(cap.get("type")) for cap in json_rows.dicts(told) if cap.get("enabled")]
    untagged = [vlan.get("vlan-id") for vlan in json_rows.dicts(one.get("vlan")) if vlan.get("pvid")]
    inventory = json_rows.under(one, "lldp-med", "inventory")
    return Neighbour(
        port=wording.text(one.get("name")) or None,
        protocol="lldp" if via.startswith("LLDP") else "cdp",
        chassis_id=wording.identifier(_value(chassis, "id"), chassis_kind),
        chassis_id_kind=chassis_kind,
        port_id=wording.identifier(_value(port, "id"), port_kind),
        port_id_kind=port_kind,
        port_description=_value(port, "descr"),
        system_name=_value(chassis, "name"),
        system_description=_value(chassis, "descr"),
        capabilities=None if told is None else wording.capabilities(",".join(enabled)),
        management_addresses=wording.management_addresses(
            address.get("value") for address in json_rows.dicts(json_rows.under(chassis, "mgmt-ip"))
        ),
        pvid=wording.vlan_id(untagged[0]) if untagged else None,
        maker=_value(inventory, "manufacturer"),
        model=_value(inventory, "model"),
        serial=_value(inventory, "serial"),
    )


def chassis(text: str) -> Rows:
    """`lldpcli -f json0 show chassis`."""
    found = json_rows.under(json_rows.table(json_rows.load(text), "local-chassis"), "chassis")
    kind = wording.id_kind(json_rows.under(found, "id", "type"))
    return Rows(chassis_id=wording.identifier(_value(found, "id"), kind), lldp_name=_value(found, "name"))


def system(text: str) -> Rows:
    """`uname -snrm`: kernel name, host name, release, machine."""
    words = text.split()
    if len(words) != 4 or words[0] != "Linux":
        raise Unreadable("not the four words of uname")
    return Rows(system=System(descr=wording.text(" ".join(words)), name=wording.text(words[1])))


def addresses(text: str) -> Rows:
    """`ip -j neigh`: ARP and IPv6 neighbours in one table."""
    found = json_rows.dicts(json_rows.load(text))
    return Rows(addresses=wording.address_rows((one.get("dst"), one.get("lladdr"), one.get("dev")) for one in found))


_NEIGHBOURS, _CHASSIS = "lldpcli -f json0 show neighbors details", "lldpcli -f json0 show chassis"

PLATFORM = Platform(
    name="linux",
    driver="linux",
    asks=(
        Ask(Table.SYSTEM, "uname -snrm", system),
        Ask(Table.INTERFACES, "ip -j -d link", links),
        Ask(Table.AGGREGATION, "ip -j -d link", links),
        Ask(Table.SPANNING_TREE, "ip -j -d link", links),
        Ask(Table.ETHERNET, "grep -s . /sys/class/net/*/speed /sys/class/net/*/duplex", speeds),
        Ask(Table.VLANS, "bridge -j vlan show", vlans),
        Ask(Table.BRIDGE_PORTS, "bridge -j vlan show", vlans),
        Ask(Table.FORWARDING, "bridge -j fdb show", forwarding),
        # lldpd's socket is for root and its own group: a right to run exactly these by sudo serves as well.
        Ask(
            Table.LLDP_LOCAL,
            _CHASSIS,
            chassis,
            instead=Ask(Table.LLDP_LOCAL, f"sudo -n {_CHASSIS}", chassis),
        ),
        Ask(
            Table.NEIGHBOURS,
            _NEIGHBOURS,
            neighbours,
            instead=Ask(Table.NEIGHBOURS, f"sudo -n {_NEIGHBOURS}", neighbours),
        ),
        Ask(Table.ADDRESSES, "ip -j neigh", addresses),
    ),
)
