"""Makes what switches, neighbours and map files say harmless in each kind of output, and bounds its length.

Any device on any port chooses its own system name and port description without credentials, so all such text is
hostile. A terminal obeys control characters (CWE-150), a spreadsheet runs cells as formulas (OWASP, "CSV
Injection"), and invisible or right-to-left characters make one name look like another.
"""

from __future__ import annotations

import re

LONGEST_WORD = 255
"""Characters. LLDP (IEEE 802.1AB) and SnmpAdminString (RFC 3411) end there, so no identifier is ever longer."""

LONGEST_SENTENCE = 1200
"""Characters of one sentence or quotation in text for people; the JSON has all of it."""

# Unicode general categories Cc (C0, DEL, C1), Cf (bidi controls, zero width, byte-order mark, tags), Cs (lone
# surrogates, which cannot be encoded), Zl and Zp. Written out: computing the class takes 90 ms, a test compares it.
_ACTING = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u180e\u200b-\u200f\u2028-\u202e"
    "\u2060-\u2064\u2066-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb\U000110bd\U000110cd\U00013430-\U0001343f"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0001\U000e0020-\U000e007f]"
)
_GIANT = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
_KEPT_OF_A_GIANT = 60
_FAMILIAR = {"\n": r"\n", "\r": r"\r", "\t": r"\t"}

_FORMULA_STARTS = tuple("=+-@\t\r\n＝＋－＠")
# OWASP lists the first seven (LF since 2025-08); full-width forms count in East Asian spreadsheets (from memory).


def visible(text: str) -> str:
    r"""`text` on one line with every acting character spelled out: `\x1b`, `\u202e`, `\n`. Never shortened."""
    return _ACTING.sub(_spelled, text)


def sentence(text: str) -> str:
    """Free text, bounded and visible: giant words and endless sentences end in an ellipsis, identifiers stay whole."""
    text = _GIANT.sub(lambda giant: giant.group()[:_KEPT_OF_A_GIANT] + "…", text)
    if len(text) > LONGEST_SENTENCE:
        text = text[: LONGEST_SENTENCE + 1].rpartition(" ")[0] + " …"
    return visible(text)


def csv_cell(text: str) -> str:
    """One quoted CSV field (RFC 4180) that no spreadsheet takes for a formula.

    OWASP: double quotes around it, a single quote in front of a dangerous first character, double quotes doubled.
    A label such as `-3` gets the quote too; whoever needs the bare text reads the JSON.
    """
    shown = visible(text)
    guard = "'" if text.lstrip(" \u00a0").startswith(_FORMULA_STARTS) else ""
    return '"' + guard + shown.replace('"', '""') + '"'


def json_text(text: str) -> str:
    r"""JSON text in which acting characters stand as `\uXXXX`: the same data, harmless on a terminal.

    JSON itself escapes C0 only (RFC 8259 section 7) and lets DEL, C1 and bidi controls through bare. Line breaks
    between tokens stay.
    """
    return _ACTING.sub(lambda found: found.group() if found.group() == "\n" else _utf16(found.group()), text)


def _spelled(found: re.Match[str]) -> str:
    character = found.group()
    number = ord(character)
    if character in _FAMILIAR:
        return _FAMILIAR[character]
    if number < 0x100:
        return f"\\x{number:02x}"
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"


def _utf16(character: str) -> str:
    octets = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{octets[i : i + 2].hex()}" for i in range(0, len(octets), 2))
