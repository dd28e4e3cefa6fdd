"""How switches say no to a command, in the words of every vendor."""

from __future__ import annotations

import re
from typing import NamedTuple

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
