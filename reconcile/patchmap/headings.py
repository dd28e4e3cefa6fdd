"""The heading row of a grid: where it is, and which column is what."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from reconcile.patchmap.columns import COLUMNS, column_of, heading_key, listed, required_columns
from reconcile.patchmap.grids import Grid
from reconcile.patchmap.messages import fault, quoted, suggestion
from reconcile.patchmap.model import Fault, Origin
from reconcile.patchmap.spelling import clean

MAX_TITLE_ROWS = 15
"""Rows above the headings that a sheet may have: a title, a date, a key to colours."""

_MANY = ("macs",)
"""Columns that may be spread over several columns of the user's."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What a reader needs beside the grid: the user's headings, and words that mean an empty cell."""

    columns: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    nothing: frozenset[str] = frozenset()
    carrying: frozenset[str] = frozenset()


@dataclass(slots=True)
class Heads:
    """Which column of the grid is what: `own` by our names, `extra` the user's own by theirs."""

    own: dict[str, list[int]] = field(default_factory=dict)
    extra: dict[int, str] = field(default_factory=dict)
    headings: dict[str, str] = field(default_factory=dict)


def known_headings(table: str, reading: Reading) -> Callable[[Iterable[str]], int]:
    """A function that counts the headings in a row that mean a column of the table."""
    mapped = {heading_key(h) for headings in reading.columns.get(table, {}).values() for h in headings}

    def score(row: Iterable[str]) -> int:
        return sum(1 for text in row if heading_key(text) in mapped or column_of(table, text))

    return score


def best_score(grid: Grid, score: Callable[[Iterable[str]], int]) -> int:
    """How many known headings the best of a grid's first rows has."""
    return max((score(cell.text for cell in cells) for _, cells in grid.rows[:MAX_TITLE_ROWS]), default=0)


def find_heads(grid: Grid, table: str, reading: Reading, faults: list[Fault]) -> tuple[int, Heads] | None:
    """The index of the heading row and what it says; None, and the reason among the faults, when it will not do."""
    words = {"table": table.replace("_", " ")}
    top = _heading_row(grid, table, reading)
    if top is None:
        expected = listed(required_columns(table) or [column.name for column in COLUMNS[table]][:7])
        if not any(f.code in ("not-text", "old-workbook") for f in grid.faults):
            faults.append(fault("no-headings", grid.origin(), expected=expected, **words))
        return None
    heads = _read(grid, top, table, reading, faults)
    missing = [name for name in required_columns(table) if name not in heads.own]
    for name in missing:
        hint = suggestion(name, heads.extra.values(), "name it in the heading row, or in [map.columns]")
        origin = grid.origin(grid.rows[top][0])
        faults.append(fault("missing-column", origin, name=quoted(name), suggestion=hint, **words))
    return None if missing else (top, heads)


def _heading_row(grid: Grid, table: str, reading: Reading) -> int | None:
    score = known_headings(table, reading)
    scores = [score(cell.text for cell in cells) for _, cells in grid.rows[:MAX_TITLE_ROWS]]
    best = max(scores, default=0)
    return scores.index(best) if best else None


def _read(grid: Grid, top: int, table: str, reading: Reading, faults: list[Fault]) -> Heads:
    number, cells = grid.rows[top]
    texts = [clean(cell.text) for cell in cells]
    keys = [heading_key(text) for text in texts]
    heads = Heads()
    taken: set[int] = set()
    for column, headings in reading.columns.get(table, {}).items():
        found = [keys.index(heading_key(h)) for h in headings if heading_key(h) in keys]
        if not found:
            hint = suggestion(headings[0], filter(None, texts), "correct [map.columns]")
            words = {"name": column, "heading": quoted(headings[0]).strip('"'), "suggestion": hint}
            faults.append(fault("mapped-column-missing", grid.origin(number), **words))
        else:
            _take(heads, column, found if column in _MANY else found[:1], texts)
            taken.update(heads.own[column])
    mapped = set(reading.columns.get(table, {}))
    for column in (c.name for c in COLUMNS[table] if c.name not in mapped):
        found = [i for i, text in enumerate(texts) if i not in taken and column_of(table, text) == column]
        exact = [i for i in found if keys[i] == column]
        if column not in _MANY:
            _say_twice(exact or found, texts, grid.origin(number), faults)
            found = (exact or found)[:1]
        if found:
            _take(heads, column, found, texts)
            taken.update(found)
    for i, text in enumerate(texts):
        if text and i not in taken:
            heads.extra[i] = text if text not in heads.extra.values() else f"{text} ({letter(i)})"
    return heads


def _take(heads: Heads, column: str, indices: list[int], texts: list[str]) -> None:
    heads.own[column] = indices
    heads.headings[column] = texts[indices[0]]


def _say_twice(found: list[int], texts: list[str], origin: Origin, faults: list[Fault]) -> None:
    if len(found) < 2:
        return
    same = len({heading_key(texts[i]) for i in found}) == 1
    code = "column-twice" if same else "column-unclear"
    columns = listed(f"{quoted(texts[i])} ({letter(i)})" for i in found[:4])
    faults.append(fault(code, origin, texts[found[0]], columns=columns))


def letter(index: int) -> str:
    """The letter of a column as a spreadsheet shows it: 0 is A, 26 is AA."""
    from openpyxl.utils import get_column_letter  # slow to import, and wanted in few faults

    return get_column_letter(index + 1)
