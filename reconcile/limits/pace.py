"""How fast ports ran in their own past, by day and at night apart: many a device links slowly while it sleeps.

A network card that waits for a wake-up call keeps its link at the lowest speed it can, to save power (common
practice of its drivers), so a night is compared with nights and a day with days.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from reconcile.locate.placement import PortRef

_DAY_HOURS = range(7, 19)
"""Hours of the clock on the wall: when people are at work, as a rule of thumb. Half of the clock, so that two runs a
day at any two hours twelve apart are one of each."""


class PartOfDay(StrEnum):
    """The words are the ones that reports print."""

    DAY = "by day"
    NIGHT = "at night"


def part_of(moment: datetime) -> PartOfDay:
    """Day or night, by the clock of this machine."""
    return PartOfDay.DAY if moment.astimezone().hour in _DAY_HOURS else PartOfDay.NIGHT


class Ran(NamedTuple):
    """A port ran at this speed, Mbit/s, over so many runs of one part of the day. `macs` were placed there then."""

    speed_mbps: int
    since: datetime
    until: datetime
    runs: int
    part: PartOfDay
    macs: frozenset[str] = frozenset()

    def __str__(self) -> str:
        runs = "1 run" if self.runs == 1 else f"{self.runs} runs"
        return f"{self.speed_mbps} Mbit/s {self.part} until {self.until.astimezone():%Y-%m-%d} ({runs})"


@dataclass(frozen=True, slots=True)
class Paces:
    """What earlier runs at the same part of the day saw of ports that were faster at some time.

    `faster` has those that are slower now than they usually were; `known` those and the ones of which it is usual to
    be as slow as now. Of any other port the history says nothing.
    """

    known: frozenset[PortRef] = frozenset()
    faster: Mapping[PortRef, Ran] = field(default_factory=dict)


NO_PACES = Paces()
