"""What the history of a site adds to one comparison: how fast ports ran, and how long they have been silent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import NamedTuple

from reconcile.limits.pace import NO_PACES, Paces
from reconcile.locate.placement import PortRef


class Silence(NamedTuple):
    """A port at which the last `runs` runs that looked saw no link, the snapshot's own with them, the first at `since`.

    `last_link` is the last run that saw one, None when none ever did; `last_mac` who was placed there last.
    """

    since: datetime
    runs: int
    last_link: datetime | None = None
    last_mac: str = ""


@dataclass(frozen=True, slots=True)
class Recalled:
    """The first of `runs` runs was taken at `first`, the last is the snapshot itself; later ones are left out."""

    runs: int = 0
    first: datetime | None = None
    silent: Mapping[PortRef, Silence] = field(default_factory=dict)
    paces: Paces = NO_PACES

    def length(self, until: datetime) -> timedelta:
        """How far back the runs go."""
        return until - self.first if self.first else timedelta(0)


NOTHING = Recalled()
