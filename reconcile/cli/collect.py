"""`toneout collect`: asks every switch of the site and keeps what they said."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reconcile.cli.asking import ask_site, interrupted, keep
from reconcile.cli.failures import INTERRUPTED, NOT_ALL_SEEN
from reconcile.cli.options import SiteOption, common, open_site
from reconcile.cli.streams import coloured, columns, show


def collect(
    context: typer.Context,
    site: SiteOption = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="The snapshot, as columns if it ends in .parquet. Default: SITE/snapshots/latest.json.",
        ),
    ] = None,
) -> None:
    """Ask every switch what it sees, and save the snapshot.

    Nothing is ever changed on a switch.

    Exit code 0: every switch told what is needed. 3: not everything could be read.
    """
    from reconcile.coverage import coverage_gaps
    from reconcile.reports import asked

    here = open_site(context, site)
    snapshot = ask_site(here, quiet=common(context).quiet)
    target = keep(snapshot, here, out)
    gaps = coverage_gaps(snapshot, ())
    text = asked.render(snapshot, gaps, width=columns(None), colour=coloured(None), details=common(context).verbose)
    show(f"{text}Snapshot: {target}\n")
    if interrupted(snapshot):
        raise typer.Exit(INTERRUPTED)
    if gaps or snapshot.unfinished:
        raise typer.Exit(NOT_ALL_SEEN)
