"""The one place where errors become a line on standard error and an exit code. No traceback reaches a user."""

from __future__ import annotations

import traceback
from typing import Any

import typer
from typer.core import TyperCommand

from collectors.errors import CollectError
from reconcile.cli.options import Common
from reconcile.cli.streams import say
from reconcile.errors import LockedError, MapError, ReconcileError, SiteError

DRIFT = 1
COULD_NOT_RUN = 2
NOT_ALL_SEEN = 3
LOCKED = 4
INTERRUPTED = 130  # 128 + SIGINT and 128 + SIGPIPE, as a shell reports them
READER_GONE = 141


class Command(TyperCommand):
    """A command whose errors are told in words."""

    def invoke(self, ctx: typer.Context) -> Any:  # type: ignore[override]  # typer's Context is its base's subclass
        """Runs the command; ends with an exit code whatever happens."""
        verbose = isinstance(ctx.obj, Common) and ctx.obj.verbose
        try:
            return super().invoke(ctx)
        except (typer.Exit, typer.Abort, typer.BadParameter):
            raise
        except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001  # whatever it is, it is told in words
            raise typer.Exit(told(error, verbose=verbose)) from None


def told(error: BaseException, *, verbose: bool = False) -> int:
    """Says on standard error what went wrong and what to try; the exit code."""
    while isinstance(error, BaseExceptionGroup) and len(error.exceptions) == 1:
        error = error.exceptions[0]  # a task group around the one thing that went wrong
    match error:
        case KeyboardInterrupt():
            say("toneout: interrupted")
            return INTERRUPTED
        case BrokenPipeError():
            return READER_GONE
        case MapError() | SiteError() if error.faults:
            say(f"toneout: {error}")
            for fault in error.faults:
                say(f"  {fault}")
        case LockedError():
            say(f"toneout: {error}")
            return LOCKED
        case ReconcileError() | CollectError():
            say(f"toneout: {error}")
        case OSError():
            say(f"toneout: {_os_words(error)}")
        case _:
            _unforeseen(error, verbose=verbose)
    return COULD_NOT_RUN


def _os_words(error: OSError) -> str:
    where = f"{error.filename}: " if error.filename else ""
    hints = {
        "No space left on device": "free some space, or --out FILE on another disk",
        "Permission denied": "a place that you may write to and read from",
        "No such file or directory": "check the path; no folder on the way to it is made",
        "Is a directory": "the name of a file in it",
    }
    problem = error.strerror or type(error).__name__
    hint = f"; try: {hints[problem]}" if problem in hints else ""
    return f"{where}{problem}{hint}"


def _unforeseen(error: BaseException, *, verbose: bool) -> None:
    what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    hint = "" if verbose else "; try: the same with `toneout --verbose ...` and send us what it prints"
    say(f"toneout: a fault of toneout itself, nothing that you did ({what}){hint}")
    if verbose:
        for line in "".join(traceback.format_exception(error)).splitlines():
            say(line)
