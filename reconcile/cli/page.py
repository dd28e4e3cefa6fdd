"""`toneout page`: the page to look at beside the rack."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reconcile.cli.asking import latest
from reconcile.cli.limits import BeforeOption, earlier_than
from reconcile.cli.options import SiteOption, open_map, open_site
from reconcile.cli.streams import say, show


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

    It needs no network, and is for a phone beside the rack or for the printer.

    It needs no network and no server: open it in any browser.

    Exit code 0: written.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.cli.compare import map_gap
    from reconcile.pipeline import compare
    from reconcile.reports.page import render

    here = open_site(context, site)
    patch_map, faults = open_map(here)
    seen = load_snapshot(snapshot or latest(here))
    comparison = compare(patch_map, seen, before=earlier_than(seen, here, before), limits=here.limits)
    comparison.result.gaps.extend(map_gap(faults))
    written = out or here.folder / "page.html"
    show(render(comparison), written)
    say(f"wrote {written}")
