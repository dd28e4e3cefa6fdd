"""A draft as files of a map in each of its forms, and what is told of it on the terminal."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from reconcile.draft.model import Draft, DraftRow, OpenPoint
from reconcile.patchmap.columns import TABLES, heading_key
from reconcile.patchmap.model import End, fold
from reconcile.patchmap.to_fill import TO_FILL
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import counted

if TYPE_CHECKING:
    from openpyxl import Workbook

Form = Literal["schedule", "tables", "workbook"]
Rows = list[dict[str, str]]

_OWN = ("ip", "maker", "vlan", "description", TO_FILL)
"""Columns that no reader of a map asks for, for the person who fills in the rest."""

_COLUMNS: dict[str, tuple[str, ...]] = {
    "schedule": (
        "outlet",
        "room",
        "jack",
        "cord",
        "switch",
        "port",
        "device",
        "kind",
        "carries",
        "macs",
        *_OWN,
        "note",
    ),
    "switches": ("name", "model", "room", "rack", "unit", TO_FILL, "note"),
    "panels": ("name", "jacks", "room", "rack", "unit", "category", "note"),
    "outlets": ("name", "room", "jacks", "category", "note"),
    "fixed_cables": ("label", "a", "b", "category", "length_m", "note"),
    "cords": ("label", "a", "b", "length_m", "colour", "description", TO_FILL, "note"),
    "devices": ("name", "kind", "macs", "carries", "at", "room", "owner", *_OWN, "note"),
}
_SWITCH_GAPS = ("room", "rack", "unit")


@dataclass(frozen=True, slots=True)
class Style:
    """How a site calls things: `columns` are its headings by table and column, `tables` its files or sheets."""

    columns: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    tables: Mapping[str, str] = field(default_factory=dict)


def files(draft: Draft, form: Form, style: Style, *, sheets: bool = False) -> dict[str, bytes]:
    """The files of a draft by name, one without a name where it is a single file. `sheets` makes the schedule a
    workbook."""
    if form == "schedule":
        grids = {"schedule": _grid("schedule", _schedule(draft), style)}
        return {"": _book(grids) if sheets else _csv(grids["schedule"])}
    rows = {"switches": _switches(draft), "cords": _cords(draft), "devices": _devices(draft)}
    grids = {name: _grid(name, rows.get(name, []), style) for name in TABLES}
    if form == "workbook":
        titles = {name: style.tables.get(name, name.replace("_", " ").capitalize()) for name in grids}
        return {"": _book({titles[name]: grid for name, grid in grids.items()})}
    return {style.tables.get(name, f"{name.replace('_', '-')}.csv"): _csv(grid) for name, grid in grids.items()}


def _grid(name: str, rows: Rows, style: Style) -> list[list[str]]:
    """Headings and rows, under the site's own headings where it has some; those that it asks for are all there."""
    mapped = style.columns.get(name, {})
    columns = [*_COLUMNS[name], *(column for column in mapped if column not in _COLUMNS[name])]
    headings = [mapped[column][0] if column in mapped else column for column in columns]
    used = Counter(map(heading_key, headings))
    kept = [i for i, column in enumerate(columns) if column in mapped or used[heading_key(headings[i])] == 1]
    return [[headings[i] for i in kept], *([row.get(columns[i], "") for i in kept] for row in rows)]


def _schedule(draft: Draft) -> Rows:
    rows: Rows = []
    holders = {fold(row.at.name) for row in draft.rows if row.behind}
    registered = {fold(row.at.name) for row in draft.rows if not row.behind}
    for row in draft.rows:
        cells = _common(row)
        if row.behind:
            cells |= {"outlet": str(row.at)}
        else:
            cells |= {"switch": row.at.name, "port": row.at.position}
        bare = not row.named and row.macs and not row.socket and fold(row.device) not in holders
        # Where the address is all that is known, its reader makes the name of it: the empty cell is the gap.
        cells["device"] = str(row.far) if row.far else "" if bare else str(End(row.device, row.socket))
        rows.append(cells)
        if row.far and fold(row.far.name) not in registered:
            registered.add(fold(row.far.name))  # a switch is one that stands in the column of switches
            rows.append({"switch": row.far.name, "port": row.far.position, "device": str(row.at)})
    for switch in draft.switches:
        if fold(switch.name) not in registered:
            rows.append({"switch": switch.name, "port": "?1", "note": "no link of it is known; this row only names it"})
    return rows


def _switches(draft: Draft) -> Rows:
    return [
        {
            "name": switch.name,
            "model": switch.model,
            TO_FILL: ", ".join(_SWITCH_GAPS),
            "note": "" if switch.answered else "did not answer",
        }
        for switch in draft.switches
    ]


def _cords(draft: Draft) -> Rows:
    """Links between switches, and cords to devices with several sockets."""
    rows: Rows = []
    for row in draft.rows:
        ends = {"a": str(row.at), "b": str(row.far or End(row.device, row.socket))}
        if row.far:
            rows.append(_common(row) | ends)
        elif row.socket:
            rows.append({"description": row.description, **ends})
    return rows


