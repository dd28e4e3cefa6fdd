"""MikroTik RouterOS 6 and 7. `print terse` gives a line of `key=value` per item; port names are those of ifName.

RouterOS also speaks a discovery protocol of its own. Its rows are left out: they prove no cable, for an unmanaged
switch passes them on.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from collectors.platforms import wording
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import Hardware, Neighbour, Port, System, Table

# " 3 DL  mac-address=... ": number, flags, pairs. Values may hold blanks; a pair begins at the next `key=`.
_ITEM = re.compile(r"^\s*\d+\s+(?P<flags>[A-Z ]*?)\s*(?P<pairs>[a-z][a-z0-9.\-]*=.*)$")
_KEY = re.compile(r"(?:^|\s)([a-z][a-z0-9.\-]*)=")


def _items(text: str) -> Iterator[tuple[str, dict[str, str]]]:
    """Flags and pairs of each line. A key that comes again is text of somebody else's: the first one counts.

    RouterOS prints nothing for an empty table, so no line is fine; lines of another form are not.
    """
    for line in text.splitlines():
        found = _ITEM.match(line)
        if not found:
            if line.strip() and not line.lstrip().startswith(("Flags:", ";;;")):
                raise Unreadable(f"a line of unknown form: {line.strip()[:60]!r}")
            continue
        parts = _KEY.split(found["pairs"])
        pairs: dict[str, str] = {}
        for key, value in zip(parts[1::2], parts[2::2], strict=True):
            pairs.setdefault(key, value.strip().strip('"'))
        yield found["flags"], pairs


_IF_TYPE = {"ether": 6, "bridge": 209, "bond": 161, "vlan": 135, "loopback": 24}


def interfaces(text: str) -> Rows:
    """`/interface print terse`: flag R is a running interface, X one that was disabled."""
    rows = Rows(ports=[_interface(flags, pairs) for flags, pairs in _items(text) if pairs.get("name")])
    if not rows.ports:
        raise Unreadable("no interface in the answer")
    return rows


def _interface(flags: str, pairs: dict[str, str]) -> Port:
    return Port(
        name=wording.text(pairs["name"]),
        if_type=_IF_TYPE.get(pairs.get("type", "")),
        alias=wording.text(pairs.get("comment")),
        mac=wording.mac(pairs.get("mac-address")),
        admin="down" if "X" in flags else "up",
        oper="up" if "R" in flags else "down",
    )


def bridge_ports(text: str) -> Rows:
    """`/interface bridge port print terse`: the untagged VLAN of each port of a bridge."""
    return Rows(
        ports=[
            Port(name=wording.text(pairs["interface"]), pvid=wording.vlan_id(pairs.get("pvid")))
            for _, pairs in _items(text)
            if pairs.get("interface")
        ]
    )


def vlans(text: str) -> Rows:
    """`/interface bridge vlan print terse`: numbers and ranges, without names."""
    rows = Rows()
    for _, pairs in _items(text):
        for part in pairs.get("vlan-ids", "").split(","):
            first, _, last = part.partition("-")
            start, end = wording.vlan_id(first), wording.vlan_id(last or first)
            if start and end:
                rows.vlans.update(dict.fromkeys(range(start, end + 1), ""))
    return rows


def forwarding(text: str) -> Rows:
    """`/interface bridge host print terse`: L the bridge's own addresses, D learned, else configured."""
    rows = Rows()
    for flags, pairs in _items(text):
        port = "self" if "L" in flags else pairs.get("on-interface") or pairs.get("interface", "")
        kind = "dynamic" if "D" in flags else "static"
        rows.seen += wording.seen(pairs.get("mac-address"), wording.vlan_id(pairs.get("vid")), port, kind)
    return rows


def neighbours(text: str) -> Rows:
    """`/ip neighbor print terse`. `interface` names the port, then the bridge that it belongs to."""
    rows = Rows()
    for _, pairs in _items(text):
        protocol = _protocol(pairs)
        if protocol is None:
            rows.oddities.append("a neighbour known by MikroTik's own discovery only was left out")
            continue
        enabled = pairs.get("system-caps-enabled")
        rows.neighbours.append(
            Neighbour(
                port=wording.text(pairs.get("interface", "").split(",")[0]) or None,
                protocol=protocol,
                chassis_id=wording.identifier(pairs.get("mac-address", "")),
                port_id=wording.identifier(pairs.get("interface-name", ""), "interfaceName"),
                system_name=wording.text(pairs.get("identity")),
                system_description=wording.text(pairs.get("system-description")),
                capabilities=wording.capabilities(enabled),
                management_addresses=wording.management_addresses(
                    [pairs.get("address4") or pairs.get("address"), pairs.get("address6")]
                ),
                model=wording.text(pairs.get("board")),
            )
        )
    return rows


def _protocol(pairs: dict[str, str]) -> str | None:
    by = pairs.get("discovered-by")
    if by is None:
        # RouterOS 6 does not say; capabilities are told by LLDP only.
        return "lldp" if "system-caps" in pairs else None
    return "lldp" if "lldp" in by else "cdp" if "cdp" in by else None


def aggregation(text: str) -> Rows:
    """`/interface bonding print terse`."""
    return Rows(
        ports=[
            Port(name=wording.text(member), aggregate=wording.text(pairs.get("name")))
            for _, pairs in _items(text)
            for member in pairs.get("slaves", "").split(",")
            if member and pairs.get("name")
        ]
    )


def addresses(text: str) -> Rows:
    """`/ip arp print terse`."""
    told = ((pairs.get("address"), pairs.get("mac-address"), pairs.get("interface")) for _, pairs in _items(text))
    return Rows(addresses=wording.address_rows(told))


def system(text: str) -> Rows:
    """`/system identity print`."""
    name = wording.labelled(text, "name")
    if not name:
        raise Unreadable("no 'name' in the answer")
    return Rows(system=System(name=name))


def hardware(text: str) -> Rows:
    """`/system routerboard print`."""
    model, serial = wording.labelled(text, "model"), wording.labelled(text, "serial-number")
    if not (model or serial):
        raise Unreadable("neither 'model' nor 'serial-number' in the answer")
    return Rows(hardware=[Hardware(kind="chassis", model=model, serial=serial)])


PLATFORM = Platform(
    name="mikrotik_routeros",
    driver="mikrotik_routeros",
    asks=(
        Ask(Table.SYSTEM, "/system identity print", system),
        Ask(Table.INTERFACES, "/interface print terse without-paging", interfaces),
        Ask(Table.BRIDGE_PORTS, "/interface bridge port print terse without-paging", bridge_ports),
        Ask(Table.VLANS, "/interface bridge vlan print terse without-paging", vlans),
        Ask(Table.FORWARDING, "/interface bridge host print terse without-paging", forwarding),
        Ask(Table.NEIGHBOURS, "/ip neighbor print terse without-paging", neighbours),
        Ask(Table.AGGREGATION, "/interface bonding print terse without-paging", aggregation),
        Ask(Table.ADDRESSES, "/ip arp print terse without-paging", addresses),
        Ask(Table.HARDWARE, "/system routerboard print", hardware),
    ),
)
