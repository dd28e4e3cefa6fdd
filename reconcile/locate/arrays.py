"""The arrays that the rooms of this package hand to one another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Bools: TypeAlias = npt.NDArray[np.bool_]
Indexes: TypeAlias = npt.NDArray[np.intp]
Counts: TypeAlias = npt.NDArray[np.int32]
Ports: TypeAlias = npt.NDArray[np.signedinteger[Any]]  # the narrowest signed type that holds every port number

UNKNOWN = -1  # no sighting
SEVERAL = -2  # sightings on more than one port of one switch: no witness


@dataclass(slots=True)
class Tables:
    """What the switches of one loop-free topology saw, as numbers.

    `port[a, n]` is the port on which switch a sees node n; nodes 0 .. S-1 are the switches, the rest stations.
    `is_open[a, p]` is true where something may be behind port p of switch a. `home_hint[n]` numbers the place where
    a node probably is, so that witnesses that would move together are counted once. `adjacent` are pairs of ports
    that a protocol which bridges do not relay shows on one wire.
    """

    port: Ports
    is_open: Bools
    ports: list[int]  # how many port numbers each switch has
    witnesses: Indexes  # columns that may testify, the most widely heard first
    eligible: Bools
    adjacent: tuple[tuple[int, int, int, int], ...] = ()
    direct: Ports = field(init=False)  # directions between switches as observed, before anything is concluded
    base: npt.NDArray[np.intp] = field(init=False)  # flat number of the first port of each switch, and the total
    owner: npt.NDArray[np.intp] = field(init=False)  # switch of each flat port number

    def __post_init__(self) -> None:
        self.direct = self.towards.copy()
        self.base = np.concatenate([[0], np.cumsum(self.ports)]).astype(np.intp)
        self.owner = np.repeat(np.arange(len(self.ports)), self.ports)

    @property
    def switches(self) -> int:
        """How many switches there are."""
        return len(self.port)

    @property
    def towards(self) -> Ports:
        """`port[a, b]` for switches b alone; a view."""
        return self.port[:, : self.port.shape[0]]

    def forget(self) -> None:
        """Takes back everything that was concluded."""
        self.towards[:] = self.direct

    def flat(self, switch: int, port: int) -> int:
        """The number of a port among all ports of all switches."""
        return int(self.base[switch]) + port

    def end(self, flat: int) -> tuple[int, int]:
        """Switch and port of a flat port number."""
        return int(self.owner[flat]), int(flat - self.base[self.owner[flat]])

    def flattened(self, table: Bools) -> Bools:
        """A [switch, port] table by flat port number."""
        flat: Bools = table[self.owner, np.arange(len(self.owner)) - self.base[self.owner]]
        return flat
