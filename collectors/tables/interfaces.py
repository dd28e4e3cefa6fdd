"""IF-MIB (RFC 2863): one Port per interface."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from collectors.names import mac_from_octets
from collectors.snapshot import Port, System
from collectors.tables.mib import Answers, Index
from collectors.tables.text import text

SYSTEM_OBJECTS = ("sysDescr", "sysObjectID", "sysUpTime", "sysName", "sysLocation")
OBJECTS = (
    "ifName", "ifDescr", "ifType", "ifSpeed", "ifHighSpeed", "ifPhysAddress", "ifAdminStatus", "ifOperStatus",
    "ifLastChange", "ifConnectorPresent", "ifAlias", "ifInErrors", "ifOutErrors", "ifHCInOctets", "ifHCOutOctets",
)  # fmt: skip
SMALL_COUNTERS = ("ifInOctets", "ifOutOctets")
"""32-bit counters, asked for where interfaces lack the 64-bit ones."""

_Admin = Literal["up", "down", "testing"]
_Oper = Literal["up", "down", "testing", "unknown", "dormant", "notPresent", "lowerLayerDown"]
_ADMIN: dict[int, _Admin] = dict(enumerate(get_args(_Admin), 1))
_OPER: dict[int, _Oper] = dict(enumerate(get_args(_Oper), 1))

_SATURATED = 0xFFFFFFFF
"""ifSpeed of an interface too fast for 32 bits of bit/s."""

IN_BITS_FROM = 10_000_000
"""10 Tbit/s: an ifHighSpeed from here on is in bit/s, whatever the MIB says."""


ETHERNET = frozenset({6, 62, 69, 117})
"""IANAifType of Ethernet ports: ethernetCsmacd, and the obsolete names that old agents use."""


@dataclass(frozen=True)
class Interfaces:
    """The ports of a switch, and their names by ifIndex."""

    ports: list[Port]
    names: dict[int, str]


def system(answers: Answers) -> System:
    """The system group."""
    object_id = answers["sysObjectID"].get((0,))
    return System(
        descr=text(answers.octet_string("sysDescr")),
        object_id=".".join(map(str, object_id)) if isinstance(object_id, tuple) else "",
        name=text(answers.octet_string("sysName")),
        location=text(answers.octet_string("sysLocation")),
        uptime_ticks=answers.number("sysUpTime"),
    )


def interfaces(answers: Answers) -> Interfaces:
    """Ports in the order of ifIndex. A row counts when it has any column of ifTable or ifXTable."""
    rows = sorted(index for index in _rows(answers) if len(index) == 1)
    names = _unique_names(answers, rows)
    macs, types = answers.octets("ifPhysAddress"), answers.numbers("ifType")
    admin, oper = answers.numbers("ifAdminStatus"), answers.numbers("ifOperStatus")
    descr, alias = answers.octets("ifDescr"), answers.octets("ifAlias")
    changed, connector = answers.numbers("ifLastChange"), answers.numbers("ifConnectorPresent")
    speed, high_speed = answers.numbers("ifSpeed"), answers.numbers("ifHighSpeed")
    counters = _counters(answers)
    ports = [
        Port(
            name=names[row[0]],
            if_index=row[0],
            if_type=types.get(row),
            descr=text(descr.get(row, b"")),
            alias=text(alias.get(row, b"")),
            mac=mac_from_octets(macs.get(row, b"")),
            admin=_ADMIN.get(admin.get(row, 0)),
            oper=_OPER.get(oper.get(row, 0)),
            speed_mbps=speed_mbps(speed.get(row), high_speed.get(row)),
            last_change_ticks=changed.get(row),
            connector=_TRUTH.get(connector.get(row, 0)),
            counters={name: column[row] for name, column in counters.items() if row in column},
        )
        for row in rows
    ]
    return Interfaces(ports, names)


_TRUTH = {1: True, 2: False}
"""TruthValue, RFC 2579."""


def _rows(answers: Answers) -> Iterable[Index]:
    seen: dict[Index, None] = {}
    for name in ("ifDescr", "ifName", "ifType", "ifOperStatus"):
        seen.update(dict.fromkeys(answers[name]))
    return seen


def _unique_names(answers: Answers, rows: Iterable[Index]) -> dict[int, str]:
    """ifName, else ifDescr, else the number; the second interface of a name gets '#<ifIndex>' (recorded: lo0 twice)."""
    short, long = answers.octets("ifName"), answers.octets("ifDescr")
    names: dict[int, str] = {}
    taken: set[str] = set()
    for row in rows:
        name = text(short.get(row, b"")).strip("\0 ") or text(long.get(row, b"")).strip("\0 ")
        while not name or name in taken:
            name = f"{name}#{row[0]}"
        taken.add(name)
        names[row[0]] = name
    return names


def speed_mbps(if_speed: int | None, if_high_speed: int | None) -> int | None:
    """Mbit/s of an interface; None when the agent does not really say.

    ifHighSpeed goes before ifSpeed, which tops out at 4294967295 and which some agents let wrap around.
    """
    if if_high_speed and if_high_speed > 0:
        return if_high_speed // 1_000_000 if if_high_speed >= IN_BITS_FROM else if_high_speed
    if if_speed is None or if_speed <= 0 or if_speed >= _SATURATED:
        return None
    return round(if_speed / 1_000_000)


def _counters(answers: Answers) -> dict[str, dict[Index, int]]:
    return {
        "in_octets": answers.numbers("ifInOctets") | answers.numbers("ifHCInOctets"),
        "out_octets": answers.numbers("ifOutOctets") | answers.numbers("ifHCOutOctets"),
        "in_errors": answers.numbers("ifInErrors"),
        "out_errors": answers.numbers("ifOutErrors"),
    }


def lacks_large_counters(answers: Answers) -> bool:
    """True when some interfaces have no 64-bit octet counter."""
    return len(answers["ifHCInOctets"]) < len(answers["ifOperStatus"])
