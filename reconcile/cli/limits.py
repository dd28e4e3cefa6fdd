"""`toneout limits`: is each channel as good as it should be, by published values."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import latest, previous
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, common, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, show

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.site import Site

BeforeOption = Annotated[
    Path | None,
    typer.Option("--before", metavar="FILE", help="An earlier snapshot, to see errors rise. Default: the one before."),
]


def limits(
    context: typer.Context,
    show_list: Annotated[
        bool, typer.Option("--list", help="List every limit with its value and source, and end.")
    ] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the switches saw. Default: the latest, if any.")
    ] = None,
    before: BeforeOption = None,
    every: Annotated[bool, typer.Option("--all", help="List every channel with every aspect.")] = False,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Judge every channel by published limits.

    Lengths, categories, shields, fibre, speed, duplex, errors and power. What the record lacks is told, never passed.

    Exit code 0: all is good. 1: something is not. 3: nothing is bad, but not everything can be judged.
    """
    from reconcile.limits.report import judge_site
    from reconcile.reports import limits as report

    here = open_site(context, site)
    if show_list:
        show(report.render_list(here.limits, form.value, width=columns(out), colour=coloured(out)), out)
        return
    patch_map = open_map(here).patch_map
    seen = snapshot_of(here, snapshot)
    earlier = earlier_than(seen, here, before)
    judged = judge_site(patch_map, seen, before=earlier, limits=here.limits, recalled=recall(here, seen, earlier))
    details = every or common(context).verbose
    show(report.render(judged, form.value, width=columns(out), colour=coloured(out), details=details), out)
    raise typer.Exit(judged.exit_code)


def snapshot_of(site: Site, named: Path | None) -> Snapshot | None:
    """The snapshot that was named, else the latest; None where the site has none yet. Raises SnapshotError."""
    from collectors.snapshot_files import load_snapshot

    if named is None and not latest(site).exists():
        return None
    return load_snapshot(named or latest(site))


def earlier_than(seen: Snapshot | None, site: Site, named: Path | None) -> Snapshot | None:
    """An earlier snapshot: the one that was named, else the site's previous one where it really is earlier."""
    from collectors.errors import SnapshotError
    from collectors.snapshot_files import load_snapshot

    if seen is None or (named is None and not previous(site).exists()):
        return None
    try:
        found = load_snapshot(named or previous(site))
    except SnapshotError:
        if named is not None:
            raise
        return None  # a broken file of ours is no reason to refuse today's report
    return found if named is not None or found.finished < seen.started else None
