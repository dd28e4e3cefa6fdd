"""`toneout reconcile`: compares the map with a snapshot and reports the drift."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import ask_site, interrupted, keep, latest
from reconcile.cli.failures import INTERRUPTED
from reconcile.cli.limits import BeforeOption, earlier_than
from reconcile.cli.options import AllOption, Format, OutOption, ReportFormat, SiteOption, common, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, say, show, write_whole
from reconcile.cli.waive import known

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reconcile.patchmap.model import Fault
    from reconcile.pipeline import Comparison
    from reconcile.result import CoverageGap, Result


def reconcile(
    context: typer.Context,
    ask: Annotated[bool, typer.Option("--collect", help="Ask the switches first.")] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Compare with this snapshot. Default: the latest.")
    ] = None,
    before: BeforeOption = None,
    site: SiteOption = None,
    form: Annotated[
        ReportFormat, typer.Option("--format", help="The form of the output; xlsx is a workbook and needs --out.")
    ] = ReportFormat.TEXT,
    every: AllOption = False,
    out: OutOption = None,
) -> None:
    """Compare the patch map with what the switches saw.

    The report has every difference, with its evidence and what to do.

    Exit code 0: nothing to report. 1: drift. 3: no drift seen, but not everything could be looked at.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile import pipeline

    if ask and snapshot:
        raise typer.BadParameter("--collect asks the switches, --snapshot reads a file: give one of them")
    if form is ReportFormat.XLSX and out is None:
        raise typer.BadParameter("--format xlsx makes a file and no text: add --out FILE.xlsx")
    here = open_site(context, site)
    patch_map, channels, faults = open_map(here)
    if ask:
        seen = ask_site(here, quiet=common(context).quiet)
        kept = keep(seen, here)
        if interrupted(seen):
            say(f"toneout: interrupted; what was complete is kept in {kept}")
            raise typer.Exit(INTERRUPTED)
    else:
        seen = load_snapshot(snapshot or latest(here))
    earlier = earlier_than(seen, here, before)
    comparison = pipeline.compare(
        patch_map,
        seen,
        channels=channels,
        before=earlier,
        recalled=recall(here, seen, earlier),
        limits=here.limits,
    )
    comparison.result.gaps.extend(map_gap(faults))
    result = known(comparison.result, here)
    if form is ReportFormat.XLSX and out is not None:
        write_whole(out, _workbook(replace(comparison, result=result)))
    else:
        show(report(result, Format(form.value), out, every=every), out)
    raise typer.Exit(result.exit_code)


def map_gap(faults: Sequence[Fault]) -> list[CoverageGap]:
    """Rows of the map that cannot be used leave something unlooked at, like a switch that does not answer."""
    from reconcile.result import CoverageGap

    errors = sum(fault.severity.value == "error" for fault in faults)
    if not errors:
        return []
    why = "what they document was left out of the comparison"
    state = f"{errors} faulty {'row' if errors == 1 else 'rows'}"
    return [CoverageGap(switch="the patch map", state=state, reason=why, hint="toneout check lists them")]


def _workbook(comparison: Comparison) -> bytes:
    from reconcile.capacity import capacity
    from reconcile.reports import workbook

    picture = comparison.picture
    return workbook.render(comparison, capacity(picture.patch_map, picture.channels, picture))


def report(result: Result, form: Format, out: Path | None, *, every: bool = False) -> str:
    """A result in one of its forms; the text of `every` finding, however many are alike."""
    from reconcile.reports import as_csv, as_json, text

    if form is Format.JSON:
        return as_json.render(result)
    if form is Format.CSV:
        return as_csv.render(result)
    most = None if every else text.MOST_ALIKE
    return text.render(result, width=columns(out), colour=coloured(out), now=datetime.now(UTC), most=most)
