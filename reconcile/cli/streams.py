"""Where output goes: standard output or a file written whole or not at all; logs; the look of the terminal."""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import shutil
import sys
import warnings
from pathlib import Path
from typing import TextIO

from collectors.whole_files import replace_file
from reconcile.reports.escape import visible

WIDEST = 100
"""Columns. Longer lines are hard to read, however wide the terminal is."""


def columns(out: Path | None) -> int:
    """The width for text: the terminal's or COLUMNS, at most WIDEST; 80 in a file or a pipe."""
    return 80 if out else min(shutil.get_terminal_size().columns, WIDEST)


def coloured(out: Path | None) -> bool:
    """Colour on a terminal only, and never against NO_COLOR (no-color.org: set and not empty) or a dumb terminal."""
    if out or os.environ.get("NO_COLOR") or os.environ.get("TERM") in (None, "", "dumb"):
        return False
    return sys.stdout is not None and sys.stdout.isatty()


def show(text: str, out: Path | None = None) -> None:
    """Prints, or replaces the file. Raises OSError."""
    if out is None:
        _print(text, sys.stdout)
    else:
        write_whole(out, text)


def say(text: str) -> None:
    """One line for people on standard error, harmless on a terminal."""
    with contextlib.suppress(OSError):  # where even this cannot be written, the exit code has to tell
        _print(visible(text) + "\n", sys.stderr)


def write_whole(path: Path, content: str | bytes) -> None:
    """Replaces a file by a rename, so that nobody ever sees half of it. Text is UTF-8. Raises OSError that names it.

    A device or a named pipe is written to instead: a rename would put a file in its place.
    """
    octets = content.encode() if isinstance(content, str) else content
    target = Path(os.path.realpath(path))  # a link stays a link to the file that is replaced
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            with path.open("wb") as device:
                device.write(octets)
        else:
            replace_file(target, octets, mode_of=target if target.exists() else None)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(path)) from None


def _print(text: str, stream: TextIO | None) -> None:
    if stream is None:
        raise OSError(errno.EBADF, "is closed", "standard output")
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        abandon(stream)
        raise
    except OSError as error:
        abandon(stream)
        raise OSError(error.errno, error.strerror, "standard output") from None


def abandon(stream: TextIO) -> None:
    """Lets Python's own flush at exit go nowhere: it would complain of the same fault once more."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


class _Harmless(logging.Formatter):
    """Log lines may hold what a switch said."""

    def format(self, record: logging.LogRecord) -> str:
        return "\n".join(visible(line) for line in super().format(record).split("\n"))


def set_up_logs(*, quiet: bool, verbose: bool) -> None:
    """Logs go to standard error: our warnings by default, errors with --quiet, everything with --verbose."""
    handler = logging.StreamHandler()
    handler.setFormatter(_Harmless("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    level = logging.INFO if verbose else logging.ERROR if quiet else logging.WARNING
    # Libraries log what we report in better words; only --verbose wants both.
    logging.basicConfig(handlers=[handler], level=logging.INFO if verbose else logging.CRITICAL, force=True)
    for ours in ("collectors", "reconcile"):
        logging.getLogger(ours).setLevel(level)
    if not verbose:
        warnings.simplefilter("ignore")  # deprecations inside libraries are for their authors