def _devices(draft: Draft) -> Rows:
    """Each device once, with everything that its rows have."""
    found: dict[str, dict[str, str]] = {}
    for row in draft.rows:
        if row.far:
            continue
        cells = _common(row) | {"name": row.device, "at": "" if row.socket else str(row.at)}
        known = found.setdefault(row.device, cells)
        if known is not cells:
            known["macs"] = " ".join(filter(None, (known["macs"], cells["macs"])))
            known["carries"] = max(known["carries"], cells["carries"])  # yes is more than no
    return list(found.values())


def _common(row: DraftRow) -> dict[str, str]:
    """Cells that mean the same in every form."""
    cells = {"description": row.description, TO_FILL: ", ".join(row.to_fill), "note": row.note}
    if row.far:
        return cells
    return cells | {
        "kind": row.kind,
        "carries": "yes" if row.carries else "no",
        "macs": " ".join(row.macs),
        "ip": " ".join(row.ips),
        "maker": row.maker,
        "vlan": " ".join(map(str, row.vlans)),
    }


def _csv(grid: Sequence[Sequence[str]]) -> bytes:
    """UTF-8; with a byte-order mark where a spreadsheet would otherwise take it for another encoding."""
    text = table(grid[0], grid[1:])
    return text.encode() if text.isascii() else text.encode("utf-8-sig")


def _book(grids: Mapping[str, Sequence[Sequence[str]]]) -> bytes:
    """An .xlsx of text cells, which no spreadsheet makes dates or formulas of; gaps are shaded."""
    from openpyxl import Workbook  # slow to import

    book = Workbook()
    book.remove(book.worksheets[0])
    for title, grid in grids.items():
        _sheet(book, title, grid)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _sheet(book: Workbook, title: str, grid: Sequence[Sequence[str]]) -> None:
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    from reconcile.reports.escape import visible

    gap, sheet = PatternFill("solid", fgColor="FFFFF2B3"), book.create_sheet(title)
    marks = grid[0].index(TO_FILL) if TO_FILL in grid[0] else None
    for number, row in enumerate(grid, 1):
        lacking = row[marks].split(", ") if marks is not None and number > 1 else []
        for column, text in enumerate(row, 1):
            cell = sheet.cell(number, column)
            cell.number_format = "@"
            if text:
                cell.value, cell.data_type, cell.quotePrefix = visible(text), "s", number > 1
            elif grid[0][column - 1] in lacking:
                cell.fill = gap
            if number == 1:
                cell.font = Font(bold=True)
    for column in range(1, len(grid[0]) + 1):
        widest = max(len(row[column - 1]) for row in grid)
        sheet.column_dimensions[get_column_letter(column)].width = min(max(widest, 8), 60) + 2
    sheet.freeze_panes = "A2"


_MOST_TOLD = 30


def told(draft: Draft, written: str, *, width: int = 80, colour: bool = False) -> str:
    """What was written, what a person has to fill in, and what was left open."""
    sheet = Sheet(width, colour=colour)
    sheet.say(f"A first map of {draft.site or 'the site'}, as its switches saw it: {written}", style="bold")
    for number, one, many in _counts(draft.rows):
        if number:
            sheet.say(counted(number, one, many), depth=1)
    gaps = Counter(column for row in draft.rows for column in row.to_fill)
    if gaps:
        sheet.heading("To fill in")
        sheet.say("Each row names its gaps in the column `to fill`; toneout check lists what is left of them.")
        sheet.say(", ".join(f"{column} {number}" for column, number in gaps.items()), depth=1)
    if draft.open:
        sheet.heading("Left open")
        for point in draft.open[:_MOST_TOLD]:
            _open_point(sheet, point)
        if len(draft.open) > _MOST_TOLD:
            sheet.say(f"and {len(draft.open) - _MOST_TOLD} more; --format json has all of them", depth=1)
    return str(sheet)


def _open_point(sheet: Sheet, point: OpenPoint) -> None:
    where = f"{point.switch} port {point.port}" if point.port else point.switch
    sheet.name(": ".join(filter(None, (where, point.what))), depth=1)
    sheet.say(point.because, depth=2)
    if point.macs:
        shown = ", ".join(point.macs[:4]) + (f" and {len(point.macs) - 4} more" if len(point.macs) > 4 else "")
        sheet.say(shown, depth=2)


def _counts(rows: Sequence[DraftRow]) -> Iterable[tuple[int, str, str]]:
    at_ports = [row for row in rows if not row.behind and not row.far]
    unknown = sum(not row.named and not row.macs for row in at_ports)
    yield len(at_ports) - unknown, "cord to a device", "cords to devices"
    yield unknown, "cord to somebody unknown", "cords to somebody unknown"
    yield sum(row.behind for row in rows), "device behind another one", "devices behind others"
    yield sum(row.far is not None for row in rows), "link between switches", "links between switches"
