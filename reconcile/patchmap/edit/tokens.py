"""A CSV text as cells with their places in it, so that one cell can be changed and every other character stays.

The cells are those that Python's `csv.reader` finds in its lenient mode, which is how maps are read (RFC 4180, and
what spreadsheets make of texts beside it); a test holds the two together.
"""

from __future__ import annotations

from typing import NamedTuple


class Token(NamedTuple):
    """One cell: characters `start` to `end` of the text, quotes included."""

    start: int
    end: int
    text: str

    def quoted(self, whole: str) -> bool:
        """True when the cell stands in quotes."""
        return whole[self.start : self.start + 1] == '"'


class Record(NamedTuple):
    """One row: its cells, and where its line end begins and stops. An empty line has no cells."""

    cells: tuple[Token, ...]
    end: int
    stop: int


def records(text: str, delimiter: str) -> list[Record]:
    """Every row of the text, empty ones included: the n-th is row n + 1 of a spreadsheet."""
    found: list[Record] = []
    at = 0
    while at < len(text):
        cells, end = _row(text, at, delimiter)
        at = end + len(line_end(text, end))
        found.append(Record(cells, end, at))
    return found


def line_end(text: str, at: int) -> str:
    """The line end that stands there: CR LF, LF, CR, or nothing at the end of the text."""
    pair = text[at : at + 2]
    return pair if pair == "\r\n" else pair[:1] if pair[:1] in ("\r", "\n") else ""


def _row(text: str, start: int, delimiter: str) -> tuple[tuple[Token, ...], int]:
    """The cells of the row that begins at `start`, and where they end."""
    if line_end(text, start):
        return (), start
    cells: list[Token] = []
    at = start
    while True:
        token = _quoted(text, at, delimiter) if text[at : at + 1] == '"' else _plain(text, at, delimiter)
        cells.append(token)
        at = token.end
        if text[at : at + 1] != delimiter:
            return tuple(cells), at
        at += 1


def _plain(text: str, start: int, delimiter: str) -> Token:
    """A cell up to the next separator or line end."""
    end = start
    while end < len(text) and text[end] not in (delimiter, "\r", "\n"):
        end += 1
    return Token(start, end, text[start:end])


def _quoted(text: str, start: int, delimiter: str) -> Token:
    """A cell in quotes; what follows the closing quote belongs to it as well, as lenient readers have it."""
    pieces: list[str] = []
    at = start + 1
    while True:
        close = text.find('"', at)
        if close < 0:
            return Token(start, len(text), "".join([*pieces, text[at:]]))
        pieces.append(text[at:close])
        if text[close + 1 : close + 2] != '"':
            break
        pieces.append('"')
        at = close + 2
    rest = _plain(text, close + 1, delimiter)
    return Token(start, rest.end, "".join([*pieces, rest.text]))
