"""Finds the line of a key in a TOML text, which neither tomllib nor tomlkit tells after parsing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]#]+?)\s*\]")
_KEY = re.compile(r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")

KeyPath = Sequence[str | int]
"""Keys from the outside inwards; a number is the index, from 0, within an array of tables."""


def line_of(text: str, path: KeyPath) -> int | None:
    """The line, from 1, of the key at `path`, or of the nearest table around it; None when that is the whole file.

    Good enough for messages: a multi-line string that looks like TOML may mislead it.
    """
    wanted = tuple(path)
    best, line = 0, None
    for number, here in _keys(text):
        depth = _common(here, wanted)
        if depth == len(here) and depth > best:
            best, line = depth, number
    return line


def _keys(text: str) -> Iterator[tuple[int, tuple[str | int, ...]]]:
    table: tuple[str | int, ...] = ()
    counts: dict[tuple[str | int, ...], int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            table = _inside(_parts(header.group(2)), counts)
            if header.group(1) == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            yield number, table
        elif key := _KEY.match(line):
            yield number, (*table, *_parts(key.group(1)))


def _inside(parts: Sequence[str], counts: dict[tuple[str | int, ...], int]) -> tuple[str | int, ...]:
    """A header's path; below an array of tables it means the latest of them (TOML 1.0, arrays of tables)."""
    path: tuple[str | int, ...] = ()
    for part in parts:
        if path in counts:
            path = (*path, counts[path])
        path = (*path, part)
    return path


def _parts(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in dotted.split(".")]


def _common(a: Sequence[str | int], b: Sequence[str | int]) -> int:
    depth = 0
    for x, y in zip(a, b, strict=False):
        if x != y:
            break
        depth += 1
    return depth
