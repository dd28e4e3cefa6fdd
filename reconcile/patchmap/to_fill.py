"""Gaps that a person has still to fill: rows with a column of the user's own called `to fill`, as a draft has them.

The cell names columns. Each counts as long as the map does not have it, in whatever row or table it was written in
the meantime; a word that does not apply is deleted, or a person replaces the whole cell by a dash.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from collectors.names import parse_mac
from reconcile.channels import Channels, StepKind
from reconcile.patchmap.columns import heading_key
from reconcile.patchmap.model import Cord, Device, End, Origin, Outlet, Panel, PatchMap, Switch, fold

TO_FILL = "to fill"
"""The heading. It is matched like those of other columns: any case, blanks and underscores alike."""

UNKNOWN = "unknown at "
"""How the name of a device begins that nobody has told the name of."""

_Row = Switch | Panel | Outlet | Device | Cord


class ToFill(NamedTuple):
    """One row with gaps: where it stands, what it is about, and the columns that are still empty."""

    origin: Origin
    about: str
    columns: tuple[str, ...]


def still_to_fill(patch_map: PatchMap, channels: Channels) -> tuple[ToFill, ...]:
    """Every row with gaps, in the order of files, sheets and rows."""
    rows = (row for row in patch_map.rows() if not isinstance(row, (Panel, Outlet)))
    found = []
    for row in rows:
        marks = next((text for heading, text in row.extra.items() if heading_key(heading) == "to_fill"), "")
        columns = tuple(word for word in _words(marks) if not _is_there(word, row, channels))
        if columns:
            found.append(ToFill(row.origin, _about(row), columns))
    return tuple(sorted(found, key=lambda gap: (gap.origin.file, gap.origin.sheet, gap.origin.row or 0, gap.about)))


def _words(marks: str) -> list[str]:
    words = (word.strip() for word in re.split(r"[,;]", marks))
    return [word for word in words if any(map(str.isalnum, word))]


def _about(row: object) -> str:
    match row:
        case Device(name=name, at=at):
            return f"{at}, {name}" if at else name
        case Switch(name=name):
            return name
        case _:
            return f"{getattr(row, 'a', '')} to {getattr(row, 'b', '')}"


def _is_there(word: str, row: object, channels: Channels) -> bool:
    """True when the map has by now what a mark asks for. A word that names no column stays until it is deleted."""
    column = fold(word)
    if getattr(row, column, None):
        return True
    if isinstance(row, Device):
        return _device_has(column, row, channels)
    if isinstance(row, Cord):
        return (column == "cord" and bool(row.label)) or (column == "port" and not _guessed(row.a, row.b))
    return False


def _device_has(column: str, device: Device, channels: Channels) -> bool:
    if column == "device":
        return fold(device.name)[: len(UNKNOWN)] != UNKNOWN and parse_mac(device.name) not in device.macs
    steps = [step for channel in channels.of_device(device.name) for step in channel.steps]
    match column:
        case "outlet":
            return any(step.kind is StepKind.OUTLET for step in steps)
        case "jack" | "panel":
            return any(step.kind is StepKind.JACK for step in steps)
        case "room":
            return any(step.room for step in steps if step.kind is StepKind.OUTLET)
        case "cord":
            return any(step.kind is StepKind.CORD and step.label for step in steps)
    return False


def _guessed(*ends: End) -> bool:
    return any(end.position.startswith("?") for end in ends)


def columns_counted(found: Sequence[ToFill]) -> Iterator[tuple[str, int]]:
    """How many rows lack each column, in the order in which the columns are first met."""
    for column in dict.fromkeys(column for row in found for column in row.columns):
        yield column, sum(column in row.columns for row in found)
