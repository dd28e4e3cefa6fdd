"""`toneout page`: the page to look at beside the rack."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import latest
from reconcile.cli.limits import BeforeOption, earlier_than
from reconcile.cli.options import SiteOption, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import say, show
from reconcile.cli.waive import known
from reconcile.reports.escape import visible

if TYPE_CHECKING:
    from reconcile.pipeline import Comparison
    from reconcile.reports.page import Past
    from reconcile.site import Site


def page(
    context: typer.Context,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the switches saw. Default: the latest.")
    ] = None,
    before: BeforeOption = None,
    site: SiteOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write there. Default: page.html in the site folder.")
    ] = None,
) -> None:
    """Make one HTML file of racks, channels and drift.

    It is for a phone beside the rack or for the printer, and needs no network and no server: open it in any browser.

    Exit code 0: written.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.cli.compare import map_gap
    from reconcile.pipeline import compare

    here = open_site(context, site)
    patch_map, channels, faults = open_map(here)
    seen = load_snapshot(snapshot or latest(here))
    earlier = earlier_than(seen, here, before)
    comparison = compare(
        patch_map,
        seen,
        channels=channels,
        before=earlier,
        recalled=recall(here, seen, earlier),
        limits=here.limits,
    )
    comparison.result.gaps.extend(map_gap(faults))
    written = out or here.folder / "page.html"
    show(drawn(here, replace(comparison, result=known(comparison.result, here))), written)
    show(f"Written: {visible(str(written))}\n")


def drawn(site: Site, comparison: Comparison) -> str:
    """The page of a comparison, with what the history of the site has of it."""
    from reconcile.reports.page import render

    return render(comparison, _past(site, comparison))


def _past(site: Site, comparison: Comparison) -> Past | None:
    """What earlier nights saw, where a history is kept. A broken one is told, and is no reason to refuse the page."""
    from reconcile.errors import HistoryError
    from reconcile.history.store import reading
    from reconcile.reports.page.nights import past_of

    try:
        with reading(site.folder) as book:
            result = comparison.result
            found = [*result.findings, *(accepted.finding for accepted in result.waived)]
            keys = [finding.key for finding in found]
            return past_of(book, comparison.picture, keys) if book is not None else None
    except HistoryError as error:
        say(f"toneout: {error}; the page has no earlier nights")
        return None
