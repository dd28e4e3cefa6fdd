"""What a CSV file and a sheet of a workbook have in common for those who edit them, and why an edit is refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from reconcile.errors import ReconcileError
from reconcile.patchmap.headings import Heads
from reconcile.patchmap.messages import quoted
from reconcile.patchmap.model import Origin


class EditError(ReconcileError):
    """The user's files cannot be changed as asked; nothing was written."""


class Sheet(Protocol):
    """One table of the user's, to be edited. Rows count as in `Origin`, columns from 0."""

    @property
    def heads(self) -> Heads:
        """Which column is what."""

    def origin(self, row: int | None = None) -> Origin:
        """Where a row stands."""

    def cell(self, row: int, column: int) -> str:
        """What a cell holds now, edits included."""

    def held(self, row: int, column: int) -> object:
        """What can be carried from a cell to another row: its text, or the number or date that a workbook has there.

        A formula is none of these: it belongs to its row.
        """

    def put(self, row: int, column: int, value: object) -> None:
        """Changes one cell, to a text or to what `held` gave."""

    def drop(self, row: int) -> None:
        """Takes a row out. The numbers of other rows stay, until the file is read again."""

    def add(self, cells: Mapping[int, object]) -> None:
        """A new row after the last."""

    def lines(self) -> tuple[Sequence[str], Sequence[str]]:
        """The sheet as lines of text before and after, for a diff."""


def put(sheet: Sheet, row: int, column: str, text: str) -> None:
    """Changes the cell of one of our columns. Raises EditError where the user has no such column."""
    sheet.put(row, index_of(sheet, column), text)


def get(sheet: Sheet, row: int, column: str) -> str:
    """What the cell of one of our columns holds; '' where there is no such column."""
    indices = sheet.heads.own.get(column, ())
    return sheet.cell(row, indices[0]).strip() if indices else ""


def index_of(sheet: Sheet, column: str) -> int:
    """The place of one of our columns. Raises EditError where the user has no such column."""
    indices = sheet.heads.own.get(column)
    if not indices:
        raise EditError(str(sheet.origin()), f"has no column for {quoted(column)}", f"add a column {column} to it")
    return indices[0]


def add(sheet: Sheet, cells: Mapping[str, str], *, needed: Sequence[str] = ()) -> None:
    """A new row by our columns. What the user has no column for is left out, unless it is needed."""
    known = {index_of(sheet, name): text for name, text in cells.items() if name in sheet.heads.own or name in needed}
    sheet.add(known)
