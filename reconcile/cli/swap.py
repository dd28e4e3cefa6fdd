"""`toneout swap start` and `toneout swap check`: is everything back after the hardware was changed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import SWAP_AFTER, SWAP_BEFORE, ask_site, interrupted, keep_as, kept
from reconcile.cli.failures import INTERRUPTED, NOT_ALL_SEEN, Command
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, common, open_map, open_site
from reconcile.cli.streams import coloured, columns, say, show, write_whole

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.locate.placement import PortRef
    from reconcile.site import Site
    from reconcile.swap import Replacement
    from reconcile.swap.look import Look
    from reconcile.swap.state import SwapState

swap = typer.Typer(name="swap", help="Tell what is left after a hardware swap.", no_args_is_help=True)


@swap.command(cls=Command)
def start(
    context: typer.Context,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Keep this snapshot as the start. Default: ask the switches.")
    ] = None,
    passes: Annotated[
        int, typer.Option(min=1, max=100, help="How often forwarding tables are read: more hear who speaks seldom.")
    ] = 2,
    pause: Annotated[
        float, typer.Option(min=0, max=3600, metavar="SECONDS", help="How long to wait between two passes.")
    ] = 0,
    again: Annotated[bool, typer.Option("--again", help="Begin anew: forget the start of an unfinished swap.")] = False,
    site: SiteOption = None,
) -> None:
    """Keep what is there now.

    Asks every switch, and keeps what they said and the map in snapshots/swap-before.json and swap-state.json. One
    reading hears who spoke in the last five minutes; `--passes 6 --pause 120` listens for ten.

    Exit code 0: kept. 3: kept, but not everything could be looked at, so that nothing can be said of it later.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.coverage import coverage_gaps
    from reconcile.errors import ReconcileError
    from reconcile.reports import asked
    from reconcile.swap.state import begin

    here = open_site(context, site)
    if _state_path(here).exists() and not again and not _state(here).done:
        problem = "a swap was started and is not finished: its start would be lost"
        raise ReconcileError(str(kept(here, SWAP_BEFORE)), problem, "toneout swap check, or toneout swap start --again")
    patch_map = open_map(here).patch_map
    seen = load_snapshot(snapshot) if snapshot else _listen(context, here, passes, pause)
    if interrupted(seen):
        say("toneout: interrupted; nothing was kept")
        raise typer.Exit(INTERRUPTED)
    before = keep_as(seen, here, SWAP_BEFORE)
    write_whole(_state_path(here), begin(patch_map).model_dump_json(exclude_defaults=True) + "\n")
    gaps = coverage_gaps(seen, ())
    show(asked.render(seen, gaps, width=columns(None), colour=coloured(None)))
    show(f"Kept: {before}\nNow do the work, then: toneout swap check\n")
    if gaps:
        raise typer.Exit(NOT_ALL_SEEN)


@swap.command(cls=Command)
def check(
    context: typer.Context,
    replaced: Annotated[
        list[str] | None,
        typer.Option("--replaced", metavar="OLD=NEW", help="A switch in the place of another; may be repeated."),
    ] = None,
    ports: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Which port stands for which (CSV): read if there, else written."),
    ] = None,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Take this snapshot for now. Default: ask the switches.")
    ] = None,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Tell what is left until all is back.

    Missing, moved, without power, in another VLAN, slower, extra: most disruptive first. Repeat it while you plug.

    Exit code 0: nothing moved. 1: something is left. 3: nothing is left as far as could be looked at.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.reports import swap as report
    from reconcile.swap import check_swap, correspond, look
    from reconcile.swap.state import digest

    here = open_site(context, site)
    state = _state(here)
    replacements = [_replacement(text) for text in replaced or ()]
    patch_map = open_map(here).patch_map
    seen = load_snapshot(snapshot) if snapshot else _ask(context, here)
    before, after = look(state.patch_map, load_snapshot(kept(here, SWAP_BEFORE))), look(patch_map, seen)
    found = correspond(before, after, replacements, _given(ports, before, after))
    checked = check_swap(before, after, found, map_changed=digest(patch_map) != state.map_digest)
    if ports and not ports.exists() and found.switches:
        write_whole(ports, report.ports_file(found.switches))
        say(f"toneout: the correspondence of ports is in {ports}: correct it there, and check again")
    show(report.render(checked, form.value, width=columns(out), colour=coloured(out)), out)
    if checked.exit_code == 0 and not state.done:
        finished = state.model_copy(update={"done": datetime.now(UTC)})
        write_whole(_state_path(here), finished.model_dump_json(exclude_defaults=True) + "\n")
    raise typer.Exit(checked.exit_code)


def _listen(context: typer.Context, site: Site, passes: int, pause: float) -> Snapshot:
    return ask_site(site, quiet=common(context).quiet, passes=passes, pause=pause)


def _state_path(site: Site) -> Path:
    return site.folder / "snapshots" / "swap-state.json"


def _state(site: Site) -> SwapState:
    """The start of the swap. Raises ReconcileError when there is none."""
    from reconcile.errors import ReconcileError
    from reconcile.swap.state import load_state

    path = _state_path(site)
    try:
        return load_state(path.read_bytes(), str(path))
    except FileNotFoundError:
        raise ReconcileError(str(path), "no swap was started", "toneout swap start, before the work") from None


def _ask(context: typer.Context, site: Site) -> Snapshot:
    seen = ask_site(site, quiet=common(context).quiet)
    if interrupted(seen):
        say("toneout: interrupted; nothing was compared")
        raise typer.Exit(INTERRUPTED)
    keep_as(seen, site, SWAP_AFTER)
    return seen


def _replacement(text: str) -> Replacement:
    """`OLD=NEW`. Raises UsageError."""
    from reconcile.errors import UsageError
    from reconcile.swap import Replacement

    old, found, new = (part.strip() for part in text.partition("="))
    if not (old and found and new):
        raise UsageError(f"--replaced {text}", "is no pair of switches", "--replaced acc-2=acc-2b")
    return Replacement(old, new)


def _given(ports: Path | None, before: Look, after: Look) -> dict[PortRef, PortRef]:
    from reconcile.errors import UsageError
    from reconcile.swap.ports_file import read_ports

    if ports is None or not ports.exists():
        return {}
    try:
        text = ports.read_text("utf-8")
    except UnicodeDecodeError:
        raise UsageError(str(ports), "is not UTF-8 text", "save it as CSV in UTF-8") from None
    return read_ports(text, str(ports), before, after)
