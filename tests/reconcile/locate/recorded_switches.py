"""Real switches from their recordings (package snmpsim-data), without a network: raw rows in, snapshot rows out."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from pathlib import Path

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, Snapshot, Table
from collectors.tables.assembly import assemble
from collectors.tables.mib import OBJECTS, Answers, Column, Value
from collectors.tables.readings import Readings
from tests.reconcile.locate.hand import TAKEN

_NAMES = {oid: name for name, oid in OBJECTS.items()}
_LENGTHS = sorted({len(oid) for oid in _NAMES}, reverse=True)
_NUMBERS = {b"2", b"65", b"66", b"67", b"70"}  # snmprec tags: INTEGER, Counter32, Gauge32, TimeTicks, Counter64


def switch(name: str, trimmed: Path) -> CollectedSwitch:
    """What the collector hands over for one recording."""
    access = SwitchAccess.model_validate({"name": name, "address": "192.0.2.1", "snmp": {"community": "env:COMMUNITY"}})
    readings = Readings(source="recording", answers=_answers(trimmed))
    return assemble(access, TAKEN, frozenset(Table), readings)


def snapshot(*switches: CollectedSwitch) -> Snapshot:
    """These switches in one run."""
    return Snapshot(started=TAKEN, finished=TAKEN, switches=list(switches))


@cache
def _answers(trimmed: Path) -> Answers:
    columns: dict[str, Column] = defaultdict(dict)
    for line in trimmed.read_bytes().splitlines():
        text, tag, value = line.split(b"|", 2)
        oid = tuple(int(arc) for arc in text.split(b"."))
        name = next((_NAMES[oid[:n]] for n in _LENGTHS if oid[:n] in _NAMES), None)
        read = _value(tag, value)
        if name is not None and read is not None:
            columns[name].setdefault(oid[len(OBJECTS[name]) :], read)
    return Answers(columns)


def _value(tag: bytes, value: bytes) -> Value | None:
    if tag in _NUMBERS:
        return int(value)
    if tag == b"4x":
        return bytes.fromhex(value.decode())
    if tag == b"4":
        return value
    return tuple(int(arc) for arc in value.split(b".")) if tag == b"6" else None
