"""Names that can stand in a map: what a neighbour or a name server says is anything at all."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from itertools import chain, count

from collectors.names import parse_mac
from reconcile.patchmap import dates
from reconcile.patchmap.lines import MAX_NAME
from reconcile.patchmap.model import fold
from reconcile.patchmap.spelling import clean, whole
from reconcile.patchmap.to_fill import UNKNOWN
from reconcile.site_file import NOTHING_WORDS

LONGEST_NAME = 63
"""Characters, as of one label of a host name (RFC 1035); what is longer is nobody's name."""

_NOBODY = frozenset({"localhost", "(none)", "unknown", "not set", "not-set", "switch", "default"})
"""What equipment says before anybody has named it (common practice)."""

_FORMULA = "=+-@\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}"
_HOST = re.compile(r"(?=[^.]*[a-z])[a-z0-9_-]+(?:\.[a-z0-9_-]+)+\.?", re.IGNORECASE)


def plain(text: str) -> str:
    """A text as a name: nothing invisible, no colon, which parts NAME:POSITION, no formula; '' when none is left."""
    text = clean(text[: 4 * LONGEST_NAME]).replace(":", "-").lstrip(_FORMULA + "'# ")
    return "" if len(text) > LONGEST_NAME else text


def host_name(text: str) -> str:
    """The name that somebody gave a machine: without its domain, '' where it is none, or nobody gave it."""
    name = plain(text)
    if _HOST.fullmatch(name):
        name = name.partition(".")[0]
    folded = fold(name)
    unfit = folded in _NOBODY or folded.startswith(UNKNOWN) or parse_mac(name) or dates.from_text(name)
    return "" if unfit or not any(map(str.isalnum, name)) else name


def address_name(mac: str) -> str:
    """What a device is called whose address alone is known, as the reader of a flat schedule calls it."""
    return mac.replace(":", "-")


def position(text: str) -> str:
    """A port as a cell can hold it, '' where no cell can: the reader must get back what was written."""
    name = clean(text)
    sound = name == whole(name) and not name.startswith(tuple(_FORMULA)) and not dates.from_text(name)
    return name if sound and len(name) <= MAX_NAME else ""


class Names:
    """Gives every device a name of its own. Switches have theirs already."""

    def __init__(self, taken: Iterable[str], nothing: Collection[str]) -> None:
        self._taken = {fold(name) for name in taken} | {fold(word) for word in (*NOTHING_WORDS, *nothing)}

    def give(self, wanted: str, *further: str) -> str:
        """The first of these that nobody has yet: a name, then the same with more to tell it by, then a number."""
        told_apart = (f"{wanted} {plain(more)}" for more in further if plain(more))
        numbered = (f"{wanted} ({number})" for number in count(2))
        name = next(name for name in chain((wanted,), told_apart, numbered) if fold(name) not in self._taken)
        self._taken.add(fold(name))
        return name
