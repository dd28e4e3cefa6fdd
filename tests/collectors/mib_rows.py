"""Hand-made answers of a switch, and what becomes of them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, Port, Sighting, Table
from collectors.tables.assembly import assemble
from collectors.tables.mib import Answers, Column, Index, Value
from collectors.tables.readings import Readings

ACCESS = SwitchAccess.model_validate(
    {"name": "wetlab-sw1", "address": "192.0.2.11", "snmp": {"community": "env:COMMUNITY"}}
)
NOON = datetime(2024, 5, 17, 12, 0, tzinfo=UTC)


def answers(**columns: Mapping[Any, Any]) -> Answers:
    """Columns by object name; an index is a number or dotted text, text and hexadecimal bytes are octets."""
    return Answers({name: _column(rows) for name, rows in columns.items()})


def scalar(value: Any) -> dict[int, Any]:
    """The column of an object that has one instance."""
    return {0: value}


def _column(rows: Mapping[Any, Any]) -> Column:
    return {_index(index): _value(value) for index, value in rows.items()}


def _index(index: Any) -> Index:
    return tuple(int(arc) for arc in str(index).split("."))


def _value(value: Any) -> Value:
    return value.encode() if isinstance(value, str) else value


def switch(readings: Readings | None = None, **columns: Mapping[Any, Any]) -> CollectedSwitch:
    """The switch that these columns make."""
    readings = readings or Readings(source="rows")
    readings.answers.update(answers(**columns))
    return assemble(ACCESS, NOON, frozenset(Table), readings)


def ethernet(*names: str, first: int = 1) -> dict[str, dict[int, Any]]:
    """The columns of Ethernet interfaces that are up, with these names, from an ifIndex on."""
    indexes = range(first, first + len(names))
    return {
        "ifName": dict(zip(indexes, names, strict=True)),
        "ifType": dict.fromkeys(indexes, 6),
        "ifOperStatus": dict.fromkeys(indexes, 1),
    }


def mac_arcs(mac: str) -> str:
    """`00:1a:..` as the last six arcs of an index."""
    return ".".join(str(int(octet, 16)) for octet in mac.split(":"))


def fdb(*rows: tuple[int | None, str, int | None, int | None]) -> dict[str, dict[str, int]]:
    """Rows of a forwarding table: (filtering database or None, MAC, bridge port, status); None leaves a column out."""
    columns: dict[str, dict[str, int]] = {}
    for database, mac, port, status in rows:
        table = "dot1dTpFdb" if database is None else "dot1qTpFdb"
        index = mac_arcs(mac) if database is None else f"{database}.{mac_arcs(mac)}"
        for object_, value in (("Port", port), ("Status", status)):
            if value is not None:
                columns.setdefault(table + object_, {})[index] = value
    return columns


def seen(found: CollectedSwitch) -> list[tuple[int | None, str, str | None]]:
    """Learned rows: VLAN, MAC, port."""
    return [(row.vlan, row.mac, row.port) for row in found.sightings if row.status == "learned"]


def port(found: CollectedSwitch, name: str) -> Port:
    """The port of that name."""
    return next(port for port in found.ports if port.name == name)


def rows(found: CollectedSwitch, status: str) -> list[Sighting]:
    """Rows of one status."""
    return [row for row in found.sightings if row.status == status]
