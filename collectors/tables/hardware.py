"""ENTITY-MIB (RFC 6933): serial numbers and models of chassis and modules."""

from __future__ import annotations

from collectors.snapshot import Hardware
from collectors.tables.mib import Answers
from collectors.tables.text import text

OBJECTS = (
    "entPhysicalClass", "entPhysicalSerialNum", "entPhysicalModelName", "entPhysicalName", "entPhysicalDescr",
    "entPhysicalParentRelPos",
)  # fmt: skip

_CLASSES = (
    "other", "unknown", "chassis", "backplane", "container", "powerSupply", "fan", "sensor", "module", "port",
    "stack", "cpu", "energyObject", "battery", "storageDrive",
)  # fmt: skip
"""IANAPhysicalClass, from 1."""

_ALWAYS = {"chassis", "stack"}


def hardware(answers: Answers) -> list[Hardware]:
    """Chassis and stacks, and every other part that has a serial number."""
    classes, places = answers.numbers("entPhysicalClass"), answers.numbers("entPhysicalParentRelPos")
    said = {name: answers.octets(name) for name in OBJECTS[1:5]}
    found = []
    for index in dict.fromkeys((*classes, *said["entPhysicalSerialNum"])):
        serial, model, name, descr = (text(column.get(index, b"")) for column in said.values())
        number = classes.get(index, 0)
        kind = _CLASSES[number - 1] if 1 <= number <= len(_CLASSES) else ""
        if kind in _ALWAYS or serial:
            place = places[index] if places.get(index, -1) >= 0 else None
            found.append(Hardware(kind=kind, name=name, descr=descr, model=model, serial=serial, position=place))
    return found
