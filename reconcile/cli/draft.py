"""`toneout draft`: a first patch map out of what the switches see, for those who have none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from collectors.whole_files import scratch_beside, write_synced
from reconcile.cli.asking import latest
from reconcile.cli.failures import NOT_ALL_SEEN
from reconcile.cli.options import PlainFormat, SiteOption, open_site
from reconcile.cli.streams import coloured, columns, say, show

if TYPE_CHECKING:
    from reconcile.draft import Draft
    from reconcile.site import Site


class MapForm(StrEnum):
    """The forms that a patch map may have."""

    SCHEDULE = "schedule"
    TABLES = "tables"
    WORKBOOK = "workbook"


class NameSource(StrEnum):
    """Who is asked for names beside the devices themselves."""

    DNS = "dns"


_DEFAULT = {MapForm.SCHEDULE: "draft.csv", MapForm.TABLES: "draft", MapForm.WORKBOOK: "draft.xlsx"}


def draft(
    context: typer.Context,
    map_form: Annotated[
        MapForm, typer.Option("--form", help="A row per cord; or tables of their own, as CSV or as one workbook.")
    ] = MapForm.SCHEDULE,
    names: Annotated[
        NameSource | None, typer.Option("--names", help="Ask for host names too: 10 seconds at most.")
    ] = None,
    passing: Annotated[
        bool, typer.Option("--randomised", help="Write locally administered addresses down as devices too.")
    ] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the switches saw. Default: the latest.")
    ] = None,
    site: SiteOption = None,
    form: Annotated[PlainFormat, typer.Option("--format", help="The form of what is told.")] = PlainFormat.TEXT,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="PATH", help="Default: draft.csv, draft/ or draft.xlsx of the site.")
    ] = None,
) -> None:
    """Draft a first patch map from what the switches see.

    For those who have none: devices with names, makers and ports, links between switches, and gaps for you to fill.
    What is not certain is marked, not written. No file is ever overwritten.

    Exit code 0: written. 3: written, and not everything could be looked at.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.draft import draft as make
    from reconcile.reports import as_json
    from reconcile.reports.draft import told

    here = open_site(context, site)
    target = out or here.folder / _DEFAULT[map_form]
    seen, nothing = load_snapshot(snapshot or latest(here)), here.settings.nothing_words
    made = make(seen, passing=passing, nothing=nothing)
    if names is NameSource.DNS:
        made = make(seen, names=_asked(made), passing=passing, nothing=nothing)
    written = _write(made, map_form, target, here)
    if form is PlainFormat.JSON:
        show(as_json.render(made))
    else:
        show(told(made, ", ".join(map(_shown, written)), width=columns(None), colour=coloured(None)))
        show(_next_steps(here, map_form, target))
    if any(point.not_looked_at for point in made.open):
        raise typer.Exit(NOT_ALL_SEEN)


def _asked(made: Draft) -> Mapping[str, str]:
    from collectors.transports.reverse_names import DEADLINE, reverse_names
    from reconcile.reports.words import counted

    found, missing = reverse_names(made.ips)
    if missing:
        say(f"toneout: no name server answered for {counted(missing, 'address', 'addresses')} within {DEADLINE:g} s")
    return found


def _write(made: Draft, form: MapForm, target: Path, site: Site) -> list[Path]:
    """Writes all files, or none. Raises SiteError when one is there already, and OSError."""
    from reconcile.errors import SiteError
    from reconcile.reports.draft import Style, files

    style = Style(site.map.columns, site.map.tables if site.map.form == form.value else {})
    made_files = files(made, form.value, style, sheets=target.suffix.lower() == ".xlsx")
    paths = {target / name if name else target: content for name, content in made_files.items()}
    for path in paths:
        if os.path.lexists(path):
            raise SiteError(str(path), "is there already; nothing was written", "--out ANOTHER")
    for path in paths:
        path.parent.mkdir(parents=form is MapForm.TABLES, exist_ok=True)
    for path, content in paths.items():
        _write_new(path, content)
    return list(paths)


def _write_new(path: Path, content: bytes) -> None:
    """A file that was not there, whole or not at all: a second name for a finished one never replaces anything."""
    with scratch_beside(path) as scratch:
        write_synced(scratch, content)
        os.link(scratch, path)


def _shown(path: Path) -> str:
    """As somebody would type it from here."""
    absolute, here = path.absolute(), Path.cwd()
    return str(absolute.relative_to(here) if absolute.is_relative_to(here) else path)


def _next_steps(site: Site, form: MapForm, target: Path) -> str:
    from reconcile.reports.layout import Sheet

    sheet = Sheet(columns(None), colour=coloured(None))
    sheet.heading("What to do next")
    sheet.say("Look it through; then let toneout.toml name it as the map of this site:")
    sheet.gap()
    relative = os.path.relpath(target, site.folder).replace("\\", "/")
    for line in ("[map]", f'form = "{form.value}"', f'path = "{relative}"'):
        sheet.name(line, depth=1)
    sheet.gap()
    sheet.row("toneout check", "what is still to fill in", cells=20)
    sheet.row("toneout reconcile", "what has changed since; nothing as yet", cells=20)
    return f"\n{sheet}"
