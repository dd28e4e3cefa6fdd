"""What makes field data dirty: stations that moved a moment ago, that flap, and addresses in two places at once.

Applied to complete tables, before entries are lost. Everything here breaks the assumption that each address has
one place; nothing here knows what the inference makes of that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.reconcile.locate.bridges import Network, Truth
from tests.reconcile.locate.tables import Tables

VRRP = 0x00_00_5E_00_01_00  # RFC 9568: 00-00-5E-00-01-{VRID}


@dataclass(slots=True)
class Dirt:
    """Which stations are out of order, and why.

    `young` [switch, station]: entries made since a move; `before`: complete tables as they were without moves.
    """

    moved: npt.NDArray[np.int64]
    flapping: npt.NDArray[np.int64]
    gateways: npt.NDArray[np.int64]
    young: npt.NDArray[np.bool_]
    before: npt.NDArray[np.integer]

    def unseen(self, tables: Tables) -> set[int]:
        """Moved stations of which every entry left is the one of a station that stayed.

        Those that spoke since only to where both places are seen on the same ports, the bridges between them mute on
        it: nothing in these tables sets them apart from stations that stayed, so that no inference can.
        """
        return {
            x
            for x in self.moved.tolist()
            if not np.any((tables.station[:, x] >= 0) & (tables.station[:, x] != self.before[:, x]))
        }


def soil(
    network: Network,
    truth: Truth,
    tables: Tables,
    rng: np.random.Generator,
    *,
    moved: float = 0.01,
    flapping: int = 3,
    gateways: int = 2,
) -> Dirt:
    """Moves `moved` of all stations within the ageing time, lets some flap, and gives some a virtual router's address.

    The truth is changed to the place where a station is now.
    """
    some = rng.permutation(network.stations)
    count = int(rng.binomial(network.stations, moved))
    dirt = Dirt(
        some[:count],
        some[count : count + flapping],
        some[count + flapping : count + flapping + gateways],
        np.zeros(tables.station.shape, bool),
        truth.station.copy(),
    )
    for x in dirt.moved.tolist():
        dirt.young[:, x] = _move(network, truth, tables, rng, x)
    for x in dirt.flapping.tolist():
        _be_in_two_places(network, truth, tables, rng, x)
    for n, x in enumerate(dirt.gateways.tolist()):
        _be_in_two_places(network, truth, tables, rng, x)
        tables.macs[x] = VRRP + n
    return dirt


def _move(network: Network, truth: Truth, tables: Tables, rng: np.random.Generator, x: int) -> npt.NDArray[np.bool_]:
    """Plugged in elsewhere, at the place of another station; gives the bridges that its frames crossed since then.

    It has spoken to somebody on another segment since: of one that has not, no table tells that it moved. Half of
    them have asked for an address by broadcast, which all bridges hear. The old bridge flushes what it learned on a
    port when the link goes down, which it does unless something else holds it up.
    """
    old, here = truth.station[:, x].copy(), truth.segment_of_station
    z = int(rng.integers(network.stations))
    new = truth.station[:, z]
    knows = np.zeros(network.switches, bool)
    if rng.random() < 0.5:
        knows[:] = True
    elsewhere = np.flatnonzero(here != here[z])
    for y in rng.choice(elsewhere, int(rng.integers(1, 4))).tolist():
        knows |= truth.station[:, y] != new  # bridges on the way, those at its two ends among them
    tables.station[:, x] = np.where(knows, new, old)
    before, port = int(network.bridge_of[x]), int(network.port_of[x])
    alone = np.count_nonzero((network.bridge_of == before) & (network.port_of == port)) == 1
    if before < network.switches and alone and not knows[before]:
        tables.station[before, x] = -1
    truth.station[:, x] = new
    here[x] = here[z]
    return knows


def _be_in_two_places(network: Network, truth: Truth, tables: Tables, rng: np.random.Generator, x: int) -> None:
    other = truth.station[:, int(rng.integers(network.stations))]
    tables.station[:, x] = np.where(rng.random(network.switches) < 0.5, other, truth.station[:, x])
