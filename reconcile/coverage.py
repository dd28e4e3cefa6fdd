"""What could not be looked at, for the report: one row per switch that failed and per table that leaves a hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.snapshot import Snapshot, Table
from reconcile.result import CoverageGap
from reconcile.verdicts import Judgement, Saw

_HINTS = {
    Table.FORWARDING: "ask this switch by SSH too, or widen its SNMP view (.1.3.6.1.2.1.17)",
    Table.INTERFACES: "widen its SNMP view (.1.3.6.1.2.1.2 and .31)",
    Table.NEIGHBOURS: "turn LLDP on, and widen its SNMP view: LLDP is at .1.0.8802, outside .1.3.6.1",
}


def coverage_gaps(snapshot: Snapshot, judgements: Sequence[Judgement]) -> list[CoverageGap]:
    """The gaps that leave something unchecked. A missing neighbour table counts only where a documented link between
    switches hung on it: many small switches serve none, and their forwarding table tells enough."""
    return [
        *_failed(snapshot),
        *_tables(snapshot, {j.port.switch for j in judgements if _link_unchecked(j) and j.port}),
    ]


def _failed(snapshot: Snapshot) -> Iterator[CoverageGap]:
    for failed in snapshot.failed:
        yield CoverageGap(switch=failed.name, state=failed.kind, reason=failed.reason, hint=failed.hint)


def _tables(snapshot: Snapshot, neighbours_wanted: set[str]) -> Iterator[CoverageGap]:
    for switch in snapshot.switches:
        for table, hint in _HINTS.items():
            report = switch.report(table)
            if report.whole or (table is Table.NEIGHBOURS and switch.name not in neighbours_wanted):
                continue
            yield CoverageGap(
                switch=switch.name,
                table=table,
                state="partial" if report.partial else report.state,
                reason=report.partial or report.reason,
                hint=hint,
            )


def _link_unchecked(judgement: Judgement) -> bool:
    return judgement.saw is Saw.GAP and judgement.channel.far_port is not None
