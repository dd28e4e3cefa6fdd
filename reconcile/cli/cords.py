"""`toneout cords`: how long cords must be, what to order, what to write on them."""

from __future__ import annotations

from typing import Annotated

import typer

from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, open_site
from reconcile.cli.spare import NeedOption, pictured, read_need
from reconcile.cli.streams import coloured, columns, show


def cords(
    context: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT", help="Only cords at these switches, panels, rooms, devices; or by label."),
    ] = None,
    need: NeedOption = None,
    free: Annotated[
        list[str] | None,
        typer.Option("--free", metavar="WHAT", help="Cords that a change sets free, named alike: used again."),
    ] = None,
    new: Annotated[bool, typer.Option("--new", help="Order every cord anew, as after a teardown.")] = False,
    labels: Annotated[bool, typer.Option("--labels", help="Texts for both ends of every cord and cable.")] = False,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Measure cords, write the order list and the labels.

    Lengths follow from rack and height unit (44.45 mm each) and the allowances in the [cords] table of toneout.toml.

    Exit code 0: told. 1: there is less than was asked for with --need.
    """
    from reconcile.parts.plan import Asked, plan_cords
    from reconcile.reports import cords as report

    asked = Asked(what or (), [read_need(text) for text in need or ()], free or (), new, labels)
    here = open_site(context, site)
    found = plan_cords(*pictured(here, None), here.cords, here.labels, here.limits, asked)
    show(report.render(found, form.value, width=columns(out), colour=coloured(out)), out)
    if found.lacking:
        raise typer.Exit(1)
