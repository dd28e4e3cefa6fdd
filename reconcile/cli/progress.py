"""What a person at a terminal sees while switches are asked; nothing in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from reconcile.reports.escape import visible

if TYPE_CHECKING:
    from collectors.fleet import FleetProgress

_WORTH_NAMING = 2.0
"""Seconds after which the slowest switch is named."""


@contextmanager
def progress_display(*, quiet: bool) -> Iterator[Callable[[FleetProgress], None] | None]:
    """Gives what the fleet may tell its progress to; None where nobody looks."""
    if not _watched(quiet):
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (BarColumn(bar_width=20), TextColumn("{task.description}", markup=False))
    with Progress(*columns, console=Console(stderr=True, highlight=False), transient=True) as display:
        task = display.add_task("asking the switches", total=None)

        def tell(now: FleetProgress) -> None:
            display.update(task, total=now.total, completed=now.done, description=progress_words(now))

        yield tell


@contextmanager
def step_display(*, quiet: bool) -> Iterator[Callable[[str, str], None]]:
    """Gives what the asking of one switch may tell its steps to; it is silent where nobody looks."""
    if not _watched(quiet):
        yield lambda switch, doing: None
        return
    from rich.console import Console
    from rich.text import Text

    with Console(stderr=True, highlight=False).status(Text("asking")) as status:
        yield lambda switch, doing: status.update(Text(visible(f"{switch}: {doing}")))


def _watched(quiet: bool) -> bool:
    return not quiet and sys.stderr is not None and sys.stderr.isatty()


def progress_words(now: FleetProgress) -> str:
    """`12 of 40 switches, 2 failed; sw-lab: forwarding, 12 s`."""
    failed = f", {now.failed} failed" if now.failed else ""
    slow = now.slowest and now.slowest_seconds >= _WORTH_NAMING
    slowest = f"; {now.slowest}: {now.slowest_doing or 'asking'}, {now.slowest_seconds:.0f} s" if slow else ""
    return visible(f"{now.done} of {now.total} switches{failed}{slowest}")
