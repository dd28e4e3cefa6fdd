"""`toneout spare`: free ports, jacks, cables and watts, and what to use for new places in a room."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.limits import snapshot_of
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, show

if TYPE_CHECKING:
    from reconcile.channels import Channels
    from reconcile.patchmap.model import PatchMap
    from reconcile.picture import Picture
    from reconcile.site import Site

NeedOption = Annotated[
    list[str] | None,
    typer.Option("--need", metavar="ROOM=N", help="Propose jacks, ports and cords for N places in a room."),
]


def spare(
    context: typer.Context,
    need: NeedOption = None,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the switches saw. Default: the latest, if any.")
    ] = None,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Tell what is free: ports, jacks, cables, watts.

    A port counts as free when the map has nothing on it; whether it is silent, and for how long, the snapshot and the
    history of `toneout nightly` tell.

    Exit code 0: told. 1: there is less than was asked for with --need.
    """
    from reconcile.capacity import capacity
    from reconcile.proposal import propose
    from reconcile.reports import spare as report

    wanted = [read_need(text) for text in need or ()]
    here = open_site(context, site)
    patch_map, channels, picture = pictured(here, snapshot)
    free = capacity(patch_map, channels, picture)
    found = [propose(room, count, free, patch_map, channels, here.cords, here.limits) for room, count in wanted]
    show(report.render(free, found, form.value, width=columns(out), colour=coloured(out)), out)
    if any(proposal.lacking for proposal in found):
        raise typer.Exit(1)


def pictured(site: Site, snapshot: Path | None) -> tuple[PatchMap, Channels, Picture | None]:
    """The map with its channels, and the picture where a snapshot is at hand."""
    from reconcile.pipeline import compare

    patch_map, channels, _ = open_map(site)
    seen = snapshot_of(site, snapshot)
    if seen is None:
        return patch_map, channels, None
    recalled = recall(site, seen, None)
    picture = compare(patch_map, seen, channels=channels, recalled=recalled, limits=site.limits).picture
    return patch_map, channels, picture


def read_need(text: str) -> tuple[str, int]:
    """`wet lab=3`. Raises UsageError."""
    from reconcile.errors import UsageError

    found = re.fullmatch(r"\s*(.*\S)\s*=\s*(\d{1,4})\s*", text, re.DOTALL)
    if not found or int(found.group(2)) < 1:
        raise UsageError(f"--need {text}", "is no room with a number of places", '--need "wet lab=2"')
    return found.group(1), int(found.group(2))
