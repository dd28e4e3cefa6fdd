"""`toneout nightly`: asks, compares, writes down, and tells what is new. Made for cron and timers."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import ask_site, interrupted, keep
from reconcile.cli.compare import map_gap
from reconcile.cli.failures import COULD_NOT_RUN, INTERRUPTED
from reconcile.cli.limits import earlier_than
from reconcile.cli.options import OutOption, PlainFormat, SiteOption, common, open_map, open_site
from reconcile.cli.past import recall
from reconcile.cli.streams import coloured, columns, say, set_up_logs, show, write_whole
from reconcile.errors import ReconcileError, UsageError

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.history.night import Night, Patience
    from reconcile.notify import Messenger
    from reconcile.pipeline import Comparison
    from reconcile.result import Result
    from reconcile.site import Site

_log = logging.getLogger(__name__)


def nightly(
    context: typer.Context,
    snapshot: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Take this snapshot instead of asking the switches.")
    ] = None,
    min_runs: Annotated[
        int | None, typer.Option(min=1, max=1000, help="Runs that have to see a finding before it is told.")
    ] = None,
    deadline: Annotated[
        float | None, typer.Option(min=1, max=86_400, metavar="SECONDS", help="How long asking may take.")
    ] = None,
    metrics: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write numbers for Prometheus there (NAME.prom).")
    ] = None,
    page: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the page there. Default: page.html in the site folder.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing at all when nothing changed.")] = False,
    site: SiteOption = None,
    form: Annotated[PlainFormat, typer.Option("--format", help="The form of the report.")] = PlainFormat.TEXT,
    out: OutOption = None,
) -> None:
    """Ask, compare, and tell only what changed.

    Keeps the history of the site in history.sqlite, and writes the page. A night in which nothing changed is told in
    one line.

    Exit code 0: nothing new, whatever of old stands. 1: something new. 2: could not run, or could not write or send
    all that it should, whatever is new. 3: nothing new, but not everything could be looked at. 4: another run has the
    site in hand. 130: interrupted; the night is not counted.
    """
    from reconcile.lock import locked

    quiet = quiet or common(context).quiet
    set_up_logs(quiet=quiet, verbose=common(context).verbose)
    here = open_site(context, site)
    if deadline is not None:
        here = replace(here, settings=here.settings.model_copy(update={"deadline": deadline}))
    messenger = _messenger(here)  # what is wrong with an address is told before an hour of asking
    with locked(here.folder):
        seen = _seen(here, snapshot, quiet=quiet)
        night, comparison = _lived_through(here, seen, _patience(here, min_runs), form, out, quiet=quiet)
        done = [
            _tried("the message", lambda: _tell(messenger, night)),
            _tried("the metrics", lambda: _write_metrics(metrics, night, comparison.result)),
            _tried("the page", lambda: _write_page(here, page, comparison)),
        ]
    raise typer.Exit(night.exit_code if all(done) else COULD_NOT_RUN)


def _tried(what: str, work: Callable[[], None]) -> bool:
    """Does what comes after the night was written down and told: whatever becomes of it, the rest is done too."""
    try:
        work()
    except (OSError, ReconcileError) as error:
        _log.error("%s: %s; the night itself is written down", what, error)
        return False
    return True


def _tell(messenger: Messenger | None, night: Night) -> None:
    if messenger is not None and not messenger.tell(night):
        raise UsageError("toneout.toml [nightly] notify", "not everybody could be told")


def _write_metrics(file: Path | None, night: Night, result: Result) -> None:
    from reconcile.reports import metrics

    if file is not None:
        write_whole(file, metrics.render(night, result))


def _write_page(site: Site, named: Path | None, comparison: Comparison) -> None:
    """The page of the night. After a night in which no switch answered, that of the night before tells more."""
    from reconcile.cli.page import drawn

    if named is None and not site.nightly.page:
        return
    if not comparison.result.switches_answered:
        _log.warning("no switch answered: the page is left as it was")
        return
    write_whole(named or site.folder / site.nightly.page, drawn(site, comparison))


def _seen(site: Site, named: Path | None, *, quiet: bool) -> Snapshot:
    from collectors.snapshot_files import load_snapshot

    if named is not None:
        return load_snapshot(named)
    seen = ask_site(site, quiet=quiet)
    kept = keep(seen, site)
    _log.info("%d of %d switches answered; %s", len(seen.switches), len(seen.switches) + len(seen.failed), kept)
    if interrupted(seen):
        say(f"toneout: interrupted; what was complete is kept in {kept}, and the night is not counted")
        raise typer.Exit(INTERRUPTED)
    return seen


def _lived_through(
    site: Site, seen: Snapshot, patience: Patience, form: PlainFormat, out: Path | None, *, quiet: bool
) -> tuple[Night, Comparison]:
    """Compares, writes down and prints, in one transaction: what could not be printed is told again next time."""
    from reconcile import pipeline
    from reconcile.history.night import live_through
    from reconcile.history.store import writing
    from reconcile.waivers import apply_waivers, read_waivers

    waivers = read_waivers(site.folder)
    patch_map, channels, faults = open_map(site)
    earlier = earlier_than(seen, site, None)
    comparison = pipeline.compare(
        patch_map,
        seen,
        channels=channels,
        before=earlier,
        recalled=recall(site, seen, earlier),
        limits=site.limits,
    )
    comparison.result.gaps.extend(map_gap(faults))
    with writing(site.folder) as book:
        night, result = live_through(
            comparison,
            book,
            patience=patience,
            accept=lambda result, unseen: apply_waivers(result, waivers, unseen=unseen),
            now=datetime.now(UTC),
        )
        if not (quiet and night.unchanged):
            show(_report(night, form, out), out)
    _log.info("run %d: %d new, %d gone, %d still there", night.run, len(night.new), len(night.gone), len(night.still))
    return night, replace(comparison, result=result)


def _report(night: Night, form: PlainFormat, out: Path | None) -> str:
    from reconcile.reports import as_json
    from reconcile.reports import night as report

    if form is PlainFormat.JSON:
        return as_json.render(night)
    return report.render(night, width=columns(out), colour=coloured(out))


def _patience(site: Site, runs: int | None) -> Patience:
    """What the command line says holds for every kind; else what toneout.toml says."""
    from reconcile.findings import Kind
    from reconcile.history.night import Patience

    if runs is not None:
        return Patience(runs)
    by_kind = {Kind(kind): number for kind, number in site.nightly.min_runs_of.items()}
    return Patience(site.nightly.min_runs, by_kind)


def _messenger(site: Site) -> Messenger | None:
    from collectors.access import resolve_secret

    if not site.nightly.notify:
        return None
    from reconcile.notify import Messenger

    return Messenger([resolve_secret(kept, site.folder).get_secret_value() for kept in site.nightly.notify])
