"""`toneout probe`: for setting up one switch: does it answer, what does it serve, which line to change."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.failures import NOT_ALL_SEEN
from reconcile.cli.options import SiteOption, access_of, common, open_site
from reconcile.cli.progress import step_display
from reconcile.cli.streams import coloured, columns, show
from reconcile.reports.layout import Sheet

if TYPE_CHECKING:
    from collectors.probe import Advice, ProbeReport, WayProbed
    from reconcile.site import Site


def probe(
    context: typer.Context,
    switch: Annotated[str, typer.Argument(metavar="SWITCH", help="A switch of toneout.toml.")],
    site: SiteOption = None,
) -> None:
    """Try one switch: access, tables, times, what to change.

    Nothing is changed on the switch. Exit code 0: every way that is set up works. 3: one does not.
    """
    import asyncio

    from collectors import probe as probing

    here = open_site(context, site)
    access = access_of(here, switch)
    with step_display(quiet=common(context).quiet) as progress:
        report = asyncio.run(probing.probe(access, here.folder, progress=progress))
    sheet = Sheet(columns(None), colour=coloured(None))
    told(sheet, report, here)
    show(str(sheet))
    if not report.works:
        raise typer.Exit(NOT_ALL_SEEN)


def told(sheet: Sheet, report: ProbeReport, site: Site) -> None:
    """Writes what came of it: the address, each way with its tables, then the lines to change."""
    sheet.name(f"{report.name} at {report.address}", style="bold")
    other = [address for address in report.resolved if address != report.address]
    if not report.resolved:
        sheet.row("address", "this name does not resolve", style="red")
    elif other:
        sheet.row("address", ", ".join(other), whole=True)
    for way in report.ways:
        _way(sheet, way)
    if report.advice:
        sheet.heading("What to do")
    for advice in report.advice:
        _advice(sheet, advice, report.name, site)


def _way(sheet: Sheet, probed: WayProbed) -> None:
    from collectors.snapshot import FailedSwitch, Table
    from reconcile.reports.asked import table_words

    answer = probed.answer
    sheet.gap()
    if isinstance(answer, FailedSwitch):
        sheet.say(f"{probed.way.upper()} does not work: {answer.kind}, {answer.reason}", hanging=2, style="red")
        return
    sheet.say(f"{probed.way.upper()} works, {answer.seconds:.1f} s for everything", style="green")
    called = ", ".join(text for text in (answer.system.name, answer.system.descr) if text)
    sheet.row("says", called or "neither its name nor what it is", cells=15)
    for table in Table:
        if table in answer.tables:
            sheet.row(table.value, table_words(answer.tables[table]), cells=15)
    for oddity in answer.oddities:
        sheet.row("odd", oddity, cells=15)


def _advice(sheet: Sheet, advice: Advice, name: str, site: Site) -> None:
    from reconcile.patchmap.model import fold

    sheet.gap()
    sheet.say(advice.why, hanging=1)
    if advice.line:
        origin = site.origins.get(fold(name))
        sheet.say(f"in the [[switch]] table of {name}{f' ({origin})' if origin else ''}:", depth=1)
        sheet.name(advice.line, depth=2, style="bold")
