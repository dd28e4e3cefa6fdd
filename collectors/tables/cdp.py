"""CISCO-CDP-MIB: neighbours by the older protocol of one vendor, which others speak too and copy into LLDP."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

from collectors.names import port_key
from collectors.snapshot import Neighbour
from collectors.tables.mib import Answers
from collectors.tables.text import identifier, ip, is_utf8, text

OBJECTS = (
    "cdpCacheAddressType", "cdpCacheAddress", "cdpCacheVersion", "cdpCacheDeviceId", "cdpCacheDevicePort",
    "cdpCachePlatform", "cdpCacheCapabilities", "cdpCacheNativeVLAN", "cdpCacheSysName",
)  # fmt: skip

_CAPABILITIES = (
    (0x01, "router"), (0x02, "bridge"), (0x04, "bridge"), (0x08, "bridge"), (0x10, "stationOnly"),
    (0x40, "repeater"), (0x80, "telephone"),
)  # fmt: skip
"""Capability bits of the protocol, from the MIB's text, in the words that LLDP has for them."""


def neighbours(answers: Answers, names: Mapping[int, str]) -> list[Neighbour]:
    """One row per neighbour; the index is ifIndex and a number. `names` are those of the ports by ifIndex."""
    indexes = {index: None for name in ("cdpCacheDeviceId", "cdpCacheDevicePort") for index in answers[name]}
    return [
        _neighbour({name: answers[name].get(index) for name in OBJECTS}, names.get(index[0]))
        for index in indexes
        if len(index) == 2
    ]


def _neighbour(row: Mapping[str, Any], port: str | None) -> Neighbour:
    said = {
        "system_name": row["cdpCacheSysName"],
        "system_description": row["cdpCacheVersion"],
        "model": row["cdpCachePlatform"],
    }
    ids = {"chassis_id": row["cdpCacheDeviceId"], "port_id": row["cdpCacheDevicePort"]}
    octets = {name: value for name, value in (said | ids).items() if isinstance(value, bytes)}
    # A device id or port of six octets that are no text is a MAC (recorded: rows copied from LLDP).
    fields = {name: identifier("", value) if name in ids else text(value) for name, value in octets.items()}
    fields["system_name"] = fields.get("system_name") or device_name(fields.get("chassis_id", ""))
    vlan, address = row["cdpCacheNativeVLAN"], row["cdpCacheAddress"]
    return Neighbour(
        port=port,
        protocol="cdp",
        chassis_id_kind="local",
        port_id_kind="interfaceName",
        capabilities=_capabilities(row["cdpCacheCapabilities"]),
        management_addresses=[found] if isinstance(address, bytes) and (found := ip(address)) else [],
        pvid=vlan if isinstance(vlan, int) and 1 <= vlan <= 4094 else None,
        raw={name: value.hex() for name, value in octets.items() if fields[name] == text(value) and not is_utf8(value)},
        **fields,
    )


def device_name(device_id: str) -> str:
    """The host name in a device id, without the serial number that some systems add in brackets."""
    return device_id.partition("(")[0]


def _capabilities(octets: Any) -> list[str] | None:
    if not isinstance(octets, bytes) or len(octets) != 4:
        return None
    number = int.from_bytes(octets, "big")
    return list(dict.fromkeys(word for bit, word in _CAPABILITIES if number & bit))


def without_copies(lldp: list[Neighbour], cdp: Iterable[Neighbour]) -> list[Neighbour]:
    """Both lists as one: what CDP repeats of LLDP is dropped, and an LLDP row copied from CDP is marked as repeated.

    Agents copy one table into the other (recorded both ways), so one neighbour may come three times.
    """
    at_port: dict[str | None, list[Neighbour]] = defaultdict(list)
    for row in lldp:
        at_port[row.port].append(row)
    kept = [_marked(row, at_port[row.port]) for row in lldp]
    return kept + [row for row in cdp if not any(_same(row, other) for other in at_port[row.port])]


def _marked(row: Neighbour, others: list[Neighbour]) -> Neighbour:
    """A row whose chassis id is a device name, beside one that has a real chassis id for that name, is a copy."""
    copied = row.chassis_id_kind not in ("macAddress", "networkAddress") and any(
        other is not row and other.chassis_id_kind == "macAddress" and _same(row, other) for other in others
    )
    return row.model_copy(update={"repeats": True}) if copied else row


def _same(row: Neighbour, other: Neighbour) -> bool:
    """Two rows at one port that tell of one neighbour: the same chassis, or the same name at no different port."""
    if row.chassis_id and row.chassis_id == other.chassis_id:
        return True
    if not any(_same_host(name, theirs) for name in _names(row) for theirs in _names(other)):
        return False
    ports, others = _port_keys(row), _port_keys(other)
    return not ports or not others or bool(ports & others) or other.port_id_kind in ("macAddress", "local")


def _names(row: Neighbour) -> set[str]:
    return {name.partition(".")[0].lower() for name in (row.system_name, device_name(row.chassis_id))} - {""}


def _port_keys(row: Neighbour) -> set[str]:
    return {port_key(row.port_id), port_key(row.port_description)} - {""}


_CUT_AT = 16
"""Octets at which some agents cut the names of LLDP neighbours."""


def _same_host(one: str, other: str) -> bool:
    short, long = sorted((one, other), key=len)
    return short == long or (len(short) == _CUT_AT and long.startswith(short))
