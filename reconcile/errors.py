"""The error tree of the reconciler. Every message reads "<file or item>: <problem>; try: <hint>".

ReconcileError
├── SiteError     no site folder, or a toneout.toml that does not fit
├── MapError      the patch map cannot be read as a whole; holds every fault found, not the first
├── UsageError    asked for something that the map or the snapshot does not have
├── HistoryError  the history of the site cannot be read or written
└── LockedError   another run has the site in hand
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reconcile.patchmap.model import Fault


class ReconcileError(Exception):
    """`where` is a file or an item, `problem` one clause, `hint` what to try next (may be empty)."""

    def __init__(self, where: str, problem: str, hint: str = "") -> None:
        self.where = where
        self.problem = problem
        self.hint = hint
        super().__init__(f"{where}: {problem}" + (f"; try: {hint}" if hint else ""))


class SiteError(ReconcileError):
    """No site folder was found, or its toneout.toml does not fit. `faults` has everything found in the file."""

    def __init__(self, where: str, problem: str, hint: str = "", faults: Sequence[Fault] = ()) -> None:
        self.faults = tuple(faults)
        super().__init__(where, problem, hint)


class MapError(ReconcileError):
    """The patch map has faults that leave it unreadable. `faults` has all of them."""

    def __init__(self, where: str, problem: str, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(where, problem, "toneout check")


class UsageError(ReconcileError):
    """What was asked for is not in the map or the snapshot."""


class HistoryError(ReconcileError):
    """The history of the site cannot be read or written."""


class LockedError(ReconcileError):
    """Another run has the site in hand: it says which, and since when."""
