"""Runs of a history without a network: a result with these findings, and facts as a dictionary."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from reconcile.findings import Finding
from reconcile.history.facts import Fact, FactKind, Key
from reconcile.history.store import writing
from reconcile.result import Result

FIRST = datetime(2026, 3, 1, 2, 15, tzinfo=UTC)
NIGHT = timedelta(days=1)


def result(night: int, *findings: Finding) -> Result:
    """What came of the night of that number, from 0."""
    return Result(site="Saltmarsh Field Station", taken=FIRST + night * NIGHT, findings=list(findings))


def ports(**states: str) -> dict[Key, Fact]:
    """`a="link up"`: facts of ports of one switch."""
    return {Key(FactKind.PORT, f"sw:{name}"): Fact(state, "sw") for name, state in states.items()}


def store(folder: Path, night: int, facts: dict[Key, Fact]) -> int:
    """Writes one run of port facts; its number."""
    with writing(folder) as book:
        run = book.begin_run(result(night), "nothing new", FIRST + night * NIGHT)
        book.remember(run, (FactKind.PORT,), facts)
    return run
