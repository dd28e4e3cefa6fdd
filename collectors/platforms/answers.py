"""Is this an answer, and the whole of it? How switches say no, and what a reader must not have missed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from collectors.names import AddressKind, address_kind, parse_mac
from collectors.platforms.contract import Seen
from collectors.snapshot import TableState

_HEAD = 3
"""Lines looked at: a rejection comes first."""

MAX_REASON = 200

_REFUSED = re.compile(
    r"permission denied|not have permission|not enough permissions|not permitted|authorization (?:failed|denied)"
    r"|not authori[sz]ed|command not allowed|cannot execute command|access denied|must be root|insufficient privilege",
    re.IGNORECASE,
)
_NOT_SERVED = re.compile(
    r"^\s*(?:%|\^)?\s*(?:error: *)?(?:"
    r"invalid (?:input|command)|unrecogni[sz]ed (?:host|command)|unknown (?:command|action|host)|incomplete command"
    r"|ambiguous (?:command|input)|syntax error|bad (?:command|parameter)|wrong parameter|too many parameters"
    r"|expected (?:end of command|command)|no such (?:command|item)|incorrect (?:command|input)|type help"
    r"|(?:%? *)?(?:lldp|cdp) (?:is )?(?:not (?:enabled|running)|disabled)|not supported|feature .* not enabled"
    r"|(?:info|warning|error): *(?:lldp is not enabled|global lldp is not enabled|lldp is disabled)"
    r"|unable to connect to|cannot connect to)"
    r"|command not found|: not found\s*$|no such file or directory|is unknown, try|object .* is unknown"
    r"|option .* is unknown|input does not match any item",
    re.IGNORECASE,
)


class No(NamedTuple):
    """The switch would not or could not answer."""

    state: TableState
    reason: str


def rejection(text: str) -> No | None:
    """What the first lines of an unreadable answer say against the command; None when they say nothing of the kind.

    Only for answers that hold no table: in a table, a neighbour's own text could look like a rejection.
    """
    lines = [line for line in text.splitlines() if line.strip(" \t^")][:_HEAD]
    for state, words in ((TableState.REFUSED, _REFUSED), (TableState.NOT_SERVED, _NOT_SERVED)):
        for line in lines:
            if words.search(line):
                return No(state, line.strip()[:MAX_REASON])
    return None


_ADDRESS = re.compile(
    r"(?<![0-9a-f:.\-])(?:(?:[0-9a-f]{2}[:\-]){5}[0-9a-f]{2}|(?:[0-9a-f]{4}[.\-:]){2}[0-9a-f]{4}|[0-9a-f]{6}-[0-9a-f]{6})"
    r"(?![0-9a-f:.\-])",
    re.IGNORECASE,
)
_NO_STATION = (AddressKind.GROUP, AddressKind.NONE)


def unread_stations(text: str, seen: Iterable[Seen]) -> str:
    """Why rows are not the whole MAC table: an address stands in the answer and in no row. Empty when there is none.

    Readers look for lines of a form that they know; a row of another form must not vanish without a word.
    """
    said = {parse_mac(found) for found in _ADDRESS.findall(text)}
    stations = {mac for mac in said if mac and address_kind(mac) not in _NO_STATION}
    missed = sorted(stations - {one.mac for one in seen})
    return f"{len(missed)} addresses of the answer are in no row, such as {missed[0]}" if missed else ""
