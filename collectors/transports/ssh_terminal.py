"""What a terminal would show of the octets that a switch sends: pure functions, no connection.

Command lines redraw: they echo what was typed, erase their "--More--" with backspaces, blanks or escape sequences, and
write over it. Read as a terminal reads them, the lines of a table come out as they were meant.
"""

from __future__ import annotations

import re
from typing import NamedTuple

_ESCAPE = re.compile(
    r"\x1b\[(?P<numbers>[\d;?]*)(?P<what>[A-Za-z])"  # CSI: cursor moves and erasing (ECMA-48)
    r"|\x1b\](?:[^\x07\x1b]*)(?:\x07|\x1b\\)?"  # OSC: window titles, in shell prompts
    r"|\x1b[()][A-Za-z0-9]|\x1b[=>78DMcH]"
)
_DRAWING = re.compile(r"[\x08\r\x1b\x07\x00]")

# "More" of every vendor, as the last thing on the screen.
_PAGER = re.compile(
    r"(?:-{2,4} ?\(?more(?: ?\d{1,3}%)?\)? ?-{2,4}(?:,[^\n]*)?|More: <space>,[^\n]*|-- \[Q quit[^\n]*)\s*$",
    re.IGNORECASE,
)
_WIDTH = 4096
"""Columns that a moved cursor may reach: more is no table."""


class Screen(NamedTuple):
    """The answer to one command."""

    text: str
    stale: bool
    """True when text came before the echo of the command: the end of an earlier answer, or a message of the system."""


def shown(raw: bytes) -> str:
    """The lines of `raw` as a terminal shows them, without trailing blanks."""
    lines = raw.replace(b"\x1bE", b"\n").split(b"\n")
    return "\n".join(_line(_decoded(line)) for line in lines)


def _decoded(line: bytes) -> str:
    """Text of one line: UTF-8, else GB 18030, else Latin-1. Neighbours advertise names in any of them."""
    for encoding in ("utf-8", "gb18030"):
        try:
            return line.decode(encoding)
        except UnicodeDecodeError:
            continue
    return line.decode("latin-1")


def _line(said: str) -> str:
    said = said.rstrip("\r")
    if not _DRAWING.search(said):
        return said.rstrip()
    cells: list[str] = []
    column = at = 0
    while at < len(said):
        escape = _ESCAPE.match(said, at)
        if escape:
            column = _move(cells, column, escape["numbers"] or "", escape["what"] or "")
            at = escape.end()
            continue
        if said[at] == "\r":
            column = 0
        elif said[at] == "\x08":
            column = max(0, column - 1)
        elif said[at] not in "\x07\x00\x1b":
            drawing = _DRAWING.search(said, at)
            run = said[at : drawing.start() if drawing else len(said)]
            cells += [" "] * (column - len(cells))
            cells[column : column + len(run)] = run
            column += len(run)
            at += len(run) - 1
        at += 1
    return "".join(cells).rstrip()


def _move(cells: list[str], column: int, numbers: str, what: str) -> int:
    """The column after an escape sequence; erasing changes `cells`. Sequences that draw nothing stay where they are."""
    said = [int(number) for number in re.findall(r"\d{1,4}", numbers)]
    first = said[0] if said else None
    if what == "D":
        return max(0, column - (first or 1))
    if what == "C":
        return min(_WIDTH, column + (first or 1))
    if what in "Hf":
        return min(_WIDTH, (said[1] if len(said) > 1 else 1) - 1)
    if what == "G":
        return min(_WIDTH, (first or 1) - 1)
    if what == "K":
        if first == 2:
            cells.clear()
        elif first == 1:
            cells[:column] = [" "] * min(column, len(cells))
        else:
            del cells[column:]
    return column


def last_line(raw: bytes) -> str:
    """What stands in the last line, where the prompt or the pager waits."""
    return shown(raw[-4096:].rpartition(b"\n")[2]).strip()


def at_prompt(raw: bytes, prompt: str) -> bool:
    """True when the last line is the prompt and nothing else."""
    return last_line(raw) == prompt


def at_pager(raw: bytes) -> bool:
    """True when the switch waits for a key to print the next page."""
    return bool(_PAGER.search(last_line(raw)))


def answer(raw: bytes, command: str, prompt: str) -> Screen:
    """The answer alone: without the echo of the command before it and the prompt behind it."""
    lines = shown(raw).split("\n")
    while lines and (lines[-1].strip() == prompt or not lines[-1].strip()):
        lines.pop()
    echo = next((place for place, line in enumerate(lines) if line.rstrip().endswith(command)), None)
    if echo is None:
        return Screen("\n".join(lines), stale=False)
    before = {line.strip() for line in lines[:echo]} - {"", prompt}
    # RouterOS echoes more than once.
    while echo + 1 < len(lines) and lines[echo + 1].rstrip().endswith(command):
        echo += 1
    return Screen("\n".join(lines[echo + 1 :]), stale=bool(before))
