"""LLDP-MIB (IEEE 802.1AB-2005) and LLDP-V2-MIB (IEEE 802.1AB-2016): who advertises at which port."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

from collectors.snapshot import Neighbour
from collectors.tables.local_ports import LocalPorts
from collectors.tables.mib import Answers, Column, Index
from collectors.tables.text import bits, identifier, ip, is_utf8, text

SCALARS = (
    "lldpLocChassisIdSubtype", "lldpLocChassisId", "lldpLocSysName",
    "lldpStatsRemTablesInserts", "lldpStatsRemTablesDrops",
)  # fmt: skip
LOCAL_OBJECTS = ("lldpLocPortIdSubtype", "lldpLocPortId", "lldpLocPortDesc")
OBJECTS = (
    "lldpRemChassisIdSubtype", "lldpRemChassisId", "lldpRemPortIdSubtype", "lldpRemPortId", "lldpRemPortDesc",
    "lldpRemSysName", "lldpRemSysDesc", "lldpRemSysCapEnabled", "lldpRemManAddrIfSubtype",
)  # fmt: skip
EXTENSION_OBJECTS = (
    "lldpXdot1RemPortVlanId", "lldpXdot3RemPortOperMauType",
    "lldpXMedRemSerialNum", "lldpXMedRemMfgName", "lldpXMedRemModelName",
)  # fmt: skip
V2_OBJECTS = tuple(f"lldpV2{name.removeprefix('lldp')}" for name in OBJECTS)

CHASSIS_KINDS = {
    1: "chassisComponent", 2: "interfaceAlias", 3: "portComponent", 4: "macAddress",
    5: "networkAddress", 6: "interfaceName", 7: "local",
}  # fmt: skip
PORT_KINDS = {
    1: "interfaceAlias", 2: "portComponent", 3: "macAddress", 4: "networkAddress",
    5: "interfaceName", 6: "agentCircuitId", 7: "local",
}  # fmt: skip
"""Subtypes of 802.1AB; the two numberings are shifted by one."""

_CAPABILITIES = (
    "other", "repeater", "bridge", "wlanAccessPoint", "router", "telephone", "docsisCableDevice", "stationOnly",
)  # fmt: skip


class _Key(NamedTuple):
    """What tells one neighbour from another: TimeMark aside, which is a time for nobody (recorded in three units)."""

    local: int
    remote: Index


def neighbours(answers: Answers, ports: LocalPorts) -> list[Neighbour]:
    """All rows of both MIBs; a neighbour that both list is taken from the older, which more agents get right."""
    found = _neighbours(answers, OBJECTS, _key, ports.name_of_lldp)
    known = {_identity(neighbour) for neighbour in found}
    newer = _neighbours(answers, V2_OBJECTS, _v2_key, ports.name_of_if_index)
    return found + [neighbour for neighbour in newer if _identity(neighbour) not in known]


def chassis_id(answers: Answers) -> str:
    """What the switch calls its own chassis; an all-zero one is none."""
    kind = CHASSIS_KINDS.get(answers.number("lldpLocChassisIdSubtype") or 0, "")
    octets = answers.octet_string("lldpLocChassisId")
    return identifier(kind, octets) if octets.strip(b"\0") else ""


def _identity(neighbour: Neighbour) -> tuple[str | None, str, str]:
    return neighbour.port, neighbour.chassis_id, neighbour.port_id


def _key(index: Index) -> _Key | None:
    """lldpRemTable: TimeMark, LocalPortNum, RemIndex."""
    return _Key(index[1], index[2:3]) if len(index) >= 3 else None


def _v2_key(index: Index) -> _Key | None:
    """lldpV2RemTable: TimeMark, LocalIfIndex, LocalDestMACAddress (a row number), RemIndex."""
    return _Key(index[1], index[2:4]) if len(index) >= 4 else None


def _neighbours(
    answers: Answers,
    objects: tuple[str, ...],
    key: Callable[[Index], _Key | None],
    port_name: Callable[[int], str | None],
) -> list[Neighbour]:
    rows = _rows(answers, objects[:-1], key)
    addresses = _management_addresses(answers[objects[-1]], key)
    extensions = _extensions(answers, key) if objects is OBJECTS else {}
    found: dict[tuple[_Key, Any, Any], Neighbour] = {}
    for index, row in rows.items():
        key_ = key(index)
        if key_ is None or not (row[1] or row[3]):  # torn: neither chassis nor port
            continue
        neighbour = _neighbour(port_name(key_.local), row, addresses.get(key_, ()), extensions.get(key_, {}))
        found.setdefault((key_, row[1], row[3]), neighbour)
    return list(found.values())


def _rows(answers: Answers, objects: tuple[str, ...], key: Callable[[Index], _Key | None]) -> dict[Index, list[Any]]:
    """Rows by index, a value or None for each object. An agent may list a row once per TimeMark (RFC 4502)."""
    rows: dict[Index, list[Any]] = {}
    for number, name in enumerate(objects):
        for index, value in answers[name].items():
            rows.setdefault(index, [None] * len(objects))[number] = value
    return rows


def _neighbour(port: str | None, row: list[Any], addresses: Iterable[str], extra: Mapping[str, Any]) -> Neighbour:
    chassis_kind, port_kind = CHASSIS_KINDS.get(row[0], ""), PORT_KINDS.get(row[2], "")
    said = dict(zip(("port_description", "system_name", "system_description"), row[4:7], strict=True))
    said = {name: value for name, value in said.items() if isinstance(value, bytes)}
    ids = {"chassis_id": row[1], "port_id": row[3]}
    ids = {name: value for name, value in ids.items() if isinstance(value, bytes)}
    kinds = {"chassis_id": chassis_kind, "port_id": port_kind}
    identifiers = {name: identifier(kinds[name], value) for name, value in ids.items()}
    spoken = said | {name: value for name, value in ids.items() if identifiers[name] == text(value)}
    return Neighbour(
        port=port,
        chassis_id_kind=chassis_kind,
        port_id_kind=port_kind,
        capabilities=capabilities(row[7]),
        management_addresses=list(dict.fromkeys(addresses)),
        raw={name: value.hex() for name, value in spoken.items() if not is_utf8(value)},
        **identifiers,
        **{name: text(value) for name, value in said.items()},
        **extra,
    )


def capabilities(octets: Any) -> list[str] | None:
    """Names of the enabled capabilities. One, two or four octets are sent; the first holds all that have names."""
    if not isinstance(octets, bytes) or not octets:
        return None
    return [_CAPABILITIES[bit] for bit in sorted(bits(octets[:1]))]


def _management_addresses(column: Column, key: Callable[[Index], _Key | None]) -> dict[_Key, list[str]]:
    """Addresses by neighbour. They stand in the index, behind the neighbour's own: subtype, length, octets."""
    found: dict[_Key, list[str]] = {}
    for index in column:
        key_ = key(index)
        if key_ is None:
            continue
        rest = index[2 + len(key_.remote) :]
        if len(rest) > 2 and max(rest) < 256 and (address := _address(rest[0], bytes(rest[2 : 2 + rest[1]]))):
            found.setdefault(key_, []).append(address)
    return found


