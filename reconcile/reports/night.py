"""The report of a nightly run: what is new in full, what stands in a line each, what has gone. Fit for a mail."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from reconcile.findings import Finding, Kind
from reconcile.history.night import Night
from reconcile.reports.escape import visible
from reconcile.reports.layout import Sheet
from reconcile.reports.text import MOST_ALIKE, tell_causes, tell_finding, tell_gaps
from reconcile.reports.words import at_time, counted, history_words, in_order, place_words


def render(night: Night, *, width: int = 80, colour: bool = False) -> str:
    """The whole report; one line after a night in which nothing changed."""
    if night.unchanged:
        return visible(f"{night.site or 'This site'}, {at_time(night.taken)}: {summary(night)}.") + "\n"
    sheet = Sheet(width, colour=colour)
    sheet.name(f"{night.site or 'This site'}: {summary(night)}", style="bold")
    since = f"; compared with the run of {at_time(night.before)}" if night.before else "; the first run of its history"
    sheet.say(f"As the switches saw it on {at_time(night.taken)}{since}.")
    _new(sheet, night)
    _lines(sheet, "Comes and goes", night.flapping)
    _lines(sheet, "Gone", night.gone)
    _lines(sheet, "Still there", night.still)
    tell_gaps(sheet, night.new_gaps)
    _remarks(sheet, night)
    return str(sheet)


def summary(night: Night) -> str:
    """`2 new, 1 gone, 7 still there`; `nothing new; 9 still there, 1 accepted, sw-lab not read`."""
    changed: list[tuple[Sequence[object], str]] = [
        (night.new, "new"),
        (night.gone, "gone"),
        (night.flapping, "flapping"),
    ]
    standing: list[tuple[Sequence[object], str]] = [
        (night.still, "still there"), (night.waiting, "not seen often enough yet"), (night.waived, "accepted"),
    ]  # fmt: skip
    first = [f"{len(found)} {word}" for found, word in changed if found] or ["nothing new"]
    rest = [f"{len(found)} {word}" for found, word in standing if found]
    switches = len({gap.switch for gap in (*night.new_gaps, *night.old_gaps)})
    if switches:
        rest.append(f"{counted(switches, 'switch', 'switches')} not read as a whole")
    if night.notes:
        rest.append(f"{counted(len(night.notes), 'waiver')} to look at (toneout waive)")
    return "; ".join(part for part in (", ".join(first), ", ".join(rest)) if part)


def _new(sheet: Sheet, night: Night) -> None:
    tell_causes(sheet, night.causes)
    if not night.new:
        return
    causes = {key: number for number, cause in enumerate(night.causes, 1) for key in cause.findings}
    sheet.heading("New")
    told: Counter[Kind] = Counter()
    for finding in night.new:
        told[finding.kind] += 1
        if told[finding.kind] > MOST_ALIKE:
            continue
        sheet.gap()
        sheet.say(f"{finding.kind.value.capitalize()} ({finding.severity.value})", style="bold")
        tell_finding(sheet, finding, causes.get(finding.key))
    for kind, count in told.items():
        if count > MOST_ALIKE:
            sheet.gap()
            sheet.say(f"{kind.value}: {_more(count)}", depth=1)


def _more(count: int) -> str:
    return f"and {count - MOST_ALIKE} more; toneout reconcile --all shows them all"


def _lines(sheet: Sheet, heading: str, findings: list[Finding]) -> None:
    if not findings:
        return
    sheet.heading(heading)
    for finding in sorted(findings, key=_order)[:MOST_ALIKE]:
        sheet.name(_line(finding), depth=1)
    if len(findings) > MOST_ALIKE:
        sheet.say(_more(len(findings)), depth=1)


def _order(finding: Finding) -> tuple[object, ...]:
    return in_order(finding.where.switch), in_order(finding.where.port), finding.key


def _line(finding: Finding) -> str:
    device = f"{finding.device}, " if finding.device else ""
    since = history_words(finding)
    history = f" (since {since})" if since else ""
    return f"{finding.kind.value}: {device}{place_words(finding.where)}{history} {finding.key}"


def _remarks(sheet: Sheet, night: Night) -> None:
    remarks = list(_remarks_on(night))
    if remarks:
        sheet.heading("Remarks")
    for remark in remarks:
        sheet.say(f"- {remark}", hanging=1)


def _remarks_on(night: Night) -> Iterable[str]:
    yield from (f"read again: {what}" for what in night.ended_gaps)
    yield from (f"still not read: {what}" for what in _names(night))
    if night.unlooked:
        yield f"taken to stand, for nobody could look: {', '.join(night.unlooked)}"
    yield from night.notes


def _names(night: Night) -> list[str]:
    return sorted({f"{gap.switch} {gap.table}".strip() for gap in night.old_gaps}, key=in_order)
