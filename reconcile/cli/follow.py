"""`toneout trace`: one thing followed through the map and through what was seen."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import latest
from reconcile.cli.limits import earlier_than
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, show

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.site import Site
    from reconcile.subjects import SubjectKind

KINDS = "device, address, outlet, jack, cord, 'fixed cable' or port"


def trace(
    context: typer.Context,
    what: Annotated[
        list[str],
        typer.Argument(metavar="WHAT", help="A device, MAC address, outlet, jack, cord, fixed cable or switch port."),
    ],
    kind: Annotated[str | None, typer.Option("--as", metavar="KIND", help=f"What WHAT is meant as: {KINDS}.")] = None,
    why: Annotated[bool, typer.Option("--why", help="Add the rows that prove where each address is.")] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Look into this snapshot. Default: the latest, if any.")
    ] = None,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Follow one thing through the map and the network.

    Shows the whole documented channel and what was seen on it. Jacks and switch ports are written NAME:POSITION, MAC
    addresses in any spelling.
    """
    from reconcile.pipeline import compare
    from reconcile.reports import as_json, traced
    from reconcile.subjects import find_subject
    from reconcile.trace import trace as follow

    meant = _kind(kind)
    here = open_site(context, site)
    seen = _snapshot(here, snapshot)
    patch_map, channels, _ = open_map(here)
    earlier = earlier_than(seen, here, None)
    comparison = compare(
        patch_map,
        seen or _nothing_seen(),
        channels=channels,
        before=earlier,
        recalled=recall(here, seen, earlier),
        limits=here.limits,
    )
    found = follow(find_subject(" ".join(what), comparison.picture, meant), comparison, seen, why=why)
    if form is Format.JSON:
        show(as_json.render(found), out)
    elif form is Format.CSV:
        show(traced.render_csv(found), out)
    else:
        show(traced.render(found, width=columns(out), colour=coloured(out)), out)


def _kind(text: str | None) -> SubjectKind | None:
    from reconcile.subjects import SubjectKind

    if text is None:
        return None
    try:
        return SubjectKind(text.strip().casefold())
    except ValueError:
        raise typer.BadParameter(f"{text!r} is not one of {KINDS}", param_hint="--as") from None


def _snapshot(site: Site, named: Path | None) -> Snapshot | None:
    """The snapshot that was named, else the latest; None where there is none yet: the map alone tells something."""
    from collectors.snapshot_files import load_snapshot

    if named is None and not latest(site).exists():
        return None
    return load_snapshot(named or latest(site))


def _nothing_seen() -> Snapshot:
    from collectors.snapshot import Snapshot

    now = datetime.now(UTC)
    return Snapshot(started=now, finished=now)
