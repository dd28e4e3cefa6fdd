"""Which stations may testify about switches: widely heard ones, one per home, none that is in two places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.arrays import SEVERAL

if TYPE_CHECKING:
    import numpy.typing as npt

    from reconcile.locate.arrays import Bools, Counts, Indexes, Ports

_CROWD = 16  # stations on a port from which on it is no single home


def choose_witnesses(port: Ports, switches: int, width: int, eligible: Bools, margin: int) -> Indexes:
    """Columns of `port`, the most widely heard first, the switches among them.

    Guests of one hypervisor and everything behind one unmanaged switch move together: with a margin above 1 they
    count once. An address that one switch has on several ports never counts.
    """
    heard = np.zeros(port.shape[1], np.int32)
    steady = np.ones(port.shape[1], bool)
    for row in port:
        heard += row >= 0
        steady &= row != SEVERAL
    usable = steady & (heard >= 2)
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
    fewest = np.full(columns, _CROWD + 1, np.int32)
    for a, row in enumerate(port):
        seen = row >= 0
        company: Counts = np.bincount(row[seen], minlength=width + 2).astype(np.int32)
        company[np.unique(row[:switches][row[:switches] >= 0])] = _CROWD + 1
        company[-2:] = _CROWD + 1  # the two codes for no port
        here = company[row]
        better = here < fewest
        np.copyto(fewest, here, where=better)
        np.copyto(home, row.astype(np.int64) + a * (width + 2), where=better)
    home[:switches] = -1 - np.arange(switches)
    return home
