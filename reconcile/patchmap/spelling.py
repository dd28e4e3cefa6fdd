"""How names are kept: what two people type and see alike is one spelling."""

from __future__ import annotations

import re
import unicodedata

_HYPHENS = {0x2010: "-", 0x2011: "-", 0x00AD: None}
_JOINERS = "\u200c\u200d"  # part of the spelling in several scripts


def clean(text: str) -> str:
    """A name as it is kept: composed, one blank between words, plain hyphens, nothing invisible."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text).translate(_HYPHENS)
    if not text.isprintable():
        text = "".join(c for c in text if not hidden(c))
    return " ".join(text.split())


def hidden(character: str) -> bool:
    """True for control and format characters, which nobody sees; blanks and joiners are no such."""
    unseen = unicodedata.category(character) in ("Cc", "Cf", "Cs")
    return unseen and not character.isspace() and character not in _JOINERS


def whole(text: str) -> str:
    """12.0 is 12: what becomes of a position in a column of numbers."""
    return re.sub(r"\A\s*(\d+)(?:\.0+|,0)\s*\Z", r"\1", text)
