"""How long a device is usually away: a laptop at night, a bunkhouse in winter, a pump between two tides."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

PRECEDENTS = 2
"""So often must it have been away as long before, and have come back: once is an event, twice a habit."""

REMEMBERED = 12
"""Absences looked back on: habits change."""

_SLACK = 1.1
"""A nightly run is minutes earlier or later than the one before; an absence of one night is one all the same."""


class Absence(NamedTuple):
    """From the last run that saw a device in its place to the last one that did not."""

    left: datetime
    still_away: datetime

    @property
    def length(self) -> timedelta:
        """How long it was away for certain."""
        return self.still_away - self.left


def within_rhythm(past: Sequence[Absence], now: Absence) -> bool:
    """True when being away for so long is usual: at least PRECEDENTS of its last REMEMBERED absences were as long.

    `past` are absences that it came back from, oldest first. One long absence (a repair, a holiday) makes no habit.
    """
    as_long = sum(absence.length * _SLACK >= now.length for absence in past[-REMEMBERED:])
    return as_long >= PRECEDENTS
