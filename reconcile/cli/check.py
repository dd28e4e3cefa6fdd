"""`toneout check`: every fault of the documented map at once."""

from __future__ import annotations

from typing import Annotated

import typer

from reconcile.cli.failures import COULD_NOT_RUN, DRIFT
from reconcile.cli.options import AllOption, Format, FormatOption, OutOption, SiteOption, open_site, read_and_check
from reconcile.cli.streams import coloured, columns, show


def check(
    context: typer.Context,
    list_columns: Annotated[
        bool, typer.Option("--columns", help="List the columns that each table of a map may have, and end.")
    ] = False,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    every: AllOption = False,
    out: OutOption = None,
) -> None:
    """List every fault of the patch map and of toneout.toml.

    No switch is asked. Gaps that a draft left to be filled are listed too, and are no faults.

    Exit code 0: none. 1: warnings only. 2: rows that cannot be used.
    """
    from reconcile.reports import checked

    if list_columns:
        from reconcile.patchmap.columns import describe_columns

        show(checked.render_columns(describe_columns(), form.value, width=columns(out), colour=coloured(out)), out)
        return
    from reconcile.limits.faults import limit_faults
    from reconcile.patchmap.to_fill import still_to_fill

    here = open_site(context, site)
    patch_map, channels, faults = read_and_check(here)
    faults = (*faults, *limit_faults(channels, here.limits))
    gaps, most = still_to_fill(patch_map, channels), None if every else checked.MOST_ALIKE
    found = checked.render(patch_map, faults, form.value, gaps, width=columns(out), colour=coloured(out), most=most)
    show(found, out)
    if faults:
        raise typer.Exit(COULD_NOT_RUN if any(fault.severity.value == "error" for fault in faults) else DRIFT)
