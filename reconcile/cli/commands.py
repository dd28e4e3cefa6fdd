"""All commands in one visible list, and the options that stand before any of them."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from reconcile.cli.adopt import adopt
from reconcile.cli.check import check
from reconcile.cli.collect import collect
from reconcile.cli.compare import reconcile
from reconcile.cli.cords import cords
from reconcile.cli.demo import demo, simulate
from reconcile.cli.draft import draft
from reconcile.cli.failures import Command
from reconcile.cli.follow import trace
from reconcile.cli.history import history
from reconcile.cli.labels import labels
from reconcile.cli.limits import limits
from reconcile.cli.nightly import nightly
from reconcile.cli.options import Common
from reconcile.cli.page import page
from reconcile.cli.probing import probe
from reconcile.cli.setup import init, record
from reconcile.cli.spare import spare
from reconcile.cli.streams import WIDEST, set_up_logs
from reconcile.cli.swap import swap
from reconcile.cli.teardown import teardown
from reconcile.cli.tell import schema, version
from reconcile.cli.todo import todo
from reconcile.cli.waive import waive

COMMANDS: tuple[Callable[..., None], ...] = (
    init,
    draft,
    check,
    collect,
    reconcile,
    nightly,
    history,
    waive,
    todo,
    adopt,
    trace,
    page,
    limits,
    spare,
    cords,
    labels,
    teardown,
    demo,
    simulate,
    probe,
    record,
    schema,
)

GROUPS: tuple[typer.Typer, ...] = (swap,)
"""Commands of several words: `toneout swap start`."""

EXIT_CODES = """
Exit codes: 0 nothing to report; 1 drift (check: something to look at in the map); 2 could not run: wrong use, a site
or map that cannot be read, a fault of toneout itself; 3 no drift seen, but not everything could be looked at;
4 another nightly run has the site in hand. For nightly 1 is new drift, and 0 nothing new, whatever of old stands.
130 interrupted, 141 the reader of our output went away.
"""

app = typer.Typer(
    help="Keeps a documented patch map true: asks the switches, finds where every device is really attached, and "
    "explains the drift. Start with `toneout demo`, or with `toneout init DIR` for your own switches.",
    epilog=EXIT_CODES,
    no_args_is_help=True,
    rich_markup_mode=None,  # plain help starts in half the time, and reads well on any terminal
    pretty_exceptions_enable=False,  # failures.py says what went wrong, without a traceback
    context_settings={
        "help_option_names": ["-h", "--help"],
        "terminal_width": max(min(shutil.get_terminal_size().columns, WIDEST) - 2, 30),  # the default has 50 at least
    },
)
for command in COMMANDS:
    app.command(cls=Command)(command)
for group in GROUPS:
    app.add_typer(group)


@app.callback()
def options(
    context: typer.Context,
    site: Annotated[
        Path | None, typer.Option(metavar="DIR", help="The site folder. Default: the nearest with a toneout.toml.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress display; only errors on stderr.")] = False,
    verbose: Annotated[
        bool, typer.Option("--verbose", "-v", help="Log what happens on stderr; details of unexpected faults.")
    ] = False,
    show_version: Annotated[
        bool, typer.Option("--version", callback=version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    context.obj = Common(site=site, quiet=quiet, verbose=verbose)
    set_up_logs(quiet=quiet, verbose=verbose)
