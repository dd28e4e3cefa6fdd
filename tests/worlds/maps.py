"""Writes a patch map as people keep one: a folder of CSV tables, a workbook, or one flat schedule."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Font

from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch

Table = list[dict[str, str]]


def tables(record: PatchMap) -> dict[str, Table]:
    """Every table by its name, columns that nobody filled left out."""
    rows: dict[str, Table] = {
        "switches": [_switch(row) for row in record.switches],
        "panels": [_panel(row) for row in record.panels],
        "outlets": [_outlet(row) for row in record.outlets],
        "fixed-cables": _fixed_cables(record),
        "cords": [_cord(row) for row in record.cords],
        "devices": [_device(row) for row in record.devices],
    }
    return {name: _without_empty_columns(table) for name, table in rows.items()}


def csv_files(record: PatchMap) -> dict[str, str]:
    """File name to text of the folder of tables."""
    return {f"{name}.csv": csv_text(table) for name, table in tables(record).items() if table}


def csv_text(table: Table, delimiter: str = ",") -> str:
    """One table as text with LF line ends."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(table[0]), lineterminator="\n", delimiter=delimiter)
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()


def save_workbook(record: PatchMap, path: Path) -> None:
    """The tables as sheets of one workbook, headings in bold, jack counts as numbers."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for name, table in tables(record).items():
        if not table:
            continue
        sheet = book.create_sheet(name.replace("-", " ").capitalize())
        sheet.append(list(table[0]))
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        for row in table:
            sheet.append([int(value) if value.isdecimal() else value for value in row.values()])
    book.save(path)


SCHEDULE_HEADINGS = {
    "outlet": "Outlet",
    "jack": "Patch panel",
    "switch": "Switch",
    "port": "Port",
    "device": "Equipment",
    "macs": "MAC address",
    "far_jack": "Rear panel",
    "room": "Room",
    "cord": "Cord no.",
    "kind": "Type",
    "carries": "Others behind it",
    "note": "Remarks",
}
"""Headings as one office happens to have them, for the column mapping in toneout.toml."""


def schedule(record: PatchMap) -> Table:
    """One row per channel, from the switch port on."""
    switches = {switch.name for switch in record.switches}
    wires = _Wires(record)
    rows: Table = []
    told: set[End] = set()
    for cord in record.cords:
        for here, there in ((cord.a, cord.b), (cord.b, cord.a)):
            if here.name in switches and here not in told:
                row, last = wires.row(here, there)
                told |= {here, last}
                rows.append(row)
    return _without_empty_columns([{SCHEDULE_HEADINGS[name]: row.get(name, "") for name in SCHEDULE_HEADINGS}
                                   for row in rows])  # fmt: skip


class _Wires:
    """Follows documented cables from a switch port on."""

    def __init__(self, record: PatchMap) -> None:
        self.outlets = {outlet.name for outlet in record.outlets}
        self.panels = {panel.name for panel in record.panels}
        self.devices = {device.name: device for device in record.devices}
        self.labels = {frozenset((cord.a, cord.b)): cord.label for cord in record.cords}
        self.touching: dict[End, list[End]] = {}
        cables: Iterable[tuple[End, End]] = [
            *((row.a, row.b) for row in record.cords),
            *((row.a, row.b) for row in record.fixed_cables),
            *((device.at, End(device.name)) for device in record.devices if device.at),
        ]
        for a, b in cables:
            self.touching.setdefault(a, []).append(b)
            self.touching.setdefault(b, []).append(a)

    def row(self, port: End, first: End) -> tuple[dict[str, str], End]:
        """The row of the channel that starts with the cord from `port` to `first`, and where it ends."""
        row = {"switch": port.name, "port": port.position, "cord": self.labels.get(frozenset((port, first)), "")}
        before, here = port, first
        while True:
            if here.name in self.panels:
                row["far_jack" if "jack" in row else "jack"] = str(here)
            elif here.name in self.outlets:
                row["outlet"] = str(here)
            onward = [other for other in self.touching[here] if other != before]
            if here.name in self.devices or not onward:
                break
            before, here = here, onward[0]
        if here.name in self.devices:
            row |= self._device(self.devices[here.name], here)
        elif here.name not in self.panels | self.outlets:
            row["device"] = str(here)
        return row, here

    @staticmethod
    def _device(device: Device, plugged: End) -> dict[str, str]:
        return {
            "device": str(plugged),
            "macs": " ".join(device.macs),
            "room": device.room,
            "kind": device.kind,
            "carries": _yes(device.carries),
            "note": device.note,
        }


def _switch(row: Switch) -> dict[str, str]:
    return {
        "name": row.name,
        "model": row.model,
        "room": row.room,
        "rack": row.rack,
        "unit": row.unit,
        "ports": _range(row.ports),
        "note": row.note,
    }


def _panel(row: Panel) -> dict[str, str]:
    return {
        "name": row.name,
        "jacks": str(len(row.jacks)),
        "room": row.room,
        "rack": row.rack,
        "unit": row.unit,
        "face": row.face,
        "category": row.category,
        "shield": row.shield,
        "crossed": _choice(row.crossed),
        "note": row.note,
    }


def _outlet(row: Outlet) -> dict[str, str]:
    return {
        "name": row.name,
        "room": row.room,
        "jacks": str(len(row.jacks)),
        "category": row.category,
        "shield": row.shield,
        "crossed": _choice(row.crossed),
        "note": row.note,
    }


def _fixed_cables(record: PatchMap) -> Table:
    """A row per cable; ties between two panels that are alike are one row with ranges."""
    panels = {panel.name for panel in record.panels}
    bundles: dict[object, list[FixedCable]] = {}
    for row in record.fixed_cables:
        tie = {row.a.name, row.b.name} <= panels
        alike = row.model_dump(exclude={"label", "a", "b", "origin", "headings", "extra"}).values()
        bundles.setdefault((row.a.name, row.b.name, *alike) if tie else (row.a, row.b), []).append(row)
    return [
        {
            "label": rows[0].label if len(rows) == 1 else f"{rows[0].label}-{rows[-1].label}",
            "a": f"{rows[0].a.name}:{_range([row.a.position for row in rows])}",
            "b": f"{rows[0].b.name}:{_range([row.b.position for row in rows])}",
            "category": rows[0].category,
            "shield": rows[0].shield,
            "gauge_awg": _number(rows[0].gauge_awg),
            "length_m": _number(rows[0].length_m),
            "temperature_c": _number(rows[0].temperature_c),
            "crossed": _choice(rows[0].crossed),
            "note": rows[0].note,
        }
        for rows in bundles.values()
    ]


def _cord(row: Cord) -> dict[str, str]:
    return {
        "label": row.label,
        "a": str(row.a),
        "b": str(row.b),
        "category": row.category,
        "shield": row.shield,
        "gauge_awg": _number(row.gauge_awg),
        "length_m": _number(row.length_m),
        "colour": row.colour,
        "crossed": _choice(row.crossed),
        "note": row.note,
    }


def _device(row: Device) -> dict[str, str]:
    return {
        "name": row.name,
        "kind": row.kind,
        "macs": " ".join(row.macs),
        "carries": _yes(row.carries),
        "at": str(row.at) if row.at else "",
        "room": row.room,
        "owner": row.owner,
        "note": row.note,
    }


def _range(names: Sequence[str]) -> str:
    """`Gi1/0/1-24, Te1/1/1-4` for names that count up by one within each stem; a single name as it is."""
    stems: dict[str, list[str]] = {}
    for name in names:
        stems.setdefault(name.rstrip("0123456789"), []).append(name)
    return ", ".join(map(_one_range, stems.values()))


def _one_range(names: Sequence[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    first, last = names[0], names[-1]
    stem = first.rstrip("0123456789")
    start = int(first[len(stem) :])
    if list(names) != [f"{stem}{start + n}" for n in range(len(names))]:
        raise ValueError(f"{first} to {last} do not count up by one")
    return f"{first}-{last[len(stem) :]}"


def _yes(flag: bool) -> str:
    return "yes" if flag else ""


def _choice(flag: bool | None) -> str:
    """Yes, no, or not documented."""
    return "" if flag is None else "yes" if flag else "no"


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _without_empty_columns(table: Table) -> Table:
    kept = [name for name in (table[0] if table else ()) if any(row[name] for row in table)]
    return [{name: row[name] for name in kept} for row in table]
