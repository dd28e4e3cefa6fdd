"""Workbooks as grids: opens an .xlsx within bounds and turns each sheet's cells into text with what they were."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from bisect import bisect_right
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

from reconcile.patchmap.dates import from_cell
from reconcile.patchmap.grids import MAX_CELL, MAX_COLUMNS, MAX_ROWS, Cell, Grid, megabytes
from reconcile.patchmap.messages import fault, quoted
from reconcile.patchmap.model import Fault, Origin

if TYPE_CHECKING:
    from openpyxl.cell.read_only import ReadOnlyCell

MAX_UNPACKED = 64_000_000
"""Bytes of all parts of a workbook together; openpyxl needs some ten times as much memory."""

_OLD = (b"\xd0\xcf\x11\xe0", "workbook of the old .xls form, or protected by a password")


def open_workbook(data: bytes, name: str) -> dict[str, Grid] | Fault:
    """Every sheet as a grid, by its title in the order of the workbook; or why there is none."""
    refused = _refuse(data, name)
    if refused:
        return refused
    try:
        contents = _contents(data, values=False)
        stored = (
            _contents(data, values=True) if any(c.data_type == "f" for s in contents for c in s.cells) else contents
        )
        return {s.title: _grid(s, values, name) for s, values in zip(contents, stored, strict=True)}
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


class _Sheet(NamedTuple):
    """What a sheet's file has: its cells in order of rows, and its merged areas such as `B2:B5`."""

    title: str
    cells: list[ReadOnlyCell]
    merged: list[str]


def _contents(data: bytes, *, values: bool) -> list[_Sheet]:
    """Every sheet of a workbook; with `values`, the stored values of formulas instead of their texts."""
    import openpyxl  # half a second that a folder of CSV need not pay

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # extensions and odd dates: what matters of these is said by us
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=values, keep_links=False)
        return [_parse(sheet) for sheet in book.worksheets]


def _parse(sheet: Any) -> _Sheet:
    """The cells and merged areas that the file has, and no more.

    openpyxl's own sheets make a cell for each place of a merged area and of the rectangle around all cells: one merged
    column, or one stray cell in the last corner, costs a minute and a gigabyte. Its parser does not.
    """
    from openpyxl.cell.read_only import ReadOnlyCell
    from openpyxl.worksheet._reader import WorkSheetParser

    book = sheet.parent
    with sheet._get_source() as source:
        parser = WorkSheetParser(
            source, sheet._shared_strings, data_only=book.data_only, epoch=book.epoch,
            date_formats=book._date_formats, timedelta_formats=book._timedelta_formats,
        )  # fmt: skip
        cells = [ReadOnlyCell(sheet, **cell) for _, row in parser.parse() for cell in row if cell["value"] is not None]
    merged = [area.ref for area in parser.merged_cells.mergeCell] if parser.merged_cells else []
    return _Sheet(sheet.title, cells, merged)


def _grid(sheet: _Sheet, stored: _Sheet, name: str) -> Grid:
    grid = Grid(name, sheet.title)
    values = {(cell.row, cell.column): cell.value for cell in stored.cells}
    rows: dict[int, dict[int, Cell]] = {}
    wide = 0
    for cell in sheet.cells:
        found = _cell(cell, values.get((cell.row, cell.column)))
        if not found.blank:
            wide = max(wide, cell.column)
            if cell.column <= MAX_COLUMNS:
                rows.setdefault(cell.row, {})[cell.column] = found
    _fill_merged(sheet.merged, rows, grid)
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


def _cell(cell: ReadOnlyCell, stored: object) -> Cell:
    value: object = cell.value
    if cell.data_type == "f":
        if stored is None:
            return Cell(trouble=("formula-empty", quoted(str(getattr(value, "text", value)))))
        value = stored
    if cell.data_type == "e" or (cell.data_type == "f" and isinstance(value, str) and value.startswith("#")):
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
    return Cell(str(value)[: MAX_CELL + 1])


def _number(value: float, number_format: str) -> str:
    """A number as its owner sees it: whole numbers without a point, and the leading zeros of a format like 000."""
    if not float(value).is_integer() or abs(value) >= 1e15:
        return repr(value)
    digits = str(int(value))
    return digits.zfill(len(number_format)) if re.fullmatch(r"0+", number_format) else digits


def _fill_merged(merged: list[str], rows: dict[int, dict[int, Cell]], grid: Grid) -> None:
    """Gives the value of merged cells to each of their rows that has anything (to no further column), and says so."""
    from openpyxl.utils.cell import range_boundaries

    numbers = sorted(rows)
    filled, left = [], MAX_ROWS
    for area in merged:
        column, first, _, last = range_boundaries(area)
        value = rows.get(first or 1, {}).get(column or 1)
        if value is None or first is None or last is None or last == first or left <= 0:
            continue
        filled.append(area)
        below = numbers[bisect_right(numbers, first) : bisect_right(numbers, last)]
        left -= len(below)
        for number in below:
            rows[number].setdefault(column or 1, value)
    if filled:
        shown = ", ".join(sorted(filled)[:4]) + (" and others" if len(filled) > 4 else "")
        grid.faults.append(fault("merged-cells", grid.origin(), ranges=shown))
