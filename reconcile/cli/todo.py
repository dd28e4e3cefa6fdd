"""`toneout todo`: what hands have to do so that the wiring is as the map says."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import latest
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, open_map, open_site
from reconcile.cli.streams import coloured, columns, show
from reconcile.cli.waive import known

if TYPE_CHECKING:
    from reconcile.result import Result
    from reconcile.site import Site


def todo(
    context: typer.Context,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Compare with this snapshot. Default: the latest.")
    ] = None,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """List the hand movements that make the wiring follow the map.

    Which cord, from where, to where, in the order to do them, uplinks last; made to be printed. The other direction,
    where the wiring is right and the map is not, is `toneout adopt`.

    Exit code 0: nothing to do. 1: something. 3: nothing, but not everything could be looked at.
    """
    from reconcile.reports import todo as report
    from reconcile.todo import todo as listed

    here = open_site(context, site)
    found = listed(_compared(here, snapshot), here.limits)
    show(report.render(found, form.value, width=columns(out), colour=coloured(out)), out)
    raise typer.Exit(found.exit_code)


def _compared(site: Site, snapshot: Path | None) -> Result:
    """What `toneout reconcile` says of the same, so that causes have the same numbers."""
    from collectors.snapshot_files import load_snapshot
    from reconcile.cli.compare import map_gap
    from reconcile.pipeline import compare

    patch_map, channels, faults = open_map(site)
    seen = load_snapshot(snapshot or latest(site))
    result = compare(patch_map, seen, channels=channels, limits=site.limits).result
    result.gaps.extend(map_gap(faults))
    return known(result, site)
