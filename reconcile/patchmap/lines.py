"""A grid's rows under its headings: each cell as what its column should hold, its faults on one list."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from reconcile.patchmap import dates
from reconcile.patchmap.columns import COLUMNS, column_of, heading_key, listed, required_columns
from reconcile.patchmap.grids import Cell, Grid
from reconcile.patchmap.macs import read_macs
from reconcile.patchmap.messages import fault, quoted, suggestion
from reconcile.patchmap.model import End, Fault, Origin, fold
from reconcile.patchmap.ranges import counted, positions

MAX_NAME = 200
MAX_TITLE_ROWS = 15
"""Rows above the headings that a sheet may have: a title, a date, a key to colours."""

_MANY = ("macs",)
"""Columns that may be spread over several columns of the user's."""

_HYPHENS = {0x2010: "-", 0x2011: "-", 0x00AD: None}
_JOINERS = "\u200c\u200d"  # part of the spelling in several scripts

_YES = ("yes", "y", "true", "1", "x", "on")
_NO = ("no", "n", "false", "0", "off")
_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?)\s*(m|cm|ft|feet|')?", re.IGNORECASE)
_TO_METRES = {"": 1.0, "m": 1.0, "cm": 0.01, "ft": 0.3048, "feet": 0.3048, "'": 0.3048}


@dataclass(frozen=True, slots=True)
class Reading:
    """What a reader needs beside the grid: the user's headings, and words that mean an empty cell."""

    columns: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    nothing: frozenset[str] = frozenset()
    carrying: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Heads:
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


def read_lines(grid: Grid, table: str, reading: Reading, faults: list[Fault]) -> Iterator[Line]:
    """The rows below the headings that hold something of ours. Faults of the grid come first."""
    faults += grid.faults
    top = _heading_row(grid, table, reading)
    if top is None:
        expected = listed(required_columns(table) or [column.name for column in COLUMNS[table]][:7])
        if not any(f.code in ("not-text", "old-workbook") for f in grid.faults):
            table_words = table.replace("_", " ")
            faults.append(fault("no-headings", grid.origin(), table=table_words, expected=expected))
        return
    heads = _read_heads(grid, top, table, reading, faults)
    missing = [name for name in required_columns(table) if name not in heads.own]
    for name in missing:
        hint = suggestion(name, heads.extra.values(), "name it in the heading row, or in [map.columns]")
        words = {"table": table.replace("_", " "), "name": quoted(name), "suggestion": hint}
        faults.append(fault("missing-column", grid.origin(grid.rows[top][0]), **words))
    if missing:
        return
    width = len(grid.rows[top][1])
    for number, cells in grid.rows[top + 1 :]:
        if grid.delimiter and any(not cell.blank for cell in cells[width:]):
            separator = {"\t": "tab"}.get(grid.delimiter, grid.delimiter)
            words = {"cells": str(len(cells)), "headings": str(width), "separator": separator}
            faults.append(fault("long-row", grid.origin(number), **words))
        line = Line(grid.origin(number), cells, heads, reading, faults)
        if line.says_something:
            yield line


def best_score(grid: Grid, score: Callable[[Iterable[str]], int]) -> int:
    """How many known headings the best of a grid's first rows has."""
    return max((score(cell.text for cell in cells) for _, cells in grid.rows[:MAX_TITLE_ROWS]), default=0)


def _heading_row(grid: Grid, table: str, reading: Reading) -> int | None:
    score = known_headings(table, reading)
    scores = [score(cell.text for cell in cells) for _, cells in grid.rows[:MAX_TITLE_ROWS]]
    best = max(scores, default=0)
    return scores.index(best) if best else None


def _read_heads(grid: Grid, top: int, table: str, reading: Reading, faults: list[Fault]) -> _Heads:
    number, cells = grid.rows[top]
    texts = [clean(cell.text) for cell in cells]
    keys = [heading_key(text) for text in texts]
    heads = _Heads()
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
            _say_twice(exact or found, bool(exact), texts, grid.origin(number), faults)
            found = (exact or found)[:1]
        if found:
            _take(heads, column, found, texts)
            taken.update(found)
    for i, text in enumerate(texts):
        if text and i not in taken:
            heads.extra[i] = text if text not in heads.extra.values() else f"{text} ({letter(i)})"
    return heads


def _take(heads: _Heads, column: str, indices: list[int], texts: list[str]) -> None:
    heads.own[column] = indices
    heads.headings[column] = texts[indices[0]]


def _say_twice(found: list[int], exact: bool, texts: list[str], origin: Origin, faults: list[Fault]) -> None:
    if len(found) < 2:
        return
    same = len({heading_key(texts[i]) for i in found}) == 1
    code = "column-twice" if same else "column-unclear"
    columns = listed(f"{quoted(texts[i])} ({letter(i)})" for i in found[:4])
    faults.append(fault(code, origin, texts[found[0]], columns=columns))


def letter(index: int) -> str:
    """The letter of a column as a spreadsheet shows it: 0 is A, 26 is AA."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def clean(text: str) -> str:
    """A name as it is kept: composed, one blank between words, plain hyphens, nothing invisible."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text).translate(_HYPHENS)
    text = " ".join(text.split())
    if text.isprintable():
        return text
    return "".join(c for c in text if not _hidden(c)).strip()


def _hidden(character: str) -> bool:
    """True for control and format characters, which nobody sees; blanks and joiners are no such."""
    hidden = unicodedata.category(character) in ("Cc", "Cf", "Cs")
    return hidden and not character.isspace() and character not in _JOINERS


class Line:
    """One row. Each getter gives the cell as what its column should hold, and notes what is wrong with it."""

    def __init__(
        self, origin: Origin, cells: tuple[Cell, ...], heads: _Heads, reading: Reading, faults: list[Fault]
    ) -> None:
        self.origin = origin
        self.reading = reading
        self._cells = cells
        self._heads = heads
        self._faults = faults

    @property
    def says_something(self) -> bool:
        """False when all our columns are empty in this row."""
        return any(not self._at(i).blank for indices in self._heads.own.values() for i in indices)

    @property
    def headings(self) -> dict[str, str]:
        """Our column -> the user's heading."""
        return self._heads.headings

    @property
    def extra(self) -> dict[str, str]:
        """The user's own columns that hold something, as read."""
        return {name: self._at(i).text for i, name in self._heads.extra.items() if self._at(i).text.strip()}

    def say(self, code: str, column: str = "", **words: object) -> None:
        """Notes a fault of this row."""
        self._faults.append(fault(code, self.origin, self._heads.headings.get(column, column), **words))

    def _at(self, index: int) -> Cell:
        return self._cells[index] if index < len(self._cells) else Cell()

    def _cell(self, column: str) -> Cell:
        """The cell of one of our columns; empty, and said so, where the spreadsheet has no value for it."""
        cell = self._at(self._heads.own[column][0]) if column in self._heads.own else Cell()
        return self._sound(cell, column)

    def _sound(self, cell: Cell, column: str) -> Cell:
        if cell.trouble:
            code, shown = cell.trouble
            self.say(code, column, **{"formula" if code == "formula-empty" else "value": shown})
        return cell

    def blank(self, column: str) -> bool:
        """True when one of our columns holds nothing in this row, not even something unusable."""
        return all(self._at(index).blank for index in self._heads.own.get(column, ()))

    def text(self, column: str) -> str:
        """Free text, outer blanks left out."""
        return self._cell(column).text.strip()

    def word(self, column: str) -> str:
        """A name or another word that is compared: cleaned; '' where the cell says that nothing is there."""
        return self._word(self._cell(column), column)

    def _word(self, cell: Cell, column: str) -> str:
        word = clean(cell.text)
        if fold(word) in self.reading.nothing:
            return ""
        if not cell.text.isprintable() and any(map(_hidden, cell.text.strip("\ufeff"))):
            self.say("hidden-characters", column, value=quoted(word))
        if len(word) > MAX_NAME:
            self.say("name-too-long", column, value=quoted(word), size=f"{len(word):,}", limit=MAX_NAME)
            return ""
        return word

    def name(self, column: str, *, expected: str = "") -> str:
        """A name. With `expected`, an empty cell is a fault; '' whenever there is no usable name."""
        cell = self._cell(column)
        if cell.became:
            return self._before_date(cell.became, column, "-")
        word = self._word(cell, column)
        if not word:
            self._required(cell, column, expected)
            return ""
        if ":" in word:
            self.say("colon-in-name", column, value=quoted(word))
            return ""
        if dates.from_text(word) and not word.isupper():
            self.say("looks-like-date", column, value=quoted(word))
        return word

    def _required(self, cell: Cell, column: str, expected: str) -> None:
        """Says that a cell is empty, unless another fault of it was said already."""
        if expected and not cell.trouble and len(cell.text) <= MAX_NAME:
            self.say("required-empty", column, expected=expected)

    def position(self, column: str, separator: str = "/") -> str:
        """A port or jack: 12.0 is 12, and a date is what it was before, where only one thing can have been."""
        cell = self._cell(column)
        if cell.became:
            return self._before_date(cell.became, column, separator)
        word = whole(self._word(cell, column))
        became = dates.from_text(word)
        return self._before_date(became, column, separator) if became else word

    def _before_date(self, became: dates.Became, column: str, separator: str) -> str:
        candidates = became.candidates(separator)
        if len(candidates) == 1:
            self.say("became-date-read", column, value=became.shown, read=candidates[0])
            return candidates[0]
        self.say("became-date", column, value=became.shown, candidates=" or ".join(candidates))
        return ""

    def end(self, column: str, *, required: bool = True) -> End | None:
        """NAME:POSITION; None when there is none that can be used."""
        word = self._word(cell := self._cell(column), column)
        if not word:
            self._required(cell, column, "an end, NAME:POSITION" if required else "")
            return None
        name, _, position = word.partition(":")
        if not name.strip():
            self.say("required-empty", column, expected="a name before the colon")
            return None
        return End(name.strip(), whole(position.strip()))

    def positions(self, column: str, *, count: bool) -> tuple[str, ...]:
        """A list of positions; with `count`, a number alone is how many. Empty when there is none to be had."""
        cell = self._cell(column)
        became = cell.became or dates.from_text(cell.text)
        if became:
            ranges = became.ranges()
            if len(set(ranges)) != 1:
                candidates = " or ".join(dict.fromkeys(ranges or became.candidates("-")))
                self.say("became-date", column, value=became.shown, candidates=candidates)
                return ()
            self.say("became-date-read", column, value=became.shown, read=ranges[0])
            return positions(ranges[0])
        text = whole(clean(cell.text.replace("\n", ",")))
        if not text:
            return ()
        try:
            return counted(text) if count else positions(text)
        except ValueError as error:
            self.say("bad-range", column, value=quoted(text), why=error)
            return ()

    def macs(self) -> tuple[str, ...]:
        """Every MAC address in the row's columns for them, without repetition."""
        found: list[str] = []
        for index in self._heads.own.get("macs", ()):
            macs, problems = read_macs(self._sound(self._at(index), "macs").text, self.reading.nothing)
            found += macs
            for code, words in problems:
                self.say(code, "macs", **words)
        return tuple(dict.fromkeys(found))

    def flag(self, column: str) -> bool | None:
        """Yes or no; None where the cell is empty."""
        word = fold(whole(self._cell(column).text))
        if word in (*_YES, *_NO, ""):
            return word in _YES if word else None
        if word not in self.reading.nothing:
            self.say("bad-choice", column, value=quoted(word), expected="yes or no")
        return None

    def length(self, column: str) -> float | None:
        """A length in metres; None where the cell is empty or no length."""
        text = clean(self._cell(column).text)
        if fold(text) in self.reading.nothing or not text:
            return None
        found = _LENGTH.fullmatch(text)
        metres = float(found.group(1).replace(",", ".")) * _TO_METRES[(found.group(2) or "").lower()] if found else 0.0
        if not 0 < metres < 1_000_000:
            self.say("bad-number", column, value=quoted(text), expected="a length in metres", example="2.5")
            return None
        return round(metres, 4)

    def gauge(self, column: str) -> int | None:
        """A conductor size in AWG; None where the cell is empty or no size."""
        text = whole(clean(self._cell(column).text))
        if fold(text) in self.reading.nothing or not text:
            return None
        found = re.fullmatch(r"(?:awg\s*)?(\d{1,2})(?:\s*awg)?", text, re.IGNORECASE | re.ASCII)
        if not found or not 10 <= int(found.group(1)) <= 40:
            self.say("bad-number", column, value=quoted(text), expected="a conductor size in AWG", example="24")
            return None
        return int(found.group(1))


def whole(text: str) -> str:
    """12.0 is 12: what becomes of a position in a column of numbers."""
    return re.sub(r"\A\s*(\d+)[.,]0+\s*\Z", r"\1", text)
