"""What a newcomer implements: a collector asks one switch one way. Transports have their own contract beside them."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table


class Progress(Protocol):
    """Told what happens at a switch; implemented by the command line's display and by nothing."""

    def __call__(self, switch: str, doing: str, /) -> None: ...


class Collector(Protocol):
    """Asks one switch. Never raises for what a switch does: a failure is a FailedSwitch with its reason.

    One instance, made without arguments, asks all switches of a run, several at once. It ends by itself within
    `access.budget` seconds and hands over what it has read by then, the remaining tables 'timed out'; the fleet ends
    it the hard way a few seconds later. `at` of sightings and neighbours counts from the switch's own `started`;
    the fleet moves it to the start of the snapshot. Being cancelled is let through. `want` names the tables to hand
    over; whatever else is needed to name the ports in their rows is read as well.
    """

    async def collect(
        self, access: SwitchAccess, *, secrets_from: Path, want: frozenset[Table], progress: Progress
    ) -> CollectedSwitch | FailedSwitch: ...
