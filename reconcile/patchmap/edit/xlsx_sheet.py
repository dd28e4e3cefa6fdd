"""A workbook to be edited through openpyxl: formats, formulas and other sheets stay.

openpyxl writes what it understands. What it would lose is looked for beforehand, and then nothing is written: parts of
the archive (drawings of shapes, pivot tables), and stored results of formulas in columns that the map is read from,
which only a spreadsheet program can compute again.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Mapping, Sequence
from copy import copy
from typing import Any

from reconcile.patchmap.edit.sheet import EditError
from reconcile.patchmap.grids import Grid
from reconcile.patchmap.headings import Heads
from reconcile.patchmap.model import Origin

_BY_HAND = "make the change by hand in your spreadsheet program"

# Parts that openpyxl makes anew, or that say nothing to a reader: shared texts, the order of calculation, thumbnails,
# the settings of a printer driver.
_REMADE = re.compile(
    r"\[Content_Types\]\.xml|_rels/.*|docProps/.*|xl/_rels/.*|xl/worksheets/_rels/.*|xl/(workbook|styles|sharedStrings|"
    r"calcChain|metadata)\.xml|xl/theme/.*|xl/printerSettings/.*|xl/worksheets/[^/]+\.xml|xl/tables/.*|xl/comments.*|"
    r"xl/drawings/(vmlDrawing|commentsDrawing|legacyDrawing).*|xl/persons/.*|customXml/.*|xl/customProperty.*"
)


class XlsxFile:
    """One workbook; its sheets share it."""

    def __init__(self, data: bytes, name: str) -> None:
        import openpyxl  # half a second that a folder of CSV need not pay

        self.name = name
        self._data = data
        try:
            with warnings.catch_warnings(record=True) as said:
                warnings.simplefilter("always")
                self.book: Any = openpyxl.load_workbook(io.BytesIO(data), keep_vba=name.lower().endswith(".xlsm"))
        except Exception as error:  # noqa: BLE001  # openpyxl meets damaged files with errors of every kind
            raise EditError(name, f"cannot be opened for a change ({type(error).__name__})", _BY_HAND) from None
        dropped = [str(warning.message) for warning in said if "will be removed" in str(warning.message)]
        if dropped:
            raise EditError(name, f"has a part that would be lost ({dropped[0][:80]})", _BY_HAND)

    def content(self) -> bytes:
        """The file as it shall be. Raises EditError when openpyxl would lose a part of it."""
        out = io.BytesIO()
        try:
            self.book.save(out)
        except Exception as error:  # noqa: BLE001  # as above
            raise EditError(self.name, f"cannot be written ({type(error).__name__})", _BY_HAND) from None
        lost = sorted(_kinds(self._data) - _kinds(out.getvalue()))
        if lost:
            what = f"has parts that would be lost ({', '.join(lost)[:120]})"
            raise EditError(self.name, what, _BY_HAND)
        return out.getvalue()


class XlsxSheet:
    """One sheet of a workbook."""

    def __init__(self, file: XlsxFile, grid: Grid, top: int, heads: Heads) -> None:
        self._file = file
        self._grid = grid
        self._heads = heads
        self._sheet: Any = file.book[grid.sheet]
        self._last = grid.rows[-1][0]
        self._next = self._last + 1
        self._before = self._shown()
        ours = [index + 1 for indices in heads.own.values() for index in indices]
        first = grid.rows[top][0]
        for row in self._sheet.iter_rows(min_row=first, max_row=self._last, max_col=max(ours)):
            if any(cell.data_type == "f" and cell.column in ours for cell in row):
                what = "has formulas in a column that the map is read from, whose results would be lost"
                raise EditError(str(self.origin(row[0].row)), what, _BY_HAND)

    @property
    def heads(self) -> Heads:
        """Which column is what."""
        return self._heads

    def origin(self, row: int | None = None) -> Origin:
        """Where a row stands."""
        return self._grid.origin(row)

    def cell(self, row: int, column: int) -> str:
        """What a cell holds now."""
        value = self._sheet.cell(row, column + 1).value
        return "" if value is None else str(value)

    def held(self, row: int, column: int) -> object:
        """What a cell holds, numbers and dates as such; a formula is not carried elsewhere."""
        cell = self._sheet.cell(row, column + 1)
        return "" if cell.value is None or cell.data_type == "f" else cell.value

    def put(self, row: int, column: int, value: object) -> None:
        """Changes one cell, and nothing of its looks. A number stays one where the new text is a number too."""
        if str(value) == self.cell(row, column):
            return
        cell = self._sheet.cell(row, column + 1)
        if type(cell).__name__ == "MergedCell":
            raise EditError(str(self.origin(row)), "the cell is merged with others", _BY_HAND)
        _write(cell, value)

    def drop(self, row: int) -> None:
        """Empties a row. It stays as an empty one: formulas elsewhere that point below it stay true."""
        for cell in self._sheet[row]:
            if cell.data_type != "f" and type(cell).__name__ != "MergedCell":
                cell.value = None

    def add(self, cells: Mapping[int, object]) -> None:
        """A row below the last that holds something, with the looks of the last."""
        row = self._next
        if any(cell.value is not None for cell in self._sheet[row]):
            where = str(self.origin(row))
            raise EditError(where, "a new row would be written over it", "leave a free row below the table")
        for above in self._sheet[self._last]:
            if above.has_style:
                self._sheet.cell(row, above.column)._style = copy(above._style)
        for column, value in cells.items():
            if value != "":
                _write(self._sheet.cell(row, column + 1), value)
        for table in self._sheet.tables.values():
            table.ref = _grown(table.ref, row)
        if self._sheet.auto_filter.ref:
            self._sheet.auto_filter.ref = _grown(self._sheet.auto_filter.ref, row)
        self._next += 1

    def lines(self) -> tuple[Sequence[str], Sequence[str]]:
        """The rows as text before and after."""
        return self._before, self._shown()

    def _shown(self) -> list[str]:
        rows = self._sheet.iter_rows(values_only=True)
        texts = ([("" if value is None else str(value)) for value in row] for row in rows)
        return [f"{number}: {' | '.join(row).rstrip(' |')}" for number, row in enumerate(texts, 1)]


def _write(cell: Any, value: object) -> None:
    if isinstance(value, str) and re.fullmatch(r"[1-9]\d{0,14}|0", value) and (cell.data_type == "n"):
        cell.value = int(value)
        return
    cell.value = None if value == "" else value
    if isinstance(value, str) and value:
        cell.data_type = "s"  # a text that begins with an equals sign is no formula


def _grown(area: str, row: int) -> str:
    """An area such as A1:F20, one row longer where `row` is right below it."""
    first, _, last = area.partition(":")
    column, number = re.sub(r"[\d$]", "", last), int(re.sub(r"\D", "", last) or 0)
    return f"{first}:{column}{row}" if number == row - 1 else area


def _kinds(data: bytes) -> set[str]:
    """The kinds of parts of an archive that openpyxl may or may not carry over: `xl/drawings`, `xl/pivotTables`."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {re.sub(r"\d+(?=\.\w+\Z)", "", name) for name in archive.namelist() if not _REMADE.fullmatch(name)}
