"""One table of nasty strings: what a switch, a neighbour or a spreadsheet may say. Every output runs through it.

Sources: control and escape characters, CWE-150; bidi and zero-width characters, Unicode UAX #9; formulas, OWASP "CSV
Injection"; a System Description with line feeds is in real LLDP captures.
"""

from __future__ import annotations

import unicodedata

NASTY: dict[str, str] = {
    "terminal colour": "printer\x1b[31mred\x1b[0m",
    "terminal title": "\x1b]0;owned\x07phone",
    "eight-bit control sequence": "cam\x9b2Jera",
    "carriage return over the line": "harmless\rEVIL",
    "backspaces": "sw-a\b\b\b\bsw-b",
    "NUL": "sensor\0hidden",
    "DEL": "tank\x7fprobe",
    "line feeds": "Linux 6.1\nbuilt by hand\r\nat the bench",
    "line separators": "one\u2028two\u2029three\x85four",
    "tab": "a\tb",
    "right-to-left override": "invoice\u202egnp.exe",
    "bidi isolates": "\u2066left\u2069 \u2067right\u2069",
    "direction marks": "a\u200eb\u200fc\u061cd",
    "zero width": "sw\u200b-\u200dla\ufeffb",
    "soft hyphen": "sw\u00adlab",
    "tag characters": "AP\U000e0041\U000e0042",
    "lone surrogate": "half\ud83d",
    "markup of the terminal library": "[bold red]shout[/bold red] :boom:",
    "format fields": "%s %(name)s {0} {name!r} ${HOME}",
    "script": "<script>alert(1)</script>",
    "shell": "$(reboot); `reboot` | tee /etc/passwd",
    "path": "../../../../etc/passwd",
    "formula": "=cmd()",
    "formula with a separator": '=1+2";=1+2',
    "formula after a blank": " =1+1",
    "formula in full width": "＝1+1",
    "plus": "+SUM(1+1)",
    "minus": "-2+3",
    "at": "@SUM(1)",
    "formula after a tab": "\t=1+1",
    "formula after a line feed": "\n=1+1",
    "quotes": '"quoted", \'single\' and ""',
    "separators": "a,b;c|d",
    "ten thousand characters": "A" * 10_000,
    "ten thousand words": "word " * 2_000,
    "many digits": "9" * 5_000,
    "a heap of accents": "e" + "\u0301" * 3_000,
    "wide characters": "研究所の水槽" * 10,
    "emptiness": "",
    "blanks": "   ",
}


def acting_characters(text: str) -> set[str]:
    """Characters that would act on a terminal or hide in it; the line feed that ends a line of output is fine."""
    return {c for c in text if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Zl", "Zp"}} - {"\n"}
