"""`toneout todo` for people, programs and spreadsheets. The text prints as a list with boxes to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.cautions import CODES, LADDER, LASER, MAINS, POWER
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted
from reconcile.todo import Job, Movement, Todo

COLUMNS = ("step", "cause", "cord", "from", "to", "do", "uplink", "sure", "story", "keys")
UPLINKS = "links between switches last: tell the people who depend on them, and pull one cord at a time"


def render(found: Todo, form: str, *, width: int = 80, colour: bool = False) -> str:
    """The list in one form: text, json or csv."""
    if form == "json":
        return as_json.render(found)
    if form == "csv":
        return table(COLUMNS, _rows(found))
    sheet = Sheet(width, colour=colour)
    sheet.name(found.site or "This site", style="bold")
    sheet.say(f"What the wiring lacks of the map, as the switches saw it on {at_time(found.taken)}.")
    sheet.gap()
    if not found.jobs:
        unsure = f"; {counted(found.unlooked, 'thing')} could not be looked at" if found.unlooked else ""
        sheet.say(f"Nothing to do{unsure}.", style="bold")
        return str(sheet)
    _jobs(sheet, found)
    sheet.heading("Mind")
    for text in (POWER, MAINS, LASER, LADDER, UPLINKS, _again(found.wait_seconds), CODES):
        sheet.say(f"- {text}", hanging=1)
    return str(sheet)


def _again(seconds: int) -> str:
    return (
        f"ask the switches again {seconds} s after the last cord, not before: where something keeps a link up, such as "
        "a converter, they remember the old place for so long"
    )


def _jobs(sheet: Sheet, found: Todo) -> None:
    number = 0
    if found.to_do:
        sheet.heading("To do, in this order")
    for job in found.to_do:
        _head(sheet, job)
        for movement in job.movements:
            number += 1
            sheet.say(f"[ ] {number}. {_words(movement)}", depth=1, hanging=3)
        if job.decides:
            sheet.row("unsure", job.decides)
        sheet.gap()
    rest = [job for job in found.jobs if not job.movements]
    if rest:
        sheet.heading("Not for hands")
    for job in rest:
        _head(sheet, job)
        sheet.say(job.instead, depth=1, hanging=1)


def _head(sheet: Sheet, job: Job) -> None:
    sheet.say(f"{job.story} (cause {job.number})", style="bold", hanging=1)
    for text in job.cautions:
        sheet.row("mind", text)


def _words(movement: Movement) -> str:
    """The sentence, with the places that it leaves out."""
    here = f"; now at {movement.here}" if movement.here and movement.here not in movement.do else ""
    there = f"; it belongs at {movement.there}" if movement.there and movement.there not in movement.do else ""
    return f"{movement.do}{here}{there}"


def _rows(found: Todo) -> Iterator[Sequence[str]]:
    steps = ((job, movement) for job in found.to_do for movement in job.movements)
    for number, (job, movement) in enumerate(steps, 1):
        yield (
            str(number), str(job.number), movement.what, movement.here, movement.there, movement.do,
            "yes" if job.link else "", "yes" if job.sure else "", job.story, " ".join(job.findings),
        )  # fmt: skip
    for job in found.jobs:
        if not job.movements:
            yield ("", str(job.number), "", "", "", job.instead, "", "", job.story, " ".join(job.findings))
