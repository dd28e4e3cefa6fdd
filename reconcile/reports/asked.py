"""What became of asking the switches: who answered, what each could tell, and what was odd."""

from __future__ import annotations

from collections.abc import Sequence

from collectors.snapshot import CollectedSwitch, Snapshot, Table, TableReport, TableState
from reconcile.reports.layout import Sheet
from reconcile.reports.words import counted, in_order
from reconcile.result import CoverageGap

_WORTH_COUNTING = ((Table.INTERFACES, "port"), (Table.FORWARDING, "station row"), (Table.NEIGHBOURS, "neighbour"))


def render(
    snapshot: Snapshot, gaps: Sequence[CoverageGap], *, width: int = 80, colour: bool = False, details: bool = False
) -> str:
    """A paragraph per switch. `gaps` are the holes that matter; `details` lists every table with its time."""
    sheet = Sheet(width, colour=colour)
    for switch in sorted(snapshot.switches, key=lambda s: in_order(s.name)):
        _switch(sheet, switch, [gap for gap in gaps if gap.switch == switch.name], details)
    for failed in sorted(snapshot.failed, key=lambda f: in_order(f.name)):
        sheet.name(failed.name, style="bold")
        sheet.row("failed", f"{failed.kind}: {failed.reason}", depth=1)
        if failed.hint:
            sheet.row("try", failed.hint, depth=1)
    sheet.gap()
    asked = len(snapshot.switches) + len(snapshot.failed)
    seconds = (snapshot.finished - snapshot.started).total_seconds()
    sheet.say(
        f"{len(snapshot.switches)} of {counted(asked, 'switch', 'switches')} answered, in {seconds:.1f} s.",
        style="bold" if snapshot.failed else "green",
    )
    if snapshot.unfinished:
        sheet.say(f"Not finished: {snapshot.unfinished}.", style="yellow")
    return str(sheet)


def _switch(sheet: Sheet, switch: CollectedSwitch, gaps: Sequence[CoverageGap], details: bool) -> None:
    sheet.name(switch.name, style="bold")
    told = [counted(switch.report(t).rows, noun) for t, noun in _WORTH_COUNTING if switch.report(t).whole]
    sheet.row("told", ", ".join(told) or "nothing that counts", depth=1)
    for gap in gaps:
        sheet.row("not", f"{gap.table}: {gap.state}, {gap.reason}", depth=1)
        if gap.hint:
            sheet.row("try", gap.hint, depth=1)
    for oddity in switch.oddities:
        sheet.row("odd", oddity, depth=1)
    if details:
        for table in Table:
            if table in switch.tables:
                sheet.row("table", f"{table.value}: {table_words(switch.tables[table])}", depth=1)


def table_words(report: TableReport) -> str:
    """`read, 48 rows in 0.2 s (snmp 2c)`; with the reason where there is one."""
    rows = f", {counted(report.rows, 'row')}" if report.rows or report.state is TableState.READ else ""
    reasons = "; ".join(reason for reason in (report.reason, report.partial) if reason)
    source = f" ({report.source})" if report.source else ""
    return f"{report.state.value}{rows} in {report.seconds:.1f} s{source}" + (f": {reasons}" if reasons else "")
