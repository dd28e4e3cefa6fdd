"""Everything that can be said about a site folder and its patch map, in one place.

A message is a problem in one clause and what to do about it. Its code is stable: reports for machines carry it, and
`fixtures/bad_inputs/` has an example of each.
"""

from __future__ import annotations

import difflib
from collections.abc import Collection, Iterable
from typing import NamedTuple

from reconcile.patchmap.model import Fault, Origin, Severity, fold

MAX_QUOTED = 60
"""Characters of a user's text that a message repeats."""


class Message(NamedTuple):
    """Templates in the form of `str.format`; `severity` says whether the row can still be used."""

    problem: str
    hint: str = ""
    severity: Severity = Severity.ERROR


def _warn(problem: str, hint: str = "") -> Message:
    return Message(problem, hint, Severity.WARNING)


SITE = {
    "site-unreadable": Message("cannot be read: {why}", "check that it is a text file that you may read"),
    "not-toml": Message("is not TOML: {why}", "mend this line; strings need quotes, tables are [name]"),
    "unknown-key": Message("there is no such key here", "{expected}"),
    "missing-key": Message("this key is missing", "add it: {expected}"),
    "wrong-value": Message("{value}{expected}", "correct it"),
    "switch-twice": Message("{name} is a [[switch]] in {other} already", "give each switch one [[switch]] table"),
    "access-not-in-map": Message("the patch map has no switch {name}", "{suggestion}"),
    "address-twice": Message(
        "{address} is the address of {other} as well: one of the two is never asked",
        "correct the address of one of them",
        Severity.WARNING,
    ),
}

FILES = {
    "map-missing": Message("there is no {what} here", "set path in [map] of toneout.toml, or put the map there"),
    "unreadable-file": Message("cannot be read: {why}", "check that it is a plain file that you may read"),
    "too-large": Message("has {size}, more than the {limit} that a map may have", "keep the map in a file of its own"),
    "too-many-rows": Message("has more than {limit} rows", "delete what is not part of the map, or split the table"),
    "too-many-columns": Message("has more than {limit} columns", "keep the map in a table of its own"),
    "cell-too-long": Message("a cell of {size} characters", "shorten it to {limit} characters"),
    "not-text": Message("is not text in any encoding that we know: {why}", "save it as CSV in UTF-8"),
    "old-workbook": Message("is a {kind}", "open it and save it as {instead}"),
    "not-workbook": Message("is not a sound .xlsx workbook: {why}", "open it in a spreadsheet and save it as .xlsx"),
    "guessed-encoding": _warn(
        'is not UTF-8 and was read as Windows-1252, for example "{sample}"',
        "if these letters are wrong, save it as CSV in UTF-8 or set encoding in [map]",
    ),
    "bad-quotes": Message(
        "a quotation mark is not closed, or stands inside a cell", 'write "" for one quote in a cell'
    ),
    "long-row": Message(
        "has more cells ({cells}) than the heading row ({headings})",
        "put quotation marks around a cell that holds the separator {separator}",
    ),
    "no-headings": Message("no row with headings of the {table} table", "the first row must name columns: {expected}"),
    "missing-column": Message("the {table} table has no column {name}", "{suggestion}"),
    "column-twice": Message(
        "the same heading stands over two columns: {columns}; only the first was read", "rename one of them"
    ),
    "column-unclear": _warn(
        "several headings mean the same: {columns}; the first was read", "say which one in [map.columns]"
    ),
    "mapped-column-missing": Message(
        'toneout.toml takes {name} from a heading "{heading}" that is not here', "{suggestion}"
    ),
    "unknown-table": _warn("is not one of the tables of a map and was left out", "{suggestion}"),
    "table-twice": Message("is a second table of {table}, beside {other}, and was left out", "keep one of the two"),
    "no-tables": Message("holds none of the tables of a map", "it should hold {expected}"),
    "no-sheet": Message("the workbook has no sheet {sheet}", "{suggestion}"),
    "merged-cells": _warn(
        "cells {ranges} are merged; their value was taken for each of their rows", "unmerge them and write each value"
    ),
    "formula-empty": Message(
        "the formula {formula} has no stored value", "open the workbook, let it calculate, and save it"
    ),
    "error-cell": Message("the cell shows the error {value}", "mend its formula or type the value"),
}

