"""Workbooks as grids: opens an .xlsx within bounds and turns each sheet's cells into text with what they were."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Any

from reconcile.patchmap.dates import from_cell
from reconcile.patchmap.grids import MAX_CELL, MAX_COLUMNS, MAX_ROWS, Cell, Grid, megabytes
from reconcile.patchmap.messages import fault, quoted
from reconcile.patchmap.model import Fault, Origin

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

MAX_UNPACKED = 64_000_000
"""Bytes of all parts of a workbook together; openpyxl needs some ten times as much memory."""

_OLD = (b"\xd0\xcf\x11\xe0", "workbook of the old .xls form, or protected by a password")


def open_workbook(data: bytes, name: str) -> dict[str, Grid] | Fault:
    """Every sheet as a grid, by its title in the order of the workbook; or why there is none."""
    refused = _refuse(data, name)
    if refused:
        return refused
    try:
        book = _load(data, values=False)
        values = _load(data, values=True) if _has_formulas(book) else book
        return {sheet.title: _grid(sheet, values[sheet.title], name) for sheet in book.worksheets}
    except MemoryError:
        return fault("not-workbook", Origin(name), why="there is not enough memory for it")
    except Exception as error:  # noqa: BLE001  # openpyxl meets damaged files with errors of every kind
        return fault("not-workbook", Origin(name), why=f"{type(error).__name__} while reading it")


def _refuse(data: bytes, name: str) -> Fault | None:
    """Looks at the archive's directory before anything is unpacked: zip bombs, other kinds of file."""
    if data.startswith(_OLD[0]):
        return fault("old-workbook", Origin(name), kind=_OLD[1], instead=".xlsx without a password")
    try:
        parts = zipfile.ZipFile(io.BytesIO(data)).infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError):
        return fault("not-workbook", Origin(name), why="it is no zip archive, or a damaged one")
    names = {part.filename for part in parts}
    if "mimetype" in names and "content.xml" in names:
        return fault("old-workbook", Origin(name), kind="workbook of the OpenDocument form", instead=".xlsx")
    unpacked = sum(part.file_size for part in parts)
    if unpacked > MAX_UNPACKED:
        return fault("too-large", Origin(name), size=megabytes(unpacked) + " unpacked", limit=megabytes(MAX_UNPACKED))
    return None


def _load(data: bytes, *, values: bool) -> Workbook:
    import openpyxl  # half a second that a folder of CSV need not pay

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # drawings and extensions that openpyxl leaves out: nothing that we read
        return openpyxl.load_workbook(io.BytesIO(data), data_only=values, keep_links=False)


def _cells(sheet: Worksheet) -> Iterator[Any]:
    """The cells that the file has, row by row. (iter_rows would make millions for one stray cell far away.)"""
    for key in sorted(sheet._cells):
        yield sheet._cells[key]


def _has_formulas(book: Workbook) -> bool:
    return any(cell.data_type == "f" for sheet in book.worksheets for cell in _cells(sheet))


def _grid(sheet: Worksheet, values: Worksheet, name: str) -> Grid:
    grid = Grid(name, sheet.title)
    rows: dict[int, dict[int, Cell]] = {}
    wide = 0
    for cell in _cells(sheet):
        found = _cell(cell, values)
        if found.blank:
            continue
        wide = max(wide, cell.column)
        if cell.column <= MAX_COLUMNS:
            rows.setdefault(cell.row, {})[cell.column] = found
    _fill_merged(sheet, rows, grid)
    if wide > MAX_COLUMNS:
        grid.faults.append(fault("too-many-columns", grid.origin(), limit=MAX_COLUMNS))
    if len(rows) > MAX_ROWS:
        grid.faults.append(fault("too-many-rows", grid.origin(), limit=f"{MAX_ROWS:,}"))
    for number in sorted(rows)[:MAX_ROWS]:
        row = rows[number]
        cells = tuple(row.get(column, Cell()) for column in range(1, max(row) + 1))
        if not (cells[0].text.startswith("# ") and len(row) == 1):
            grid.rows.append((number, cells))
    return grid


def _cell(cell: Any, values: Worksheet) -> Cell:
    value = cell.value
    if cell.data_type == "f":
        formula = str(getattr(value, "text", value))
        value = values[cell.coordinate].value
        if value is None:
            return Cell(trouble=("formula-empty", quoted(formula)))
    if cell.data_type == "e" or (isinstance(value, str) and cell.data_type == "f" and value.startswith("#")):
        return Cell(trouble=("error-cell", quoted(str(value))))
    if isinstance(value, (date, time)):
        became = from_cell(value, cell.number_format)
        return Cell(became.shown, became)
    if isinstance(value, timedelta):  # a time of 24 hours and more, such as 25:10
        minutes = int(value.total_seconds() // 60)
        return Cell(f"{minutes // 60}:{minutes % 60}")
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, (int, float)):
        return Cell(_number(value, cell.number_format), number=True)
    return Cell(str(value)[: MAX_CELL + 1] if value is not None else "")


def _number(value: float, number_format: str) -> str:
    """A number as its owner sees it: whole numbers without a point, and the leading zeros of a format like 000."""
    if not float(value).is_integer() or abs(value) >= 1e15:
        return repr(value)
    digits = str(int(value))
    return digits.zfill(len(number_format)) if re.fullmatch(r"0+", number_format) else digits


def _fill_merged(sheet: Worksheet, rows: dict[int, dict[int, Cell]], grid: Grid) -> None:
    """Gives the value of merged cells to each of their rows (never to further columns), and says so."""
    filled = []
    for area in sheet.merged_cells.ranges:
        value = rows.get(area.min_row, {}).get(area.min_col)
        if value is None or area.max_row == area.min_row:
            continue
        filled.append(area.coord)
        for number in range(area.min_row + 1, min(area.max_row, area.min_row + MAX_ROWS) + 1):
            if number in rows:  # a row with nothing else in it stays empty
                rows[number].setdefault(area.min_col, value)
    if filled:
        shown = ", ".join(sorted(filled)[:4]) + (" and others" if len(filled) > 4 else "")
        grid.faults.append(fault("merged-cells", grid.origin(), ranges=shown))
