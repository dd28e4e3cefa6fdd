"""`toneout schema` and `toneout --version`: what programs that read our files need to know."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from reconcile.cli.options import OutOption
from reconcile.cli.streams import show


class Described(StrEnum):
    """What has a published JSON Schema."""

    RESULT = "result"
    SNAPSHOT = "snapshot"
    NIGHT = "night"


def schema(
    of: Annotated[Described, typer.Option("--of", help="The report of reconcile, of nightly, or a snapshot.")] = (
        Described.RESULT
    ),
    out: OutOption = None,
) -> None:
    """Print the JSON Schema of reports or snapshots."""
    from reconcile.reports import as_json

    if of is Described.SNAPSHOT:
        from collectors.snapshot_files import snapshot_schema

        show(as_json.plain(snapshot_schema()), out)
    elif of is Described.NIGHT:
        from reconcile.history.night import Night

        show(as_json.plain(as_json.schema_of(Night)), out)
    else:
        from reconcile.result import Result

        show(as_json.plain(as_json.schema_of(Result)), out)


def version(wanted: bool) -> None:
    """Prints the version and ends, when asked to."""
    if wanted:
        from reconcile import __version__

        show(f"toneout {__version__}\n")
        raise typer.Exit
