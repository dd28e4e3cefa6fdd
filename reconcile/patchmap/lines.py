"""A grid's rows under its headings: each cell as what its column should hold, its faults on one list."""

from __future__ import annotations

import re
from collections.abc import Iterator

from reconcile.patchmap import dates
from reconcile.patchmap.grids import Cell, Grid
from reconcile.patchmap.headings import Heads, Reading, find_heads
from reconcile.patchmap.macs import read_macs
from reconcile.patchmap.messages import fault, quoted
from reconcile.patchmap.model import End, Fault, Origin, fold
from reconcile.patchmap.ranges import counted, positions
from reconcile.patchmap.spelling import clean, hidden, whole

MAX_NAME = 200

YES = ("yes", "y", "true", "1", "x", "on")
"""Words for yes; compared without case."""
_NO = ("no", "n", "false", "0", "off")
_LENGTH = re.compile(r"(\d+(?:[.,]\d+)?)\s*(m|cm|ft|feet|')?", re.IGNORECASE)
_TO_METRES = {"": 1.0, "m": 1.0, "cm": 0.01, "ft": 0.3048, "feet": 0.3048, "'": 0.3048}


def read_lines(grid: Grid, table: str, reading: Reading, faults: list[Fault]) -> Iterator[Line]:
    """The rows below the headings that hold something of ours. Faults of the grid come first."""
    faults += grid.faults
    found = find_heads(grid, table, reading, faults)
    if found is None:
        return
    top, heads = found
    width = len(grid.rows[top][1])
    for number, cells in grid.rows[top + 1 :]:
        if grid.delimiter and any(not cell.blank for cell in cells[width:]):
            separator = {"\t": "tab"}.get(grid.delimiter, grid.delimiter)
            words = {"cells": str(len(cells)), "headings": str(width), "separator": separator}
            faults.append(fault("long-row", grid.origin(number), **words))
        line = Line(grid.origin(number), cells, heads, reading, faults)
        if line.says_something:
            yield line


class Line:
    """One row. Each getter gives the cell as what its column should hold, and notes what is wrong with it."""

    def __init__(
        self, origin: Origin, cells: tuple[Cell, ...], heads: Heads, reading: Reading, faults: list[Fault]
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
        if not cell.text.isprintable() and any(map(hidden, cell.text.strip("\ufeff"))):
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
        if word in (*YES, *_NO, ""):
            return word in YES if word else None
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

    def temperature(self, column: str) -> float | None:
        """Degrees Celsius; None where the cell is empty or no temperature that cable is laid in."""
        text = clean(self._cell(column).text)
        if fold(text) in self.reading.nothing or not text:
            return None
        found = re.fullmatch(r"(-?\d{1,3}(?:[.,]\d+)?)\s*(?:\N{DEGREE SIGN}?\s*C)?", text, re.IGNORECASE | re.ASCII)
        if not found or not -60 <= float(found.group(1).replace(",", ".")) <= 120:
            self.say("bad-number", column, value=quoted(text), expected="degrees Celsius", example="35")
            return None
        return float(found.group(1).replace(",", "."))

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
