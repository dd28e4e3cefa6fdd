"""`toneout teardown`: what goes dark, which cords to pull; and afterwards, whether just this went dark."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import ask_site, interrupted, keep_as, kept, latest
from reconcile.cli.failures import INTERRUPTED
from reconcile.cli.options import Format, FormatOption, OutOption, SiteOption, common, open_map, open_site
from reconcile.cli.streams import coloured, columns, say, show, write_whole

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from collectors.snapshot import Snapshot
    from reconcile.patchmap.model import PatchMap
    from reconcile.site import Site
    from reconcile.teardown.model import KeptPlan

_BEFORE = "teardown-before"


def teardown(
    context: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT", help="Switch, panel, room, rack, device, cord; SWITCH:Gi1/0/1-8."),
    ] = None,
    listed: Annotated[
        Path | None, typer.Option("--list", metavar="FILE", help="More of them: the first column of a CSV.")
    ] = None,
    start: Annotated[
        str, typer.Option("--from", metavar="NAME", help="Keep this reachable to the end. Default: the gateway.")
    ] = "",
    after: Annotated[bool, typer.Option("--after", help="Ask again: did just what was planned go dark.")] = False,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the switches saw. Default: the latest; --after: ask.")
    ] = None,
    site: SiteOption = None,
    form: FormatOption = Format.TEXT,
    out: OutOption = None,
) -> None:
    """Tell what goes dark, and which cords to pull.

    Devices, what is reached only through it, PoE loads, strangers on its ports; then the cords in order.

    Exit code 0: told. 1: more goes dark than was named. 3: not everything could be looked at.
    With --after 0: just this went dark. 1: not so. 3: so, as far as could be looked at.
    """
    from collectors.snapshot_files import load_snapshot
    from reconcile.reports import teardown as report
    from reconcile.swap import look
    from reconcile.teardown import plan_teardown
    from reconcile.teardown.model import KeptPlan

    here = open_site(context, site)
    if after:
        _check_after(context, here, [*(what or ()), *([str(listed)] if listed else ())], snapshot, form, out)
    words = [*(what or ()), *(_words_of(listed) if listed else ())]
    if not words:
        raise typer.BadParameter("say what is to be torn down, or --after to check what was")
    patch_map = open_map(here).patch_map
    seen = load_snapshot(snapshot or latest(here))
    plan = plan_teardown(words, look(patch_map, seen), start=start, last_seen=_last_seen(here, patch_map, seen))
    keep_as(seen, here, _BEFORE)
    write_whole(_plan_path(here), KeptPlan(plan=plan, patch_map=patch_map).model_dump_json() + "\n")
    show(report.render(plan, form.value, width=columns(out), colour=coloured(out)), out)
    say(f"toneout: the plan is kept in {_plan_path(here)}; when it is done: toneout teardown --after")
    raise typer.Exit(plan.exit_code)


def _last_seen(site: Site, patch_map: PatchMap, seen: Snapshot) -> Mapping[str, datetime]:
    """What the nights before know. A history that cannot be read is told, and is no reason to refuse the plan."""
    from reconcile.errors import HistoryError
    from reconcile.history.last_seen import last_seen
    from reconcile.history.store import reading

    macs = {mac for device in patch_map.devices for mac in device.macs}
    try:
        with reading(site.folder) as book:
            return last_seen(book, macs, seen.finished) if book is not None else {}
    except HistoryError as error:
        say(f"toneout: {error}; when things were last seen is not told")
        return {}


def _check_after(
    context: typer.Context, site: Site, more: list[str], snapshot: Path | None, form: Format, out: Path | None
) -> None:
    from collectors.snapshot_files import load_snapshot
    from reconcile.reports import teardown as report
    from reconcile.swap import look
    from reconcile.teardown import check_after

    if more:
        raise typer.BadParameter("--after checks the plan that was kept: name nothing with it")
    planned = _kept(site)
    seen = load_snapshot(snapshot) if snapshot else ask_site(site, quiet=common(context).quiet)
    if interrupted(seen):
        say("toneout: interrupted; nothing was compared")
        raise typer.Exit(INTERRUPTED)
    if not snapshot:
        keep_as(seen, site, "teardown-after")
    before = look(planned.patch_map, load_snapshot(kept(site, _BEFORE)))
    found = check_after(planned.plan, before, look(planned.patch_map, seen))
    show(report.render_after(found, form.value, width=columns(out), colour=coloured(out)), out)
    raise typer.Exit(found.exit_code)


def _plan_path(site: Site) -> Path:
    return site.folder / "snapshots" / "teardown-plan.json"


def _kept(site: Site) -> KeptPlan:
    """The plan that was kept. Raises ReconcileError."""
    from pydantic import ValidationError

    from reconcile.errors import ReconcileError
    from reconcile.teardown.model import KeptPlan

    path = _plan_path(site)
    hint = "toneout teardown WHAT, before the work"
    try:
        return KeptPlan.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        raise ReconcileError(str(path), "no teardown was planned", hint) from None
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        field = ".".join(map(str, first["loc"])) or "the whole file"
        raise ReconcileError(str(path), f"{field}: {first['msg']}", hint) from None


def _words_of(path: Path) -> list[str]:
    """The first column of a CSV; a heading `what` is left out. Raises UsageError or OSError."""
    import csv

    from reconcile.errors import UsageError

    try:
        text = path.read_text("utf-8-sig")
        rows = [row[0].strip() for row in csv.reader(text.splitlines(), strict=True) if row and row[0].strip()]
    except (UnicodeDecodeError, csv.Error) as error:
        raise UsageError(str(path), f"is not CSV in UTF-8: {error}", "one name in each row") from None
    return rows[1:] if rows and rows[0].casefold() == "what" else rows
