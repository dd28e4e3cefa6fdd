"""Files as grids of cells: decodes and splits CSV text, within bounds, and says what was odd about it."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from reconcile.patchmap.dates import Became
from reconcile.patchmap.messages import fault, quoted
from reconcile.patchmap.model import Fault, Origin

MAX_BYTES = 32_000_000
MAX_ROWS = 200_000
MAX_COLUMNS = 500
MAX_CELL = 32_767
"""Characters in one cell: what a spreadsheet can hold."""

DELIMITERS = ",;\t|"


class Cell(NamedTuple):
    """One cell: its text, and for a workbook what else it was.

    `trouble` is the code of a fault and the text to show with it; it is said only where the cell is used.
    """

    text: str = ""
    became: Became | None = None
    number: bool = False
    trouble: tuple[str, str] | None = None

    @property
    def blank(self) -> bool:
        """True when there is nothing in it."""
        return not (self.text.strip() or self.became or self.trouble)


@dataclass(slots=True)
class Grid:
    """The rows of one CSV file or one sheet, each with its number as a spreadsheet counts."""

    file: str
    sheet: str = ""
    rows: list[tuple[int, tuple[Cell, ...]]] = field(default_factory=list)
    delimiter: str = ""  # of a CSV file; a sheet's rows cannot shift
    faults: list[Fault] = field(default_factory=list)

    def origin(self, row: int | None = None) -> Origin:
        """Where a row of this grid stands."""
        return Origin(self.file, self.sheet, row)


def read_bytes(path: Path, name: str) -> bytes | Fault:
    """The content of a plain file of at most MAX_BYTES, or why it cannot be had."""
    try:
        if not path.is_file():
            exists = path.exists()
            return fault("unreadable-file", Origin(name), why="it is not a plain file" if exists else "it is not there")
        size = path.stat().st_size
        if size > MAX_BYTES:
            return fault("too-large", Origin(name), size=megabytes(size), limit=megabytes(MAX_BYTES))
        return path.read_bytes()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "its name cannot be used"
        return fault("unreadable-file", Origin(name), why=why)


def megabytes(size: int) -> str:
    """A size as people say it."""
    return f"{max(1, round(size / 1_000_000))} MB"


_FOREIGN = (
    (b"PK\x03\x04", "workbook with the name of a CSV file", "CSV, or name it .xlsx"),
    (b"\xd0\xcf\x11\xe0", "workbook of the old .xls form", ".xlsx or CSV"),
    (b"%PDF", "PDF document", "CSV"),
)


def csv_grid(data: bytes, name: str, encoding: str, score: Callable[[Iterable[str]], int]) -> Grid:
    """The rows of a CSV text. `score` counts the headings in a row that it knows: that tells the separator."""
    grid = Grid(name)
    for magic, kind, instead in _FOREIGN:
        if data.startswith(magic):
            grid.faults.append(fault("old-workbook", grid.origin(), kind=kind, instead=instead))
            return grid
    text, _ = decoded(data, encoding, grid)
    skip = 0
    if text[:4].lower() == "sep=" and len(text) > 4:
        grid.delimiter, skip = text[4], 1
    else:
        grid.delimiter = _delimiter(text, score)
    _split(text, grid, skip)
    return grid


def decoded(data: bytes, encoding: str, grid: Grid) -> tuple[str, str]:
    """The text and the codec that it was read with; faults of it go to the grid.

    Byte-order mark, else the site's encoding, else UTF-16 by its zero bytes, else UTF-8, else Windows-1252.
    """
    marks = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
    marked = next((codec for mark, codec in marks if data.startswith(mark)), "")
    try:
        codec = marked or encoding or _unmarked_utf16(data) or "utf-8"
        return data.decode(codec), codec
    except (UnicodeError, ValueError) as error:
        why = f"not {codec.removesuffix('-sig').upper()} at byte {getattr(error, 'start', 0)}"
        if codec != "utf-8":
            grid.faults.append(fault("not-text", grid.origin(), why=why))
            return "", codec
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as error:
        why += f", nor Windows-1252 at byte {error.start}"
        grid.faults.append(fault("not-text", grid.origin(), why=why))
        return "", "cp1252"
    sample = next((word for word in re.findall(r"\w+", text) if not word.isascii()), "…")
    grid.faults.append(fault("guessed-encoding", grid.origin(), sample=quoted(sample).strip('"')))
    return text, "cp1252"


def _unmarked_utf16(data: bytes) -> str:
    """UTF-16 without its mark: every other byte of plain text is zero."""
    head = data[:2000]
    zeros = head[0::2].count(0), head[1::2].count(0)
    if len(head) < 4 or max(zeros) < 0.4 * len(head) / 2 or min(zeros) > 0.1 * max(zeros):
        return ""
    return "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le"


def _delimiter(text: str, score: Callable[[Iterable[str]], int]) -> str:
    """The separator under which some row near the top has most known headings; then the one with most columns."""
    head = "\n".join(text[:20_000].splitlines()[:20])

    def merit(delimiter: str) -> tuple[int, int]:
        rows = _lenient(head, delimiter)
        return max((score(row) for row in rows), default=0), max((len(row) for row in rows), default=0)

    return max(DELIMITERS, key=merit)


def _lenient(text: str, delimiter: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error:
        return []


def _split(text: str, grid: Grid, skip: int) -> None:
    number = 0
    for strict in (True, False):  # strict tells of quotes gone wrong; lenient then reads what can be read
        grid.rows.clear()
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=grid.delimiter, strict=strict)
        try:
            for number, row in enumerate(reader, 1):
                if number <= skip or not _keep(row, number, grid):
                    continue
                if len(grid.rows) >= MAX_ROWS:
                    grid.faults.append(fault("too-many-rows", grid.origin(), limit=f"{MAX_ROWS:,}"))
                    return
        except csv.Error as error:
            if "field larger" in str(error):
                words = {"size": f"more than {csv.field_size_limit():,}", "limit": f"{MAX_CELL:,}"}
                grid.faults.append(fault("cell-too-long", grid.origin(number + 1), **words))
                return
            if strict:
                grid.faults.append(fault("bad-quotes", grid.origin(number + 1)))
        else:
            return


def _keep(row: list[str], number: int, grid: Grid) -> bool:
    """Adds a row unless it is empty or a comment (`# ...` alone)."""
    if not any(cell.strip() for cell in row) or (row[0].startswith("# ") and not any(c.strip() for c in row[1:])):
        return False
    if len(row) > MAX_COLUMNS:
        grid.faults.append(fault("too-many-columns", grid.origin(number), limit=MAX_COLUMNS))
        return False
    if (longest := max(map(len, row))) > MAX_CELL:
        words = {"size": f"{longest:,}", "limit": f"{MAX_CELL:,}"}
        grid.faults.append(fault("cell-too-long", grid.origin(number), **words))
        return False
    grid.rows.append((number, tuple(Cell(text) for text in row)))
    return True
