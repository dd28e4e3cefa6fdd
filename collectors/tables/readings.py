"""Everything that was read of one switch, before it is put together."""

from __future__ import annotations

from dataclasses import dataclass, field

from collectors.snapshot import Table, TableState
from collectors.tables.mib import Answers


@dataclass(frozen=True)
class Outcome:
    """How one walk ended; times in seconds after the switch was first asked."""

    state: TableState
    reason: str
    begun: float
    ended: float


@dataclass
class Readings:
    """What came, how each walk ended, and what else was noted, in words."""

    source: str = ""
    answers: Answers = field(default_factory=Answers)
    outcomes: dict[Table, list[Outcome]] = field(default_factory=dict)
    per_vlan: dict[int, Answers] = field(default_factory=dict)
    """Bridge tables of each VLAN's own context, where the switch keeps one bridge per VLAN."""
    per_vlan_problem: str = ""
    """Why such a switch did not show the other VLANs."""
    notes: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def read_by(self, table: Table) -> float | None:
        """Seconds after the start by which a table had been read."""
        ended = [outcome.ended for outcome in self.outcomes.get(table, ())]
        return round(max(ended), 2) if ended else None
