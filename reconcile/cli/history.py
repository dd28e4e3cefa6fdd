"""`toneout history`: what changed from run to run, and where something was since when."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.limits import snapshot_of
from reconcile.cli.options import OutOption, PlainFormat, SiteOption, open_map, open_site
from reconcile.cli.streams import coloured, columns, show
from reconcile.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reconcile.history.lives import Life
    from reconcile.history.store import Book
    from reconcile.pipeline import Comparison
    from reconcile.site import Site

PRUNE = "prune"


def history(
    context: typer.Context,
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="WHAT", help="A device, MAC address, port, jack, outlet, cord, or key of a finding."),
    ] = None,
    last: Annotated[int, typer.Option(min=1, metavar="N", help="Without WHAT: this many runs.")] = 30,
    older_than: Annotated[
        int | None, typer.Option(min=0, metavar="DAYS", help="With `prune`: forget what ended longer ago.")
    ] = None,
    site: SiteOption = None,
    form: Annotated[PlainFormat, typer.Option("--format", help="The form of the output.")] = PlainFormat.TEXT,
    out: OutOption = None,
) -> None:
    """Tell what changed in each run, or where WHAT was.

    The history is what `toneout nightly` has written down. `toneout history prune --older-than DAYS` forgets runs and
    all that ended before; what is still so stays, with the day on which it began.
    """
    here = open_site(context, site)
    text = " ".join(what or ())
    if text == PRUNE:
        if older_than is None:
            raise typer.BadParameter("prune needs --older-than DAYS: what shall be forgotten?")
        _prune(here, timedelta(days=older_than))
    elif older_than is not None:
        raise typer.BadParameter("--older-than belongs to `toneout history prune`")
    elif text:
        _life(here, text, form, out=out)
    else:
        _runs(here, last, form, out=out)


@contextmanager
def _book(site: Site) -> Iterator[Book]:
    """The history to read in. Raises UsageError where there is none."""
    from reconcile.history.store import history_of, reading

    with reading(site.folder) as book:
        if book is None or book.last_run() is None:
            raise UsageError(str(history_of(site.folder)), "this site has no history yet", "toneout nightly begins one")
        yield book


def _runs(site: Site, last: int, form: PlainFormat, *, out: OutOption) -> None:
    from reconcile.history.lives import run_stories
    from reconcile.reports import as_json
    from reconcile.reports import history as report

    with _book(site) as book:
        found = run_stories(book, last)
    if form is PlainFormat.JSON:
        show(as_json.render(found), out)
    else:
        show(report.render_runs(found, _device_names(site), width=columns(out), colour=coloured(out)), out)


def _life(site: Site, what: str, form: PlainFormat, *, out: OutOption) -> None:
    from reconcile.reports import as_json
    from reconcile.reports import history as report

    with _book(site) as book:
        life = _asked(site, what, book)
    if form is PlainFormat.JSON:
        show(as_json.render(life), out)
    else:
        show(report.render_life(life, _device_names(site), width=columns(out), colour=coloured(out)), out)


def _asked(site: Site, what: str, book: Book) -> Life:
    """The life of what a name means: a key, an address of former days, or anything that `trace` knows."""
    from collectors.names import parse_mac
    from reconcile.history.lives import life_of, life_of_finding, was_heard
    from reconcile.subjects import find_subject
    from reconcile.trace import trace

    if what in book.findings([what]):
        return life_of_finding(what, book)
    mac = parse_mac(what)
    if mac is not None and was_heard(mac, book):
        return life_of(mac, book, macs=[mac], ports=(), channels=())
    compared = _compared(site)
    subject = find_subject(what, compared.picture)
    found = trace(subject, compared, compared.picture.snapshot)
    seen = [port for channel in found.channels for port in channel.ports] + list(found.ports)
    ports = {f"{port.switch}:{port.port}" for port in seen}
    channels = {v.channel for v in compared.result.verdicts if f"{v.where.switch}:{v.where.port}" in ports}
    name = f"{subject.kind.capitalize()} {subject.name}"
    return life_of(name, book, macs=[s.mac for s in found.stations], ports=ports, channels=channels)


def _compared(site: Site) -> Comparison:
    """The map as it is now beside the latest snapshot, to know what a name means."""
    from collectors.snapshot import Snapshot
    from reconcile.pipeline import compare

    patch_map = open_map(site).patch_map
    now = datetime.now(UTC)
    return compare(patch_map, snapshot_of(site, None) or Snapshot(started=now, finished=now), limits=site.limits)


def _device_names(site: Site) -> dict[str, str]:
    """The documented device of each address."""
    patch_map = open_map(site).patch_map
    return {mac: device.name for device in reversed(patch_map.devices) for mac in device.macs}


def _prune(site: Site, older_than: timedelta) -> None:
    from reconcile.history.store import compact, writing
    from reconcile.lock import locked
    from reconcile.reports.words import counted

    with _book(site):
        pass  # none there is an error, and none is made
    with locked(site.folder):
        with writing(site.folder) as book:
            runs, ended = book.prune(older_than, datetime.now(UTC))
        compact(site.folder)
    show(f"Forgotten: {counted(runs, 'run')}, {counted(ended, 'stretch', 'stretches')} that had ended.\n")
