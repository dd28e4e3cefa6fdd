"""`toneout limits` for people, programs and spreadsheets: what is not good, what could not be judged and why."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from reconcile.findings import Place
from reconcile.limits.copper import Fit
from reconcile.limits.power import BUNDLE_CAUTION
from reconcile.limits.report import JudgedRow, LimitsReport
from reconcile.limits.values import Limits
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted, evidence_line, in_order, place_words

COLUMNS = ("channel", "device", "room", "aspect", "fit", "because", "limit", "unit", "standing", "source", "missing")
LIST_COLUMNS = ("limit", "value", "unit", "standing", "source")
_SHOWN = 4


def render(report: LimitsReport, form: str, *, width: int = 80, colour: bool = False, details: bool = False) -> str:
    """The whole report in one form: text, json or csv. `details` lists every channel with every aspect."""
    if form == "json":
        return as_json.render(report)
    if form == "csv":
        return _csv(report)
    sheet = Sheet(width, colour=colour)
    _head(sheet, report)
    _findings(sheet, report)
    _rows(sheet, "Beyond a limit", report.with_fit(Fit.FAIL, Fit.WARN))
    _rows(sheet, "Hints, from memory alone", report.with_fit(Fit.FAIL, Fit.WARN, hint=True))
    _missing(sheet, report)
    _supplies(sheet, report)
    if details:
        _every_channel(sheet, report)
    if report.notes:
        sheet.heading("Remarks")
        for note in report.notes:
            sheet.say(f"- {note}", hanging=1)
    return str(sheet)


def render_list(limits: Limits, form: str, *, width: int = 80, colour: bool = False) -> str:
    """The table of limits: every value with its unit, its source, and how good that source is."""
    rows = [(n, f"{v.value:g}", v.unit, v.standing.value, v.source) for n, v in limits.items()]
    if form == "json":
        return as_json.plain([dict(zip(LIST_COLUMNS, row, strict=True)) for row in rows])
    if form == "csv":
        return table(LIST_COLUMNS, rows)
    sheet = Sheet(width, colour=colour)
    for name, value, unit, standing, source in rows:
        sheet.name(f"{name}: {value} {unit}", style="bold")
        sheet.say(f"{standing}: {source}", depth=1)
    sheet.gap()
    sheet.say('A site sets its own value in toneout.toml: a table [limits."<name>"] with value and reason.')
    return str(sheet)


def _csv(report: LimitsReport) -> str:
    rows: list[Sequence[str]] = [
        (_at(f.where), f.device, f.where.room, f.kind.value, f.severity.value, f.seen, "", "", "", "", "")
        for f in report.findings
    ]
    for row in report.rows:
        limit = "" if row.limit is None else f"{row.limit:g}"
        fit = "hint" if row.hint else row.fit.value
        rows.append(
            (row.channel, row.device, row.where.room, row.aspect, fit, row.because, limit, row.unit, row.standing,
             row.source, "; ".join(row.missing))
        )  # fmt: skip
    return table(COLUMNS, rows)


def _at(place: Place) -> str:
    return f"{place.switch}:{place.port}" if place.port else place.switch


def _head(sheet: Sheet, report: LimitsReport) -> None:
    sheet.name(report.site or "This site", style="bold")
    if report.taken:
        before = f", compared with {at_time(report.before)}" if report.before else ""
        sheet.say(f"As documented, and as the switches saw it on {at_time(report.taken)}{before}.")
    else:
        sheet.say("As documented.")
    bad = len({row.channel for row in report.with_fit(Fit.FAIL, Fit.WARN)})
    open_ = len({row.channel for row in report.rows if row.fit is Fit.UNKNOWN})
    sheet.say(
        f"{counted(report.channels, 'channel')}: {bad} beyond a limit, {open_} with something that cannot be judged.",
        style="bold",
    )


def _findings(sheet: Sheet, report: LimitsReport) -> None:
    if not report.findings:
        return
    sheet.heading("Seen by the switches")
    for finding in report.findings:
        sheet.name(f"{finding.kind.value}: {place_words(finding.where)}", depth=0, style="bold")
        sheet.row("map", finding.documented)
        sheet.row("seen", finding.seen)
        for row in finding.evidence[:_SHOWN]:
            sheet.row("proof", evidence_line(row))
        sheet.row("do", finding.advice)
        sheet.gap()


def _rows(sheet: Sheet, heading: str, rows: list[JudgedRow]) -> None:
    if not rows:
        return
    sheet.heading(heading)
    for row in rows:
        device = f" ({row.device})" if row.device else ""
        sheet.name(f"{row.aspect}: {row.channel}{device}", style="bold")
        sheet.row("is", row.because)
        sheet.row("why", row.physics)
        sheet.row("do", row.advice)
        limit = f"{row.limit:g} {row.unit}, " if row.limit is not None else ""
        sheet.row("limit", f"{limit}{row.standing}: {row.source}")
        sheet.gap()


def _missing(sheet: Sheet, report: LimitsReport) -> None:
    """What the record lacks, told once per aspect with the channels that it concerns."""
    groups: dict[tuple[str, tuple[str, ...]], list[str]] = defaultdict(list)
    for row in report.rows:
        if row.fit is Fit.UNKNOWN:
            groups[row.aspect, _general(row.missing)].append(row.channel)
    if not groups:
        return
    sheet.heading("Cannot be judged")
    for (aspect, missing), channels in sorted(groups.items(), key=lambda item: (item[0][0], -len(item[1]))):
        named = sorted(dict.fromkeys(channels), key=in_order)
        more = f" and {len(named) - _SHOWN} more" if len(named) > _SHOWN else ""
        sheet.say(f"{aspect}: missing is {', '.join(missing)}", hanging=1)
        sheet.name(f"{', '.join(named[:_SHOWN])}{more}", depth=1)


def _general(missing: tuple[str, ...]) -> tuple[str, ...]:
    """What is missing without the names of single parts, so that a hundred channels make one line."""
    kinds = ("fixed cable", "cord", "jack")
    found = []
    for text in missing:
        head, _, tail = text.partition(" of ")
        kind = next((k for k in kinds if tail.startswith(k)), "")
        if tail and head.startswith("the fastest speed"):
            found.append("the fastest speed of " + ("the port" if " port " in tail else "the device"))
        elif kind:
            found.append(f"{head} of the {kind}")
        elif text.startswith("whether "):
            found.append("whether cords and cables are crossed")
        else:
            found.append(text)
    return tuple(dict.fromkeys(found))


def _supplies(sheet: Sheet, report: LimitsReport) -> None:
    if not report.supplies:
        return
    sheet.heading("Power over Ethernet")
    for row in report.supplies:
        supply = "does not tell what it gives" if row.supply_watts is None else f"{row.supply_watts:g} W"
        planned = "" if row.planned_watts is None else f", {row.planned_watts:g} W planned by class"
        measured = "" if row.measured_watts is None else f", {row.measured_watts:g} W drawn now"
        sheet.say(f"{row.switch} supply {row.group}: {supply}{planned}{measured}; {row.fed}", hanging=1)
    sheet.gap()
    sheet.say(BUNDLE_CAUTION)


def _every_channel(sheet: Sheet, report: LimitsReport) -> None:
    sheet.heading("Every channel")
    by_channel: dict[str, list[JudgedRow]] = defaultdict(list)
    for row in report.rows:
        by_channel[row.channel].append(row)
    for channel in sorted(by_channel, key=in_order):
        sheet.name(channel, style="bold")
        for row in by_channel[channel]:
            fit = "hint" if row.hint else "cannot judge" if row.fit is Fit.UNKNOWN else row.fit.value
            sheet.row(fit, f"{row.aspect}: {row.because}", cells=13)
