"""The columns of every table of a patch map: their names, meaning, an example, and what other people call them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from reconcile.patchmap.model import fold

TABLES = ("switches", "panels", "outlets", "fixed_cables", "cords", "devices")
"""The tables of the forms (a) and (b), in the order in which they are read; a file is `fixed-cables.csv`."""


class ColumnHelp(NamedTuple):
    """One column as people are told of it. `required` means that no row can do without."""

    table: str
    name: str
    meaning: str
    example: str
    required: bool = False
    synonyms: tuple[str, ...] = ()


_NOTE = ("note", "anything; kept", "moved for the flood", "notes remark remarks comment comments")
_ROOM = ("room", "room it is in", "Wet lab", "location space area")
_RACK = ("rack", "rack or cabinet", "R1", "cabinet frame")
_UNIT = ("unit", "height unit in the rack", "38", "u height_unit rack_unit ru")
_CATEGORY = ("category", "category of copper, or grade of fibre such as OM4", "6A", "cat class grade fibre fiber")
_SHIELD = ("shield", "screening, in the form of ISO/IEC 11801", "U/FTP", "shielding screen screening")
_CROSSED = ("crossed", "fibre: yes when its two positions change places", "yes", "polarity crossover a_to_b")
_TEMPERATURE = (
    "temperature_c", "warmest degrees Celsius along the cable", "35", "temperature temp temperature_(c) celsius",
)  # fmt: skip
_GAUGE = ("gauge_awg", "conductor size, AWG", "24", "gauge awg")
_LENGTH = ("length_m", "length in metres; m, cm or ft may follow", "42.5", "length len length_(m) metres meters")
_A = ("a*", "one end, NAME:POSITION", "SW-1:Gi1/0/7", "from a_end end_a end_1 source side_a near_end")
_B = ("b*", "the other end, NAME:POSITION", "PP-A:7", "to b_end end_b end_2 destination target side_b far_end")
_MACS = (
    "macs", "MAC addresses in any spelling, blank, comma or semicolon between", "00:00:5e:00:53:1a",
    "mac mac_address mac_addresses mac_addr mac(s) hardware_address ethernet_address physical_address",
)  # fmt: skip
_CARRIES = ("carries", "yes when others behind it are expected", "yes", "carries_others has_others downstream")

_SPEC: dict[str, tuple[tuple[str, str, str, str], ...]] = {
    "switches": (
        ("name*", "the switch, as [[switch]] in toneout.toml calls it", "SW-1", "switch switch_name hostname id"),
        ("model", "maker's model", "48 x 1 Gbit/s", "type"),
        _ROOM, _RACK, _UNIT,
        ("ports", "its ports as it names them; any name is taken when empty", "Gi1/0/1-48, Te1/1/1-4", "port_list"),
        _NOTE,
    ),
    "panels": (
        ("name*", "the patch panel", "PP-A", "panel panel_name patch_panel id"),
        ("jacks*", "how many jacks, or their names in order", "24", "positions ports jack_count size"),
        _ROOM, _RACK, _UNIT,
        ("face", "front or rear of the rack", "front", "side mounting"),
        _CATEGORY, _SHIELD, _CROSSED, _NOTE,
    ),
    "outlets": (
        ("name*", "the outlet plate", "WL-01", "outlet outlet_name telecommunications_outlet to plate id"),
        _ROOM,
        ("jacks", "how many jacks, or their names in order; 1 when empty", "2", "positions ports jack_count"),
        _CATEGORY, _SHIELD, _CROSSED, _NOTE,
    ),
    "fixed_cables": (
        ("label", "what is written on it; T1-T24 for a range", "FC-07", "cable cable_id cable_label id name"),
        ("a*", "one end, NAME:POSITION or a range of positions", "PP-A:7", _A[3]),
        ("b*", "the other end, as many positions as the first", "WL-01:1", _B[3]),
        _CATEGORY, _SHIELD, _GAUGE, _LENGTH, _TEMPERATURE, _CROSSED, _NOTE,
    ),
    "cords": (
        ("label", "what is written on it", "C-112", "cord cord_id cord_label patch_cord id name"),
        _A, _B, _CATEGORY, _SHIELD, _GAUGE, _LENGTH,
        ("colour", "colour of its jacket, your own scheme", "blue", "color"),
        _CROSSED,
        _NOTE,
    ),
    "devices": (
        ("name*", "the device", "DOSING-PUMP-2", "device device_name hostname host equipment id"),
        ("kind", "what it is; decides `carries` where that is empty", "phone", "type device_kind device_type"),
        _MACS, _CARRIES,
        ("at", "where it is plugged in when its cord has no row", "WL-01:1", "plugged_into connected_to attached_to"),
        _ROOM,
        ("owner", "who answers for it", "Aquarium team", "contact responsible user"),
        _NOTE,
    ),
    "schedule": (
        ("outlet", "outlet in the room, NAME or NAME:JACK; or another device's DEVICE:SOCKET", "WL-01:1",
         "outlet_id telecommunications_outlet to plate"),
        ("panel", "patch panel, where the jack column has the position alone", "PP-A", "patch_panel panel_name"),
        ("jack", "panel jack, PANEL:JACK, or the position alone", "PP-A:7",
         "panel_jack panel_port patch_panel_port patch_panel_jack panel_position"),
        ("switch", "switch", "SW-1", "switch_name"),
        ("port", "port of the switch, as it names it", "Gi1/0/7", "switch_port interface"),
        ("device", "device, NAME or NAME:SOCKET; or another switch's SWITCH:PORT", "DOSING-PUMP-2",
         "device_name host hostname equipment connected_device"),
        _MACS,
        ("far_jack", "jack of a second panel that is tied to the first; the device is plugged in there", "PP-R:7",
         "rear_jack tie_jack far_panel_jack"),
        _ROOM,
        ("cord", "label of the cord at the switch", "C-112", "cord_id cord_label patch_cord"),
        ("cable", "label of the fixed cable", "FC-07", "cable_id cable_label fixed_cable"),
        ("device_cord", "label of the cord at the device", "W-31", "work_area_cord equipment_cord"),
        ("kind", "what the device is; decides `carries` where that is empty", "phone", "device_kind device_type type"),
        _CARRIES,
        ("owner", "who answers for the device", "Aquarium team", "contact responsible user"),
        _CATEGORY, _SHIELD, _LENGTH, _NOTE,
    ),
}  # fmt: skip


def _columns(table: str) -> tuple[ColumnHelp, ...]:
    return tuple(
        ColumnHelp(table, name.rstrip("*"), meaning, example, name.endswith("*"), tuple(synonyms.split()))
        for name, meaning, example, synonyms in _SPEC[table]
    )


COLUMNS: dict[str, tuple[ColumnHelp, ...]] = {table: _columns(table) for table in _SPEC}


def describe_columns() -> list[ColumnHelp]:
    """Every column of every table and of the flat schedule, in the order in which people are told of them."""
    return [column for columns in COLUMNS.values() for column in columns]


def column_names(table: str) -> tuple[str, ...]:
    """The names of a table's columns."""
    return tuple(column.name for column in COLUMNS[table])


def heading_key(heading: str) -> str:
    """The form in which headings are compared: no case, and blanks, hyphens, dots and underscores alike."""
    return re.sub(r"[\s_.\-]+", "_", fold(heading)).strip("_")


_KNOWN = {
    table: {heading_key(word): column.name for column in columns for word in (*reversed(column.synonyms), column.name)}
    for table, columns in COLUMNS.items()
}


def column_of(table: str, heading: str) -> str:
    """The column that a heading means, by its name or a usual synonym; '' for a column of the user's own."""
    return _KNOWN[table].get(heading_key(heading), "")


def table_of(name: str) -> str:
    """The table that a file or sheet name means: `fixed-cables`, `Fixed Cables`, `fixedcables`; '' for none."""
    key = heading_key(name).replace("_", "")
    return next((table for table in TABLES if key == table.replace("_", "")), "")


def required_columns(table: str) -> tuple[str, ...]:
    """The columns that every row of a table needs."""
    return tuple(column.name for column in COLUMNS[table] if column.required)


def listed(words: Iterable[str]) -> str:
    """Words for a sentence: `a, b and c`."""
    *most, last = tuple(words) or ("nothing",)
    return f"{', '.join(most)} and {last}" if most else last
