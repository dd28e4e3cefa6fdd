"""How the sockets of a switch or panel are arranged on its front, so that the drawing looks like the thing.

Common practice of the trade: switches have pairs of sockets, the first of a pair above the second ("odd over even"),
and sockets of another kind (uplinks) stand in a group of their own; panels count from left to right, 24 in a row.
A row of the map may say otherwise with columns `numbering` and `rows`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from enum import StrEnum

from reconcile.patchmap.index import natural
from reconcile.patchmap.model import fold

PANEL_ROW = 24
"""Jacks in one row of a 19-inch panel (common practice)."""

ONE_ROW_SWITCH = 8
"""A switch with up to so many sockets has them in one row (common practice: desktop switches)."""

Group = tuple[tuple[int, ...], ...]
"""Rows from top to bottom, each the indexes of its sockets from left to right."""

_NUMBER = re.compile(r"(\d{1,9})\D*$")


class Numbering(StrEnum):
    """The order in which sockets are numbered."""

    ODD_OVER_EVEN = "odd over even"
    EVEN_OVER_ODD = "even over odd"
    LEFT_TO_RIGHT = "left to right"


def arrange(names: Sequence[str], *, panel: bool, options: Mapping[str, str] | None = None) -> list[Group]:
    """Groups of rows of indexes into `names`. Every index comes exactly once.

    `options` are the user's own columns of the row: `numbering` is a `Numbering`, `rows` a number; what is neither
    is passed over, for it is not ours.
    """
    told = {fold(key): fold(value) for key, value in (options or {}).items()}
    default = Numbering.LEFT_TO_RIGHT if panel else Numbering.ODD_OVER_EVEN
    numbering = Numbering(told["numbering"]) if told.get("numbering") in set(Numbering) else default
    rows = int(told["rows"]) if re.fullmatch(r"[1-9]", told.get("rows", "")) else 0
    groups = [range(len(names))] if panel else _kinds(names)
    return [_rows(group, numbering, rows or _usual_rows(len(group), panel)) for group in groups if group]


def short_name(name: str) -> str:
    """What is printed beside a socket: its last number, else the beginning of its name."""
    found = _NUMBER.search(name)
    return found.group(1) if found else name[:5]


def _usual_rows(count: int, panel: bool) -> int:
    if panel:
        return -(-count // PANEL_ROW) or 1
    return 1 if count <= ONE_ROW_SWITCH else 2


def _kinds(names: Sequence[str]) -> list[Sequence[int]]:
    """Sockets whose names differ by the last number only belong together; single ones share the last group."""
    kinds: dict[str, list[int]] = {}
    for number, name in enumerate(names):
        found = _NUMBER.search(name)
        kinds.setdefault(name[: found.start(1)].casefold() if found else "", []).append(number)
    together = [sorted(kind, key=lambda i: natural(names[i])) for kind in kinds.values() if len(kind) > 1]
    single = [kind[0] for kind in kinds.values() if len(kind) == 1]
    return [*together, single]


def _rows(group: Sequence[int], numbering: Numbering, rows: int) -> Group:
    if numbering is Numbering.LEFT_TO_RIGHT:
        length = -(-len(group) // rows)
        found = [tuple(group[i : i + length]) for i in range(0, len(group), length)]
    else:
        found = [tuple(group[row::rows]) for row in range(min(rows, len(group)))]
    return tuple(reversed(found)) if numbering is Numbering.EVEN_OVER_ODD else tuple(found)
