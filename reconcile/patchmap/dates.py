"""Port names and jack ranges that a spreadsheet made dates of, and what they may have been before.

What spreadsheets do (common practice, tried in several of them): `1/2` and `1-2` become a day and a month, in an
order that depends on the country, shown `2-Jan`; `1/24` may become a month and a year, shown `Jan-24`; `1/1/24`
becomes a whole date; `1:2` becomes a time of day.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import NamedTuple

_MONTHS = (
    "jan ene gen", "feb fev fév", "mar mär mrz maa mrt", "apr avr abr", "may mai mag mei maj", "jun jui giu juin",
    "jul lug juil", "aug ago aoû aou", "sep set", "oct okt ott out", "nov", "dec dez dic déc",
)  # fmt: skip
"""First letters of the months in English, German, French, Spanish, Italian, Dutch and Portuguese (from memory)."""
_DAY_MONTH = re.compile(r"(\d{1,2})[-. ]{1,2}([^\W\d_]{3,4})\.?")
_MONTH_YEAR = re.compile(r"([^\W\d_]{3,4})\.?[-. ]{1,2}(\d{2})")
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[T ]00:00:00(?:\.0+)?)?")
_SHOWN = re.compile(r"(\d{1,2})([/.])(\d{1,2})\2(\d{4})")
_TIME = re.compile(r"(\d{1,2}):(\d{2}):00")


class Became(NamedTuple):
    """A date as shown, and the numbers that may have been typed before the spreadsheet made a date of them."""

    shown: str
    typed: tuple[tuple[int, ...], ...]
    is_time: bool = False

    def candidates(self, separator: str) -> tuple[str, ...]:
        """What may have been typed, with this separator (a time of day always had colons)."""
        joint = ":" if self.is_time else separator
        return tuple(dict.fromkeys(joint.join(map(str, numbers)) for numbers in self.typed))

    def ranges(self) -> tuple[str, ...]:
        """What may have been typed if it was a range: two numbers, the second one larger."""
        return tuple(f"{n[0]}-{n[1]}" for n in self.typed if len(n) == 2 and n[0] < n[1])


def from_text(text: str) -> Became | None:
    """The date that a text shows, in the forms in which spreadsheets export what they made of a port name."""
    text = text.strip()
    if (found := _DAY_MONTH.fullmatch(text)) and (month := _month(found.group(2))):
        day = int(found.group(1))
        return Became(text, ((day, month), (month, day)))
    if (found := _MONTH_YEAR.fullmatch(text)) and (month := _month(found.group(1))):
        return Became(text, ((month, int(found.group(2))),))
    if found := _ISO.fullmatch(text):
        year, month, day = map(int, found.groups())
        return Became(text, _whole(year, month, day))
    if found := _SHOWN.fullmatch(text):
        first, second, year = int(found.group(1)), int(found.group(3)), int(found.group(4))
        return Became(text, ((first, second, year % 100),))
    if found := _TIME.fullmatch(text):
        return Became(text, ((int(found.group(1)), int(found.group(2))),), is_time=True)
    return None


def from_cell(value: date | time, number_format: str) -> Became:
    """The same for a workbook's own date or time; its number format tells what the spreadsheet recognised."""
    if isinstance(value, time):
        return Became(value.isoformat("minutes"), ((value.hour, value.minute),), is_time=True)
    shown = value.date().isoformat() if isinstance(value, datetime) else value.isoformat()
    form = re.sub(r"[^dmy]", "", number_format.lower().partition(";")[0])
    if form and "y" not in form:
        return Became(shown, ((value.day, value.month), (value.month, value.day)))
    if form and "d" not in form:
        return Became(shown, ((value.month, value.year % 100),))
    if form and "mmm" not in form:
        year = value.year % 100
        return Became(shown, ((value.day, value.month, year), (value.month, value.day, year)))
    return Became(shown, _whole(value.year, value.month, value.day))


def _whole(year: int, month: int, day: int) -> tuple[tuple[int, ...], ...]:
    """All that a whole date may have been: two numbers in either order, month and year, or three numbers."""
    short = year % 100
    month_year = ((month, short),) if day == 1 else ()
    return ((day, month), (month, day), *month_year, (day, month, short), (month, day, short))


def _month(word: str) -> int:
    """1 to 12, or 0 when the word is no month."""
    start = word.casefold()
    return next((n for n, names in enumerate(_MONTHS, 1) if any(start.startswith(m) for m in names.split())), 0)