def _address(family: int, octets: bytes) -> str | None:
    """IANA address families 1 IPv4 and 2 IPv6; others (recorded: 6, a MAC) are nothing to manage a switch by."""
    return ip(octets) if family in (1, 2) else None


def _extensions(answers: Answers, key: Callable[[Index], _Key | None]) -> dict[_Key, dict[str, Any]]:
    """What the 802.1, 802.3 and MED extensions add."""
    found: dict[_Key, dict[str, Any]] = {}
    meanings: dict[str, tuple[str, Callable[[Any], Any]]] = {
        "lldpXdot1RemPortVlanId": ("pvid", lambda vlan: vlan if isinstance(vlan, int) and 1 <= vlan <= 4094 else None),
        "lldpXdot3RemPortOperMauType": ("mau_type", lambda mau: mau if isinstance(mau, int) and mau > 0 else None),
        "lldpXMedRemSerialNum": ("serial", _spoken),
        "lldpXMedRemMfgName": ("maker", _spoken),
        "lldpXMedRemModelName": ("model", _spoken),
    }
    for name, (field, meaning) in meanings.items():
        for index, value in answers[name].items():
            key_, meant = key(index), meaning(value)
            if key_ is not None and meant is not None:
                found.setdefault(key_, {})[field] = meant
    return found


def _spoken(value: Any) -> str | None:
    return text(value) if isinstance(value, bytes) else None
