"""A CSV file to be edited: all its bytes stay, except those of the cells that change."""

from __future__ import annotations

import codecs
import io
from collections.abc import Mapping, Sequence

from reconcile.patchmap.edit.sheet import EditError
from reconcile.patchmap.edit.tokens import Record, Token, line_end, records
from reconcile.patchmap.grids import Grid, decoded
from reconcile.patchmap.headings import Heads
from reconcile.patchmap.model import Origin

_MARKS = (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_WITHOUT_MARK = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


class CsvSheet:
    """One CSV file. Edits are kept beside the text and put in when it is written."""

    def __init__(self, data: bytes, encoding: str, grid: Grid, top: int, heads: Heads) -> None:
        self._grid = grid
        self._heads = heads
        text, codec = decoded(data, encoding, Grid(grid.file))
        self._mark = next((mark for mark in _MARKS if data.startswith(mark)), b"")
        self._codec = _WITHOUT_MARK.get(self._mark, codec)
        self._text = text
        self._records = records(text, grid.delimiter)
        self._width = len(self._records[grid.rows[top][0] - 1].cells)
        self._last = grid.rows[-1][0]
        self._changed: dict[int, dict[int, str]] = {}
        self._dropped: set[int] = set()
        self._added: list[Mapping[int, str]] = []
        if self._encoded(text) != data:
            hint = "save it as UTF-8, or change the cells by hand"
            raise EditError(grid.file, f"its bytes cannot be kept in {codec}", hint)

    @property
    def heads(self) -> Heads:
        """Which column is what."""
        return self._heads

    def origin(self, row: int | None = None) -> Origin:
        """Where a row stands."""
        return self._grid.origin(row)

    def cell(self, row: int, column: int) -> str:
        """What a cell holds now."""
        token = self._token(row, column)
        return self._changed.get(row, {}).get(column, token.text if token else "")

    def held(self, row: int, column: int) -> object:
        """The text of a cell: a file of text holds nothing else."""
        return self.cell(row, column)

    def put(self, row: int, column: int, value: object) -> None:
        """Changes one cell; an unchanged one keeps its spelling and quotes."""
        text = str(value)
        if text != self.cell(row, column):
            self._changed.setdefault(row, {})[column] = text

    def drop(self, row: int) -> None:
        """Takes a row out, line end and all."""
        self._dropped.add(row)

    def add(self, cells: Mapping[int, object]) -> None:
        """A new row after the last that holds something."""
        self._added.append({column: str(value) for column, value in cells.items()})

    def lines(self) -> tuple[Sequence[str], Sequence[str]]:
        """The lines before and after."""
        return self._text.splitlines(), self._edited().splitlines()

    def content(self) -> bytes:
        """The file as it shall be. Raises EditError for a character that its encoding does not have."""
        return self._encoded(self._edited())

    def _encoded(self, text: str) -> bytes:
        try:
            return self._mark + text.encode(self._codec)
        except UnicodeEncodeError as error:
            what = f"{error.object[error.start : error.end]!a} cannot be written in {self._codec}"
            raise EditError(self._grid.file, what, "give a name in plain letters, or save the file as UTF-8") from None

    def _edited(self) -> str:
        out = io.StringIO()
        at = 0
        for number, record in enumerate(self._records, 1):
            start = at
            at = record.stop
            if number not in self._dropped:
                out.write(self._row(number, record, start))
            if number == self._last:
                out.write(self._new_rows(record))
        return out.getvalue()

    def _row(self, number: int, record: Record, start: int) -> str:
        """One row with its changes, its line end included."""
        changed = self._changed.get(number, {})
        pieces, at = [], start
        for column, token in enumerate(record.cells):
            pieces.append(self._text[at : token.start])
            written = self._text[token.start : token.end]
            if column in changed:
                written = self._written(changed[column], quotes=token.quoted(self._text))
            pieces.append(written)
            at = token.end
        beyond = range(len(record.cells), max(changed, default=-1) + 1)
        pieces += [self._grid.delimiter + self._written(changed.get(column, "")) for column in beyond]
        return "".join([*pieces, self._text[at : record.stop]])

    def _new_rows(self, last: Record) -> str:
        """Rows in the manner of the last: its line end, and quotes around everything where it has them."""
        ends = [line_end(self._text, record.end) for record in self._records]
        newline = next((end for end in ends if end), "\n")
        quotes = bool(last.cells) and all(token.quoted(self._text) for token in last.cells)
        rows = [
            self._grid.delimiter.join(
                self._written(row.get(column, ""), quotes=quotes) for column in range(self._width)
            )
            for row in self._added
        ]
        if not rows:
            return ""
        if last.stop == last.end and self._last not in self._dropped:  # no line end at the end of the file: so it stays
            return newline + newline.join(rows)
        return newline.join(rows) + newline

    def _written(self, text: str, *, quotes: bool = False) -> str:
        if quotes or any(c in text for c in (self._grid.delimiter, '"', "\r", "\n")):
            return '"' + text.replace('"', '""') + '"'
        return text

    def _token(self, row: int, column: int) -> Token | None:
        cells = self._records[row - 1].cells
        return cells[column] if column < len(cells) else None
