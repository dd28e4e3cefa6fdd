"""Measures the explanation of drift against injected faults and prints the table.

python -m tests.reconcile.causes.measure             # the whole: some 87,000 faults, a quarter of an hour on a core
python -m tests.reconcile.causes.measure --share .1  # a tenth of it
python -m tests.reconcile.causes.measure --first-seed 900000  # other seeds
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from tests.reconcile.causes.trial import Tally, run

SITES = ((6, 24, 1, 80), (6, 24, 6, 80), (12, 24, 12, 80), (40, 48, 30, 32), (300, 48, 100, 12))
"""Switches, sockets on each, faults at once, and trials of the whole measurement."""

COMPLETENESS = (1.0, 0.9, 0.7, 0.5)
OFF = (0.0, 0.05, 0.2)


@dataclass(frozen=True)
class Cell:
    """One line of the table."""

    completeness: float
    off: float
    overlapping: bool

    def trials(self, share: float, first_seed: int) -> Iterator[Tally]:
        """Its trials, one after another."""
        for switches, sockets, faults, trials in SITES:
            for i in range(max(1, round(trials * share))):
                yield run(
                    first_seed + i, switches, sockets, faults, self.completeness, self.off, overlapping=self.overlapping
                )

    def measure(self, share: float = 1.0, first_seed: int = 0) -> Tally:
        """All of them together."""
        total = Tally()
        for tally in self.trials(share, first_seed):
            total += tally
        return total


def cells() -> Iterator[Cell]:
    """All lines of the table: separate and overlapping faults."""
    for overlapping, off, completeness in product((False, True), OFF, COMPLETENESS):
        yield Cell(completeness, off, overlapping)


HEADING = "faults     off    C    all observable  best %  class %  of these in other words   sure false"


def line(cell: Cell, tally: Tally) -> str:
    """One line: shares are of the observable faults. In other words: with the same effect, parted otherwise."""
    faults = "overlap" if cell.overlapping else "separate"
    seen = max(1, tally.observable)
    return (
        f"{faults:9} {cell.off:4.0%} {cell.completeness:4.0%} {tally.faults:6} {tally.observable:10} "
        f"{100 * tally.best / seen:7.2f} {100 * tally.in_class / seen:8.2f} {tally.other_words:23} "
        f"{tally.sure:6} {tally.false_sure:5}"
    )


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--share", type=float, default=1.0, help="of the trials of the whole measurement")
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--notes", action="store_true", help="list what was missed")
    chosen = parser.parse_args()
    print(HEADING)
    for cell in cells():
        tally = cell.measure(chosen.share, chosen.first_seed)
        print(line(cell, tally), flush=True)
        if chosen.notes:
            print(*(f"    {note}" for note in tally.notes), sep="\n")


if __name__ == "__main__":
    main()
