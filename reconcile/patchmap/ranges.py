"""Lists and ranges of positions: `24`, `1-24`, `01-12, 25`, `Gi1/0/1-48`, `A1-A24`."""

from __future__ import annotations

import re

MAX_POSITIONS = 4096
"""Positions that one cell may stand for: more than any panel or chassis has."""
MAX_LENGTH = 100
"""Characters of one position or range; port names of switches have at most some forty."""

_DASH = "\\s*(?:-|\N{NON-BREAKING HYPHEN}|\N{EN DASH}|\N{EM DASH}|\N{MINUS SIGN}|\\.\\.|\\bto\\b)\\s*"
_RANGE = re.compile(rf"(.*?)(\d+){_DASH}(.*?)(\d+)", re.IGNORECASE)


def positions(text: str, *, descending: bool = False) -> tuple[str, ...]:
    """The positions that a list of single positions and ranges stands for, in order.

    Raises ValueError with the reason, for people, when it stands for none. A range keeps the leading zeros of its
    first number. `descending` allows 24-1, as for cables that are fitted in opposite order.
    """
    found: list[str] = []
    for item in re.split(r"[,;\n]", text):
        if item.strip():
            found += _range(item.strip(), descending)
        if len(found) > MAX_POSITIONS:
            raise ValueError(f"more than {MAX_POSITIONS:,} positions")
    if not found:
        raise ValueError("it is empty")
    if len(set(found)) < len(found):
        twice = next(position for position in found if found.count(position) > 1)
        raise ValueError(f"it has {twice[:40]} twice")
    return tuple(found)


def counted(text: str) -> tuple[str, ...]:
    """Like `positions`, but a number alone is how many there are: 24 means 1 to 24."""
    alone = text.strip()
    if re.fullmatch(r"\d{1,9}", alone, re.ASCII):
        return positions(f"1-{alone}") if int(alone) else positions("")
    return positions(text)


def stands_for_many(text: str) -> bool:
    """True for a list or range of several positions."""
    try:
        return len(positions(text, descending=True)) > 1
    except ValueError:
        return False


def _range(item: str, descending: bool) -> list[str]:
    if len(item) > MAX_LENGTH:
        raise ValueError(f"a position of {len(item):,} characters")
    found = _RANGE.fullmatch(item)
    if not found:
        return [item]
    prefix, first, other, last = found.groups()
    if len(first) > 9 or len(last) > 9:
        raise ValueError("its numbers are too long")
    if other and other != prefix:
        raise ValueError(f"{prefix[:20]}{first} and {other[:20]}{last} differ in more than the last number")
    low, high = int(first), int(last)
    if low > high and not descending:
        raise ValueError("it runs backwards")
    if abs(high - low) >= MAX_POSITIONS:
        raise ValueError(f"more than {MAX_POSITIONS:,} positions")
    step = 1 if low <= high else -1
    width = len(first) if first.startswith("0") else 0
    return [f"{prefix}{number:0{width}d}" for number in range(low, high + step, step)]
