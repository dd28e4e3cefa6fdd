"""`toneout waive`: accepts a finding until a date. And what the site folder keeps is put beside a result."""

from __future__ import annotations

import logging
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import latest
from reconcile.cli.limits import earlier_than
from reconcile.cli.options import SiteOption, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, show

if TYPE_CHECKING:
    from reconcile.findings import Finding
    from reconcile.result import Result
    from reconcile.site import Site
    from reconcile.waivers import Waiver

_log = logging.getLogger(__name__)


def waive(
    context: typer.Context,
    key: Annotated[
        str | None, typer.Argument(metavar="KEY", help="The key that reports print, or its beginning.")
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="DATE", help="The last day on which it is accepted: 2027-03-31.")
    ] = None,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why, for those who come later.")] = "",
    remove: Annotated[bool, typer.Option("--remove", help="Accept it no longer.")] = False,
    site: SiteOption = None,
) -> None:
    """Accept a finding until a date, with a reason.

    Written into waivers.toml in the site folder, which is kept in git. Without KEY, what was accepted is listed.
    """
    from reconcile import waivers
    from reconcile.lock import EDIT_LOCK, locked
    from reconcile.reports.escape import visible

    here = open_site(context, site)
    if key is None:
        if until or reason or remove:
            raise typer.BadParameter("KEY is missing: which finding?")
        _list(here)
    elif remove:
        with locked(here.folder, EDIT_LOCK):
            gone = waivers.remove_waiver(here.folder, key)
        show(f"{visible(gone)} is accepted no longer ({waivers.WAIVERS_FILE}).\n")
    else:
        last = _day(until)
        if not reason.strip():
            raise typer.BadParameter("--reason TEXT is missing: why is it accepted?", param_hint="--reason")
        finding = _known(here, key)
        with locked(here.folder, EDIT_LOCK):
            path = waivers.add_waiver(here.folder, waivers.Waiver(finding.key, last, reason.strip(), _about(finding)))
        show(f"Accepted until {last}: {_about(finding)} ({path.name}).\n")


def known(result: Result, site: Site) -> Result:
    """A result with what the history of the site knows, and without what was accepted.

    A history that cannot be read costs what it knows, never the report. Raises SiteError for a faulty waivers.toml.
    """
    from reconcile.errors import HistoryError
    from reconcile.history.past import informed
    from reconcile.history.store import reading
    from reconcile.waivers import apply_waivers, read_waivers

    try:
        with reading(site.folder) as book:
            result = informed(result, book) if book else result
    except HistoryError as error:
        _log.warning("%s", error)
    return apply_waivers(result, read_waivers(site.folder))


def _day(text: str | None) -> date:
    if text is None:
        raise typer.BadParameter("--until DATE is missing: until when is it accepted?", param_hint="--until")
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} is no date; write 2027-03-31", param_hint="--until") from None
    if day < date.today():
        raise typer.BadParameter(f"{day} has passed", param_hint="--until")
    return day


def _known(site: Site, key: str) -> Finding:
    """The finding of that key or beginning: of the latest snapshot, or one that the history has. Raises UsageError."""
    from reconcile.waivers import one_key

    found = _findings(site)
    return found[one_key(key, list(found), "no finding has this key")]


def _findings(site: Site) -> dict[str, Finding]:
    from collectors.snapshot_files import load_snapshot
    from reconcile.history.facts import FactKind
    from reconcile.history.store import reading
    from reconcile.pipeline import compare

    with reading(site.folder) as book:
        standing = {key.subject for key in book.standing(FactKind.FINDING)} if book else set()
        found = book.findings(standing) if book else {}
    if latest(site).exists():
        patch_map = open_map(site).patch_map
        seen = load_snapshot(latest(site))
        earlier = earlier_than(seen, site, None)
        now = compare(patch_map, seen, before=earlier, recalled=recall(site, seen, earlier), limits=site.limits)
        found |= {finding.key: finding for finding in now.result.findings}
    return found


def _about(finding: Finding) -> str:
    from reconcile.reports.escape import visible
    from reconcile.reports.words import place_words

    device = f"{finding.device}, " if finding.device else ""
    return visible(f"{finding.kind.value}: {device}{place_words(finding.where)}")


def _list(site: Site) -> None:
    from reconcile.reports.layout import Sheet
    from reconcile.waivers import read_waivers

    found = read_waivers(site.folder)
    if not found:
        show("Nothing is accepted. toneout waive KEY --until DATE --reason TEXT accepts a finding.\n")
        return
    standing = set(_findings(site))
    sheet = Sheet(columns(None), colour=coloured(None))
    for waiver in found:
        sheet.name(waiver.key, style="bold")
        sheet.row("until", f"{waiver.until}{_state(waiver, standing)}")
        sheet.row("reason", waiver.reason)
        if waiver.about:
            sheet.row("about", waiver.about)
    show(str(sheet))


def _state(waiver: Waiver, standing: set[str]) -> str:
    if waiver.key not in standing:
        return f"; its finding has gone: toneout waive {waiver.key} --remove"
    return "; this has passed" if waiver.until < date.today() else ""
