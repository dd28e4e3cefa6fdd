"""Findings for spreadsheets: a row per finding, and a row for each thing that could not be looked at.

RFC 4180: every field quoted, lines end in CR LF. Cells that a spreadsheet would run as formulas get a single quote
in front (see `escape.csv_cell`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reconcile.findings import Finding, Place
from reconcile.reports.escape import csv_cell
from reconcile.reports.words import evidence_line, place_words
from reconcile.result import CoverageGap, Result

COLUMNS = (
    "what",
    "severity",
    "kind",
    "switch",
    "port",
    "jack",
    "outlet",
    "room",
    "cord",
    "device",
    "macs",
    "documented",
    "seen",
    "moved to",
    "advice",
    "evidence",
    "grade",
    "causes",
    "record",
    "key",
)


def render(result: Result) -> str:
    """All findings, then all gaps (`what` says which): an empty table of findings is not yet a clean bill."""
    causes = {key: str(n) for n, cause in enumerate(result.causes, 1) for key in cause.findings}
    rows = [_finding(f, causes.get(f.key, "")) for f in result.findings]
    return table(COLUMNS, rows + [_gap(g) for g in result.gaps])


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Any table with its heading row."""
    return "".join(",".join(csv_cell(cell) for cell in row) + "\r\n" for row in (headings, *rows))


def _finding(finding: Finding, cause: str) -> Sequence[str]:
    at: Place = finding.where
    return (
        "finding",
        finding.severity.value,
        finding.kind.value,
        at.switch,
        at.port,
        at.panel,
        at.outlet,
        at.room,
        at.cord,
        finding.device,
        " ".join(finding.macs),
        finding.documented,
        finding.seen,
        place_words(finding.moved_to) if finding.moved_to else "",
        finding.advice,
        "; ".join(evidence_line(row) for row in finding.evidence),
        finding.grade,
        cause,
        at.origin,
        finding.key,
    )


def _gap(gap: CoverageGap) -> Sequence[str]:
    known = {"what": "not looked at", "kind": gap.table, "switch": gap.switch, "seen": f"{gap.state}: {gap.reason}"}
    known["advice"] = gap.hint
    return [known.get(column, "") for column in COLUMNS]
