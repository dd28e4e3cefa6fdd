"""The entry point of `toneout`: prepares the streams, then hands over to the commands."""

from __future__ import annotations

import gc
import sys

_ALLOCATIONS = 100_000
"""A map and a snapshot are many objects that stay until the end: looking for garbage among them all the time takes a
third of a run on a campus."""


def run() -> None:
    """Runs one command and ends the process with its exit code."""
    gc.set_threshold(_ALLOCATIONS, 20, 50)
    for stream in (sys.stdout, sys.stderr):
        # A terminal of another encoding shows what it lacks as \uXXXX rather than ending the run.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        from reconcile.cli.commands import app

        app(prog_name="toneout")
    except (Exception, KeyboardInterrupt) as error:  # noqa: BLE001  # outside a command: --help into a full disk
        from reconcile.cli.failures import told
        from reconcile.cli.streams import abandon

        if isinstance(error, OSError):
            abandon(sys.stdout)
        sys.exit(told(error))


if __name__ == "__main__":
    run()
