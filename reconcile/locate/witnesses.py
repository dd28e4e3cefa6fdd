"""Which stations may testify about switches: widely heard ones, one per home, none that is in two places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Indexes, Ports

_CROWD = 16  # stations on a port from which on it is no single home


def choose_witnesses(port: Ports, switches: int, width: int, eligible: Bools, margin: int) -> Indexes:
    """Columns of `port`, the most widely heard first, the switches among them.

    Guests of one hypervisor and everything behind one unmanaged switch move together: with a margin above 1 they
    count once.
    """
    heard = np.zeros(port.shape[1], np.int16)
    for row in port:
        heard += row >= 0
    usable = heard >= 2
    usable[switches:] &= eligible
    order = np.flatnonzero(usable)
    order = order[np.argsort(-heard[order], kind="stable")]
    if margin == 1:
        return order
    home = _homes(port, switches, width)[order]
    _, first = np.unique(home, return_index=True)
    return order[np.sort(first)]


def _homes(port: Ports, switches: int, width: int) -> npt.NDArray[np.int64]:
    """Of each column a number for the port that it shares with fewest others; a number of its own where none is small.

    A port on which a switch is seen is no home.
    """
    columns = port.shape[1]
    home = -1 - np.arange(columns, dtype=np.int64)
    fewest = np.full(columns, _CROWD + 1, np.uint8)
    for a, row in enumerate(port):
        company = np.minimum(np.bincount(row.astype(np.intp) + 2, minlength=width + 2), _CROWD + 1).astype(np.uint8)
        company[:2] = _CROWD + 1  # the two codes for no port
        company[row[:switches].astype(np.intp) + 2] = _CROWD + 1
        here = np.roll(company, -2)[row]
        better = np.flatnonzero(here < fewest)
        fewest[better] = here[better]
        home[better] = row[better].astype(np.int64) + a * width
    home[:switches] = -1 - np.arange(switches)
    return home
