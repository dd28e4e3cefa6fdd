"""What can be changed in a map, in words of the model; `tables.py` and `schedule.py` carry it out in the user's files.

Changes that are carried out together happen at once: each names what it changes as the map has it before all of them,
so that two cords change places without a third.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from reconcile.patchmap.index import MapIndex, Place
from reconcile.patchmap.model import End, PatchMap


class Replug(NamedTuple):
    """Whatever is documented at the switch port `was` is at the port `now`; the other end of its cord stays."""

    was: End
    now: End


class MovePlug(NamedTuple):
    """The plug of a device is at `now`: an outlet, a jack, a port, or a socket of another device. `was` may be none.

    `room` is where the device stands now, where its own row said the room that it left.
    """

    device: str
    was: End | None
    now: End
    room: str = ""


class AddDevice(NamedTuple):
    """A new device, plugged in at `at`."""

    name: str
    at: End
    macs: tuple[str, ...] = ()
    carries: bool = False
    kind: str = ""
    room: str = ""


class AddCord(NamedTuple):
    """A new cord from a switch port to a jack or to another switch's port."""

    port: End
    there: End


class SetAddresses(NamedTuple):
    """All the addresses of a device."""

    device: str
    macs: tuple[str, ...]


class Carry(NamedTuple):
    """A device carries others."""

    device: str


class DropDevice(NamedTuple):
    """A device is no longer there, nor its own cord."""

    device: str


class DropCord(NamedTuple):
    """The cord between these two places is no longer there."""

    a: End
    b: End


class SetPorts(NamedTuple):
    """The ports that a switch has, as a list of names and ranges."""

    switch: str
    ports: str


class RenameSwitch(NamedTuple):
    """A switch is called otherwise now, its own row included."""

    was: str
    now: str


Change = (
    Replug | MovePlug | AddDevice | AddCord | SetAddresses | Carry | DropDevice | DropCord | SetPorts | RenameSwitch
)


class Places:
    """Tells which ends of a map are the same place, however they are spelled."""

    def __init__(self, patch_map: PatchMap) -> None:
        self.index = MapIndex(patch_map)

    def key(self, end: End) -> tuple[str, str]:
        """Equal for ends that name one place."""
        place = self.index.place(end)
        return place.key if isinstance(place, Place) else end.key

    def same(self, one: End | None, other: End | None) -> bool:
        """True for two spellings of one place."""
        return one is not None and other is not None and self.key(one) == self.key(other)

    def moved(self, end: End, changes: Iterable[Replug]) -> End | None:
        """Where what is at this end is plugged in afterwards; None for one that stays."""
        return next((change.now for change in changes if self.same(change.was, end)), None)
