"""`toneout schema` and `toneout --version`: what programs that read our files need to know."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from reconcile.cli.options import OutOption
from reconcile.cli.streams import show


class Described(StrEnum):
    """What has a published JSON Schema: the answers of the commands, and snapshots."""

    RESULT = "result"
    SNAPSHOT = "snapshot"
    NIGHT = "night"
    HISTORY = "history"
    LIFE = "life"
    CHECK = "check"
    COLUMNS = "columns"
    DRAFT = "draft"
    TRACE = "trace"
    TODO = "todo"
    LIMITS = "limits"
    LIMIT_VALUES = "limit-values"
    SPARE = "spare"
    CORDS = "cords"
    SWAP = "swap"
    TEARDOWN = "teardown"
    TEARDOWN_AFTER = "teardown-after"


def schema(
    of: Annotated[
        Described,
        typer.Option(
            "--of",
            help="Whose: result is reconcile's, night nightly's, life that of history WHAT, columns of check "
            "--columns, limit-values of limits --list; the others are called as their command.",
        ),
    ] = Described.RESULT,
    out: OutOption = None,
) -> None:
    """Print the JSON Schema of reports or snapshots.

    Every command that takes --format json has one.
    """
    from reconcile.reports.as_json import plain
    from reconcile.reports.published import published_schema

    show(plain(published_schema(of.value)), out)


def version(wanted: bool) -> None:
    """Prints the version and ends, when asked to."""
    if wanted:
        from reconcile import __version__

        show(f"toneout {__version__}\n")
        raise typer.Exit
