"""The door to the ntc-templates package: text of a known command to rows of strings.

Its templates stop at the first line they do not know. One odd line (a log message, a new footnote, a neighbour's text)
must not cost a table: the line is left out, the rest read again, and the rows say that they are not the whole.
"""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from collectors.platforms.contract import Unreadable

_ODD_LINES = 20
_SHOWN = 60


class Row(dict[str, Any]):
    """One row by column name. Templates gain and lose columns from release to release: one that is missing is empty."""

    def __missing__(self, column: str) -> str:
        return ""


def first(cell: Any) -> str:
    """A cell that is a list in some releases of the templates: its first entry."""
    return str(next(iter(cell), "")) if isinstance(cell, list) else str(cell)


class Table(NamedTuple):
    """Rows of a template, and why they are not the whole table (empty: they are)."""

    rows: list[Row]
    partial: str = ""


def rows_of(platform: str, command: str, text: str, *, form: str, total: str = "", blocks: bool = False) -> Table:
    """The rows that the template for `command` finds in `text`.

    `form`: a pattern that every true answer has, such as the table's header; without it an empty result would look
    like an empty table. `total`: a pattern whose first group is the number of rows that the switch says it printed.
    `blocks`: a row stands on several lines, indented under its first one; a first line of unknown form must not be left
    out, for the lines under it would count as those of the row before.
    Raises Unreadable.
    """
    if not re.search(form, text, re.IGNORECASE | re.MULTILINE):
        raise Unreadable(f"no line like {form!r} in the answer to {command!r}")
    lines, odd = text.splitlines(), list[str]()
    while True:
        try:
            rows = _parse(platform, command, "\n".join(lines) + "\n")
            break
        except _OddLine as stop:
            said = stop.line.rstrip()
            place = next((i for i, line in enumerate(lines) if line.rstrip() in (said, said.removesuffix("."))), None)
            if place is None or len(odd) >= _ODD_LINES or (blocks and not said[:1].isspace()):
                raise Unreadable(f"a line of unknown form: {said.strip()[:_SHOWN]!r}") from None
            odd.append(lines.pop(place))
    return Table(rows, _partial(odd, len(rows), re.search(total, text, re.IGNORECASE) if total else None))


def without_strange_blocks(text: str, heading: str) -> tuple[str, str]:
    """`text` without lines that stand under a heading of another form, and why it is not the whole (empty: it is).

    For templates that take any line: the facts under a heading that they do not know would become those of the row
    before it.
    """
    kept: list[str] = []
    odd: list[str] = []
    known = True
    for line in text.splitlines():
        if line[:1].strip():
            known = bool(re.match(heading, line))
            if not known:
                odd.append(line)
        if known or not line.strip():
            kept.append(line)
    return "\n".join(kept), _partial(odd, 0, None)


def _partial(odd: list[str], found: int, said: re.Match[str] | None) -> str:
    if odd:
        more = f" and {len(odd) - 1} more" if len(odd) > 1 else ""
        return f"left out a line of unknown form: {odd[0].strip()[:_SHOWN]!r}{more}"
    if said and found < int(said.group(1)):
        return f"the switch counts {said.group(1)} rows, {found} were understood"
    return ""


class _OddLine(Exception):
    def __init__(self, line: str) -> None:
        self.line = line
        super().__init__(line)


def _parse(platform: str, command: str, text: str) -> list[Row]:
    # Imported here: a site that is asked by SNMP alone must not load it.
    import textfsm  # type: ignore[import-untyped]  # has no types
    from ntc_templates.parse import ParsingException, parse_output  # type: ignore[import-untyped]  # has no types

    try:
        rows = parse_output(platform=platform, command=command, data=text)
    except (ParsingException, textfsm.TextFSMError) as error:
        # textfsm reports the line in words only: "State Error raised. Rule Line: 9. Input Line: <line>."
        found = re.search(r"Input Line: (.*)$", str(error.__cause__ or error.__context__ or error), re.DOTALL)
        if not found:
            raise Unreadable(f"no template reads {command!r}") from None
        raise _OddLine(found.group(1)) from None
    return [Row(row) for row in rows]