CELLS = {
    "required-empty": Message("this cell must not be empty", "fill in {expected}, or delete the row"),
    "name-too-long": Message("{value} has {size} characters", "use a name of at most {limit}"),
    "colon-in-name": Message("the name {value} has a colon, which parts NAME:POSITION", "use another character"),
    "hidden-characters": _warn("invisible characters around {value} were left out", "type the cell again"),
    "not-a-mac": Message("{value} is not a MAC address", "write 48 bits, for example 00:00:5e:00:53:1a"),
    "mac-scientific": Message(
        "{value} was a MAC address before the spreadsheet made a number of it; its digits are lost",
        "set the column to text and type the address from its label again",
    ),
    "mac-zeros-lost": _warn(
        "{value} lost its leading zeros as a number; read as {read}", "set the column to text and type it again"
    ),
    "mac-too-short": Message(
        "{value} is a number of {size} digits, too short to be a MAC address that lost leading zeros",
        "set the column to text and type the address again",
    ),
    "became-date": Message(
        "the spreadsheet made the date {value} of it; it was {candidates}",
        "set the column to text and type it again",
    ),
    "became-date-read": _warn(
        "the spreadsheet made the date {value} of it; read as {read}", "set the column to text and type it again"
    ),
    "looks-like-date": _warn(
        "the name {value} looks like a date that a spreadsheet made", "set the column to text and type it again"
    ),
    "bad-number": Message("{value} is not {expected}", "write a plain number, for example {example}"),
    "bad-choice": Message("{value} is none of {expected}", "use one of these words"),
    "bad-range": Message("{value} is not a list of positions: {why}", "write for example 1-24 or 1-12,25"),
    "range-lengths": Message(
        "{a} has {a_count} positions and {b} has {b_count}", "both ends of a range of cables need the same number"
    ),
    "range-label": Message(
        "the label {value} stands for {count} labels and the row for {cables} cables",
        "write as many labels as cables, or one label for all",
    ),
    "range-in-cord": Message("{value} is a range, which only fixed cables may have", "write one row for each cord"),
    "port-without-switch": Message("port {value} has no switch", "fill in the switch"),
    "switch-without-port": Message("switch {value} has no port", "fill in the port, or clear the switch"),
    "jack-without-panel": Message("jack {value} has no panel", "write PANEL:JACK, or fill in the panel"),
    "outlet-and-far-jack": Message(
        "the row has outlet {outlet} and far jack {far}; the cord goes to one of them", "split it into two rows"
    ),
    "far-jack-alone": Message("far jack {value} has no near jack", "fill in the jack that it is tied to"),
    "row-says-nothing": _warn(
        "the row joins nothing", "fill in two of outlet, jack, switch port and device, or delete the row"
    ),
}

RELATIONS = {
    "name-twice": Message("the name {name} is used by {other} as well", "names must be unique over all tables"),
    "label-twice": _warn("the label {label} is on {other} as well", "give each cord and cable a label of its own"),
    "unknown-name": Message("no switch, panel, outlet or device is called {name}", "{suggestion}"),
    "no-such-jack": Message("{kind} {name} has no jack {position}", "it has {have}"),
    "no-such-port": Message("switch {name} has no port {position} in its list", "{suggestion}"),
    "no-position": Message("{name} is a {kind}: which {part} of it?", "write {name}:{part}"),
    "place-twice": Message("{end} is used by {other} as well", "one {kind} takes one {what}; correct one of the rows"),
    "joins-itself": Message("both ends are {end}", "correct one end"),
    "loop": Message("it is part of a loop that reaches no switch and no device: {path}", "correct one of its ends"),
    "switch-loop": _warn(
        "the channel joins {a} to {b} of the same switch", "correct one end, or note why such a loop is wanted"
    ),
    "device-in-two-places": Message(
        "device {name} is at {a} and, by {other}, at {b}",
        "keep one; give a device with several sockets positions, NAME:SOCKET",
    ),
    "device-nowhere": _warn("device {name} is documented at no place", "fill in at, or add its cord"),
    "open-end": _warn("the channel from {start} ends at {end} with nothing there", "add the device or the cord"),
    "beyond-limit": _warn(
        "the channel at {channel} is beyond a limit: {because}", "{do}; toneout limits has the source"
    ),
    "mac-twice": Message("{mac} is an address of {other} as well", "correct one of the two"),
    "mac-group": Message("{mac} is a {what} address, which no device can have", "read it from the device again"),
    "mac-zero": Message("00:00:00:00:00:00 is no device's address", "read it from the device again, or clear it"),
    "mac-gateway": _warn(
        "{mac} is a virtual gateway's address, which moves between ports by design",
        "document the routers' own addresses",
    ),
}

CATALOGUE: dict[str, Message] = SITE | FILES | CELLS | RELATIONS


def fault(code: str, origin: Origin, column: str = "", **words: object) -> Fault:
    """The fault of that code, with its blanks filled in. Users' texts are passed through `quoted` first."""
    message = CATALOGUE[code]
    column = column if len(column) <= MAX_QUOTED else column[: MAX_QUOTED - 1] + "…"
    told, hint = (harmless(template.format(**words)) for template in (message.problem, message.hint))
    return Fault(origin, harmless(column), told, hint, message.severity, code)


def problem(code: str, **words: object) -> str:
    """The problem of that code alone, for a sentence elsewhere."""
    return CATALOGUE[code].problem.format(**words)


def quoted(text: str) -> str:
    """A user's text as messages repeat it: in quotation marks, bounded, harmless."""
    shown = text if len(text) <= MAX_QUOTED else text[: MAX_QUOTED - 1] + "…"
    return f'"{harmless(shown)}"'


def harmless(text: str) -> str:
    """Text with everything spelled out that acts on a terminal or hides in it."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like this one, or '' when none is like it."""
    spelled = {fold(k): k for k in known}
    found = difflib.get_close_matches(fold(word)[:MAX_QUOTED], list(spelled), n=1, cutoff=0.6)
    return spelled[found[0]] if found else ""


def suggestion(word: str, known: Iterable[str], otherwise: str) -> str:
    """`did you mean "X"?` where a known word is like this one, else another thing to do."""
    near = nearest(word, known)
    return f"did you mean {quoted(near)}?" if near else otherwise


class Suggestions:
    """Suggestions within bounds: a map that lacks a whole table has thousands of unknown names."""

    def __init__(self, comparisons: int = 200_000) -> None:
        self._left = comparisons

    def __call__(self, word: str, known: Collection[str], otherwise: str) -> str:
        """Like `suggestion`, as long as comparisons are left."""
        self._left -= len(known)
        return suggestion(word, known, otherwise) if self._left > 0 else otherwise
