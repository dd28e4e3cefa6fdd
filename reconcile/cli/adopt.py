"""`toneout adopt`: the network is right, the map follows."""

from __future__ import annotations

import sys
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import SWAP_AFTER, SWAP_BEFORE, kept, latest
from reconcile.cli.options import SiteOption, open_map, open_site
from reconcile.cli.streams import coloured, columns, say, show

if TYPE_CHECKING:
    from reconcile.adopt.adoption import Adoption
    from reconcile.site import Site

NOT_WRITTEN = 1


def adopt(
    context: typer.Context,
    keys: Annotated[
        list[str] | None,
        typer.Argument(metavar="KEY", help="Keys that reports print, or their beginnings."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", "-n", help="Show the change, write nothing.")] = False,
    yes: Annotated[
        bool, typer.Option("--yes", "-y", help="Write without asking; needed where nobody can answer.")
    ] = False,
    at: Annotated[
        str, typer.Option(metavar="PLACE", help="Where it is: SWITCH:PORT, OUTLET:JACK, or DEVICE:SOCKET.")
    ] = "",
    name: Annotated[
        str, typer.Option(metavar="NAME", help="Who it is: a new name, or a device that the map has.")
    ] = "",
    mac: Annotated[list[str] | None, typer.Option(metavar="MAC", help="Which of several addresses.")] = None,
    behind: Annotated[
        str, typer.Option(metavar="NAME", help="All of it is behind this device, which carries others.")
    ] = "",
    off: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="This device or cord is gone: take it off the map.")
    ] = None,
    by: Annotated[str, typer.Option(metavar="WHAT", help="What moved, where either would do: cords or devices.")] = "",
    ports: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The ports that `swap check --ports FILE` paired.")
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Go back to the files before the last adopt.")] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Follow this snapshot. Default: the latest.")
    ] = None,
    site: SiteOption = None,
) -> None:
    """Let the map follow the network, in your own files.

    The other direction of `toneout todo`. What one cause explains is adopted together. The change is shown line by
    line, and asked for; then your own files are edited in their own form, and the former ones kept beside them. A
    change that would leave the map with new faults is not written, nor is a guess: what nobody could see has to be
    said with --at, --name or --off.

    Exit code 0: written, or shown with --dry-run. 1: shown, and not written. 4: another adopt or waive is at it.
    """
    from reconcile.lock import EDIT_LOCK, locked

    here = open_site(context, site)
    if undo:
        with locked(here.folder, EDIT_LOCK):
            _undo(here)
        return
    if bool(keys) == (ports is not None):
        raise typer.BadParameter("give the keys of differences (toneout reconcile prints them), or --ports FILE")
    with nullcontext() if dry_run else locked(here.folder, EDIT_LOCK):
        open_map(here)
        if ports is not None:
            found = _found_ports(here, snapshot, ports)
        else:
            found = _found(here, snapshot, tuple(keys or ()), at, name, tuple(mac or ()), behind, tuple(off or ()), by)
        _settle(found, dry_run=dry_run, yes=yes)


def _found(
    site: Site, snapshot: Path | None, keys: tuple[str, ...], at: str, name: str, macs: tuple[str, ...], behind: str,
    off: tuple[str, ...], by: str,
) -> Adoption:  # fmt: skip
    from collectors.snapshot_files import load_snapshot
    from reconcile.adopt import adoption
    from reconcile.adopt.wish import By, Wish

    if by and by not in list(By):
        raise typer.BadParameter(f"{by!r} is neither cords nor devices", param_hint="--by")
    wish = Wish(keys, at.strip(), name.strip(), macs, behind.strip(), off, By(by) if by else None)
    return adoption.adopt(site, load_snapshot(snapshot or latest(site)), wish)


def _found_ports(site: Site, snapshot: Path | None, ports: Path) -> Adoption:
    """The ports of a switch that was replaced, by the file that `toneout swap check --ports` wrote."""
    from collectors.snapshot_files import load_snapshot
    from reconcile.adopt.adoption import adopt_ports
    from reconcile.errors import UsageError

    before, after = kept(site, SWAP_BEFORE), snapshot or kept(site, SWAP_AFTER)
    try:
        text = ports.read_text("utf-8")
    except UnicodeDecodeError:
        raise UsageError(str(ports), "is not UTF-8 text", "save it as CSV in UTF-8") from None
    except OSError as error:
        advice = "name a file" if ports.is_dir() else f"toneout swap check --ports {ports}"
        raise UsageError(str(ports), error.strerror or "cannot be read", advice) from None
    if not before.exists():
        raise UsageError(str(before), "no swap was started", "toneout swap start, before the work")
    return adopt_ports(site, load_snapshot(before), load_snapshot(after), text, str(ports))


def _settle(found: Adoption, *, dry_run: bool, yes: bool) -> None:
    """Shows the change, asks where somebody can answer, and writes."""
    from reconcile.reports import adopt as report

    show(report.render(found, width=columns(None), colour=coloured(None)))
    if dry_run:
        show("Nothing was written (--dry-run).\n")
        return
    if not yes and not _wanted():
        raise typer.Exit(NOT_WRITTEN)
    found.write()
    show(report.written(found))


def _wanted() -> bool:
    """Asks on a terminal. Where nobody can answer, nothing is written: a pipe or cron never waits for an answer."""
    if not (sys.stdin is not None and sys.stdin.isatty() and sys.stdout.isatty()):
        say("toneout: nothing was written: nobody is here to ask; add --yes")
        return False
    if typer.confirm("Write this?", default=False):
        return True
    show("Nothing was written.\n")
    return False


def _undo(site: Site) -> None:
    from reconcile.patchmap.edit import keeping
    from reconcile.reports.adopt import restored

    source = site.map.path
    names = None if site.map.form == "tables" else {source.name}
    show(restored(keeping.revert(source if names is None else source.parent, names), site.folder))
