"""The history of a site for people: its runs with what changed in each, and the life of one thing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from reconcile.history.lives import Changed, Life, Lived, Runs, RunStory
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted, in_order

_SHOWN = 12
"""Changes of one kind named per run: a switch that restarts changes all its ports."""

_HEADINGS = {
    "station": "Where it was, and who was there",
    "port": "The link",
    "verdict": "The documented channel",
    "finding": "Findings",
}


def render_runs(found: Runs, names: Mapping[str, str], *, width: int = 80, colour: bool = False) -> str:
    """Runs, oldest first; those without a change in one line. `names` has the device of an address."""
    sheet = Sheet(width, colour=colour)
    for quiet, group in groupby(found.runs, key=lambda run: run.run > 1 and not run.changes):
        runs = list(group)
        if quiet and len(runs) > 1:
            first, last = runs[0], runs[-1]
            sheet.say(f"{first.run} to {last.run}  until {at_time(last.taken)}: {len(runs)} runs without a change")
            continue
        for run in runs:
            sheet.name(f"{run.run}  {at_time(run.taken)}: {_words(run)}", style="" if quiet else "bold")
            for line in _changes(run, names):
                sheet.name(line, depth=1)
    return str(sheet)


def _words(run: RunStory) -> str:
    read = f"{run.switches_answered} of {counted(run.switches_asked, 'switch', 'switches')}"
    return f"{run.outcome}; {read}, {counted(run.stations, 'station')}, {counted(run.findings, 'finding')}"


def _changes(run: RunStory, names: Mapping[str, str]) -> Iterator[str]:
    for _, group in groupby(run.changes, key=lambda change: change.kind):
        changes = list(group)
        yield from (_line(change, names) for change in changes[:_SHOWN])
        if len(changes) > _SHOWN:
            yield f"and {len(changes) - _SHOWN} more of the kind {changes[0].kind} (--format json shows all)"


def _line(change: Changed, names: Mapping[str, str]) -> str:
    who = _who(change.subject, names)
    if change.before and change.after:
        return f"{change.kind} {who}: {change.before}, now {change.after}"
    if change.kind == "finding":
        return f"finding {who}: {'new' if change.after else 'gone'}"
    return f"{change.kind} {who}: {change.after}" if change.after else f"{change.kind} {who}: no longer {change.before}"


def _who(subject: str, names: Mapping[str, str]) -> str:
    return f"{subject} ({names[subject]})" if subject in names else subject


def render_life(life: Life, names: Mapping[str, str], *, width: int = 80, colour: bool = False) -> str:
    """The life of one thing, a section per kind of fact."""
    sheet = Sheet(width, colour=colour)
    sheet.name(life.what, style="bold")
    if not life.lived:
        sheet.say("The history has nothing on it.")
    for kind, group in groupby(life.lived, key=lambda one: one.kind):
        sheet.heading(_HEADINGS.get(kind, kind))
        for one in sorted(group, key=lambda one: (in_order(one.subject), one.since is not None, one.since)):
            sheet.name(f"{_who(one.subject, names)}: {one.value}", depth=1)
            sheet.row("", _when(one), depth=1)
    return str(sheet)


def _when(one: Lived) -> str:
    since = f"since {at_time(one.since)}" if one.since else "since before what is kept"
    if one.still:
        return since
    return f"{since}, until {at_time(one.until)}" if one.until else since
