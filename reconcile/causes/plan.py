"""What the core of the explanation reads: the map and the network as small columns of numbers.

It knows nothing of files, names or findings. Ports and devices are row numbers; -1 means none.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NOWHERE = -1


class Link(IntEnum):
    """The state of a port's link, as far as told."""

    UNKNOWN = 0  # not read or not told
    DOWN = 1
    SHUT = 2  # administratively down: says nothing about what is plugged in
    UP = 3
    NO_PORT = 4  # the map names a port that its switch does not have: nothing can be plugged in there


@dataclass(frozen=True, slots=True)
class Plan:
    """What the map says.

    Per port: `switch`; `face`, the row of ports that one port-order map covers; `rank`, the place on that face from
    0, -1 for ports outside it (an SFP block); `block` and `number`, the line card and the number printed on it;
    `panel` and `jack` that its cord leads to, and the `room` of the outlet behind.

    Per device (or family of stations that share one cord): `home`, its documented port; `mute`, no address is
    documented to tell it by.
    """

    switch: Ints
    face: Ints
    rank: Ints
    block: Ints
    number: Ints
    panel: Ints
    jack: Ints
    room: Ints
    home: Ints
    mute: Bools

    @property
    def ports(self) -> int:
        """How many ports there are."""
        return len(self.switch)

    @property
    def devices(self) -> int:
        """How many devices there are."""
        return len(self.home)


@dataclass(frozen=True, slots=True)
class Heard:
    """What the network says.

    Per device: `at`, the port where it was heard; `firm`, whether that placement is certain. Per port: `link`
    (values of `Link`); `read`, whether silence on it means something; `strangers`, unknown stations heard there.
    """

    at: Ints
    firm: Bools
    link: Ints
    read: Bools
    strangers: Ints


class Deed(StrEnum):
    """What hands did. The words stand in `Cause.kind`."""

    MOVED = "moved"
    CROSSED = "crossed"
    ROTATED = "rotated"
    SHIFTED = "shifted"
    RENUMBERED = "renumbered"
    REPLUGGED = "re-plugged without order"
    REPLACED = "replaced"
    GONE = "gone"
    COME = "undocumented device"


class Move(NamedTuple):
    """One device, from its documented port to where it is now. -1: no port."""

    device: int
    origin: int
    target: int


class Order(NamedTuple):
    """The order in which many cords went: `along` a 'switch' or a 'panel', the row it concerns, and how.

    `row` is a block (shift on a switch), a panel (shift on a panel) or a face (port-order map); `onto` the face that
    the ports of a map are now found on, which differs from `row` when a switch was exchanged.
    """

    along: str
    row: int
    how: str
    step: int = 0
    onto: int = -1


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that may have happened: who went where, who came, and what it costs in bits.

    `bits` includes the silence of members that were not heard. An event that `needs` others (their
    numbers in the list of events) makes sense only with them: two cords crossed on a switch whose ports were renamed as
    well. One that `excludes` others contradicts them.
    """

    deed: Deed
    bits: float
    moves: tuple[Move, ...] = ()
    newcomers: tuple[int, ...] = ()
    order: Order | None = None
    needs: tuple[int, ...] = ()
    excludes: tuple[int, ...] = ()

    @property
    def devices(self) -> tuple[int, ...]:
        """Everyone it moves."""
        return tuple(move.device for move in self.moves)
