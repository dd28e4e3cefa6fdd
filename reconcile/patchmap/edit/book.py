"""The files of one site's map, opened together to be edited."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from reconcile.patchmap.columns import TABLES
from reconcile.patchmap.edit.csv_sheet import CsvSheet
from reconcile.patchmap.edit.sheet import EditError, Sheet
from reconcile.patchmap.edit.xlsx_sheet import XlsxFile, XlsxSheet
from reconcile.patchmap.files import WORKBOOKS, read_map, reading_of, schedule_grid, table_files, table_sheets
from reconcile.patchmap.grids import Grid, csv_grid, read_bytes
from reconcile.patchmap.headings import Heads, find_heads, known_headings
from reconcile.patchmap.model import Fault, PatchMap
from reconcile.site import Site


@dataclass(slots=True)
class Book:
    """The tables of a map by name (`schedule` for a flat one), and the bytes of the files that they stand in."""

    site: Site
    sheets: dict[str, Sheet] = field(default_factory=dict)
    grids: dict[str, Grid] = field(default_factory=dict)
    before: dict[Path, bytes] = field(default_factory=dict)
    _files: dict[Path, CsvSheet | XlsxFile] = field(default_factory=dict)
    _of: dict[str, Path] = field(default_factory=dict)

    def sheet(self, table: str) -> Sheet:
        """The table of that name. Raises EditError when the map has none."""
        if table not in self.sheets:
            words = table.replace("_", " ")
            hint = f"add {table.replace('_', '-')} with a row of headings (toneout check --columns)"
            raise EditError(str(self.site.map.path), f"the map has no table of {words}", hint)
        return self.sheets[table]

    def after(self) -> dict[Path, bytes]:
        """The files that differ now, as they shall be. Raises EditError where one cannot be written as it was."""
        touched = {self._of[table] for table, sheet in self.sheets.items() if _differs(sheet)}
        return {path: self._files[path].content() for path in sorted(touched)}

    def diff(self) -> Iterator[str]:
        """What differs, as a unified diff; a sheet of a workbook by its rows."""
        for table, sheet in self.sheets.items():
            if _differs(sheet):
                name = self._of[table].name + (f" sheet {sheet.origin().sheet}" if sheet.origin().sheet else "")
                yield from difflib.unified_diff(*sheet.lines(), name, f"{name} (adopted)", n=1, lineterm="")

    def reread(self) -> tuple[PatchMap, tuple[Fault, ...]]:
        """The map as it will be read from the files once they are written, and its faults."""
        source = self.site.map
        contents = {**self.before, **self.after()}
        with TemporaryDirectory(prefix="toneout-") as scratch:
            place = Path(scratch) / Path(os.path.abspath(source.path)).name  # `..` would lead out of here
            for path, content in contents.items():
                copy = place / path.relative_to(source.path)  # the map itself, where it is one file
                copy.parent.mkdir(parents=True, exist_ok=True)
                copy.write_bytes(content)
            return read_map(replace(self.site, map=replace(source, path=place)))


def open_book(site: Site) -> Book:
    """Opens every file of the map. Raises EditError for one that cannot be edited, whatever could be read of it."""
    book = Book(site)
    if site.map.form == "tables":
        faults: list[Fault] = []
        for table, path in table_files(site.map, faults).items():
            if not path.is_relative_to(site.map.path):
                raise EditError(str(path), "stands outside the folder of the map", "move it there")
            data = _bytes(path)
            book.before[path] = data
            grid = csv_grid(data, path.name, site.map.encoding, known_headings(table, reading_of(site)))
            _open_csv(book, table, path, grid)
    elif site.map.form == "workbook":
        path = site.map.path
        book.before[path] = _bytes(path)
        _open_workbook(book, path, table_sheets(site.map, []))
    else:
        _open_schedule(book, site.map.path)
    return book


def _open_schedule(book: Book, path: Path) -> None:
    book.before[path] = _bytes(path)
    grid = schedule_grid(book.site.map, reading_of(book.site), [])
    if grid is None:
        raise EditError(path.name, "cannot be read", "toneout check")
    if path.suffix.lower() in WORKBOOKS:
        _open_workbook(book, path, {"schedule": grid})
    else:
        _open_csv(book, "schedule", path, grid)


def _open_csv(book: Book, table: str, path: Path, grid: Grid) -> None:
    if any(fault.code == "bad-quotes" for fault in grid.faults):
        raise EditError(path.name, "has quotes gone wrong, so that its cells are not sure", "toneout check")
    top, heads = _heads(book, table, grid)
    sheet = CsvSheet(book.before[path], book.site.map.encoding, grid, top, heads)
    book.sheets[table], book.grids[table], book._files[path], book._of[table] = sheet, grid, sheet, path


def _open_workbook(book: Book, path: Path, grids: Mapping[str, Grid]) -> None:
    file = XlsxFile(book.before[path], path.name)
    book._files[path] = file
    for table in (*TABLES, "schedule"):
        if table in grids:
            book.sheets[table] = XlsxSheet(file, grids[table], *_heads(book, table, grids[table]))
            book.grids[table], book._of[table] = grids[table], path


def _heads(book: Book, table: str, grid: Grid) -> tuple[int, Heads]:
    found = find_heads(grid, table, reading_of(book.site), [])
    if found is None:
        raise EditError(str(grid.origin()), "has no row of headings", "toneout check")
    return found


def _bytes(path: Path) -> bytes:
    if path.suffix.lower() in (".xls", ".ods"):
        hint = "save it as .xlsx and name that in toneout.toml, or make the change by hand"
        raise EditError(path.name, f"a {path.suffix} workbook cannot be changed in its own form", hint)
    for lock in (path.with_name(f"~${path.name}"), path.with_name(f".~lock.{path.name}#")):
        if lock.exists():
            raise EditError(
                path.name, "is open in a spreadsheet program, which would write over the change", "close it"
            )
    data = read_bytes(path, path.name)
    if isinstance(data, Fault):
        raise EditError(path.name, data.problem, data.hint)
    return data


def _differs(sheet: Sheet) -> bool:
    before, after = sheet.lines()
    return list(before) != list(after)
