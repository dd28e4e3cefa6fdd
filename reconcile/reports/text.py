"""The report for people. It leads with causes, then the findings by kind, then what could not be looked at.

Plain sentences in the words of the trade; whoever stands before the rack reads what the map says, what was seen, by
which evidence, and what to do. Meaning never rests on colour alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime

from reconcile.findings import ChannelVerdict, Finding, Kind, Severity, Verdict
from reconcile.reports.layout import Sheet
from reconcile.reports.words import age, at_time, counted, evidence_line, history_words, in_order, place_words
from reconcile.result import Cause, CoverageGap, Result, WaivedFinding

_WORST_FIRST = list(Severity)
_KIND_ORDER = list(Kind)
_STYLE = {Severity.HIGH: "bold red", Severity.MEDIUM: "yellow", Severity.LOW: "faint"}
_MEANS = {
    Kind.UNEXPECTED_LINK: "a link where the map has nothing",
    Kind.DEAD_PORT: "no link where the map has a device",
    Kind.SHUT_PORT: "switched off by configuration where the map has a device",
    Kind.MOVED_DEVICE: "plugged in elsewhere than the map says",
    Kind.OTHER_DEVICE: "not the device that the map says",
    Kind.UNDOCUMENTED_DEVICE: "the map does not know it",
    Kind.UPLINK_ELSEWHERE: "a link between switches that leads elsewhere than the map says",
    Kind.PORT_NOT_FOUND: "the map names a port that the switch does not have",
    Kind.SLOW_LINK: "slower than in its own past, or than both ends and the channel allow",
    Kind.DUPLEX_MISMATCH: "one end runs full, the other half duplex",
    Kind.RISING_ERRORS: "frames arrive damaged",
    Kind.POWER_BUDGET: "a supply may have to refuse a device",
}
_VERDICT_MEANS = {
    Verdict.CONFIRMED: "confirmed",
    Verdict.CONTRADICTED: "contradicted",
    Verdict.SILENT: "silent (looked at, nothing to see either way)",
    Verdict.UNCHECKED: "unchecked (could not look)",
}
MOST_ALIKE = 20
"""Causes, or findings, of one kind that are listed; the others are counted. JSON, CSV and workbook have them all."""
_LISTS_ALL = "toneout reconcile --all lists them; --format json or csv as well"
_EVIDENCE_SHOWN = 4
_CHANNELS_SHOWN = 8
_REASONS_SHOWN = 12
_SWITCHES_NAMED = 6


def render(
    result: Result,
    *,
    width: int = 80,
    colour: bool = False,
    now: datetime | None = None,
    most: int | None = MOST_ALIKE,
) -> str:
    """The whole report. `now` adds how old the snapshot is; `width` in terminal cells; without `most` all is listed."""
    sheet = Sheet(width, colour=colour)
    _head(sheet, result, now)
    tell_causes(sheet, result.causes, most)
    _findings(sheet, result, most)
    _verdicts(sheet, result, most)
    tell_gaps(sheet, result.gaps, most)
    tell_waived(sheet, result.waived, most)
    if result.notes:
        sheet.heading("Remarks")
        for note in result.notes[:most]:
            sheet.say(f"- {note}", hanging=1)
        _and_more(sheet, len(result.notes[:most]), len(result.notes), "remark")
    return str(sheet)


def _head(sheet: Sheet, result: Result, now: datetime | None) -> None:
    sheet.name(result.site or "This site", style="bold")
    ago = f", {age(now - result.taken)}" if now else ""
    sheet.say(f"As the switches saw it on {at_time(result.taken)}{ago}.")
    answered = f"{result.switches_answered} of {counted(result.switches_asked, 'switch', 'switches')} answered"
    sheet.say(f"{answered}; {counted(result.stations_seen, 'station')} seen, {result.stations_placed} of them placed.")
    sheet.gap()
    if result.findings:
        sheet.say(_drift(result), style="bold")
        _overview(sheet, result)
    elif result.gaps:
        sheet.say("No difference from the map was seen, but not everything could be looked at.", style="yellow")
    else:
        sheet.say("The network is as the map says.", style="green")


def _drift(result: Result) -> str:
    explained = {key for cause in result.causes for key in cause.findings} & {f.key for f in result.findings}
    total = counted(len(result.findings), "difference") + " between the map and the network"
    if not explained:
        return total + "."
    causes = counted(len(result.causes), "cause")
    verb = "explains" if len(result.causes) == 1 else "explain"
    which = "all of them" if len(explained) == len(result.findings) else f"{len(explained)} of them"
    return f"{total}; {causes} {verb} {which}."


def _overview(sheet: Sheet, result: Result) -> None:
    """What happened, by kind, and which command makes a list for the hands of it."""
    if len(result.causes) > 1:
        sure = sum(cause.sure for cause in result.causes)
        how_sure = "all are sure" if sure == len(result.causes) else f"{sure or 'none'} of them sure, the others likely"
        sheet.say(f"By kind: {_by_kind(result.causes)}; {how_sure}.")
    if result.causes:
        sheet.say("toneout todo lists what to do by hand, in order.")


def _by_kind(causes: Iterable[Cause]) -> str:
    return ", ".join(f"{count} {kind}" for kind, count in Counter(cause.kind for cause in causes).items())


def _and_more(sheet: Sheet, shown: int, total: int, one: str, told: str = "") -> None:
    """How many were left out, and where they are."""
    if total > shown:
        sheet.gap()
        sheet.say(f"And {counted(total - shown, f'more {one}')}{told and f': {told}'} ({_LISTS_ALL}).", depth=1)


def tell_causes(sheet: Sheet, causes: list[Cause], most: int | None = MOST_ALIKE) -> None:
    """The stories, numbered, each with the movements that undo it; so many of a kind at most."""
    if not causes:
        return
    sheet.heading("Causes")
    told: Counter[str] = Counter()
    left: list[Cause] = []
    for number, cause in enumerate(causes, 1):
        if most is not None and told[cause.kind] >= most:
            left.append(cause)
            continue
        told[cause.kind] += 1
        sheet.gap()
        sure = "." if cause.sure else " (likely, not proven)."
        sheet.say(f"{number}. {cause.story.rstrip('.')}{sure}", hanging=2, style="bold")
        for caution in cause.cautions:
            sheet.row("mind", caution, depth=2)
        for step, movement in enumerate(cause.undo, 1):
            sheet.row("undo" if step == 1 else "", f"{step}. {movement}" if len(cause.undo) > 1 else movement, depth=2)
        for other in cause.same_in_effect:
            sheet.row("or", other, depth=2)
        if cause.decides:
            sheet.row("tell by", cause.decides, depth=2)
        sheet.row("from", ", ".join(cause.findings[:most]), depth=2, whole=True)
        if len(cause.findings[:most]) < len(cause.findings):
            sheet.row("", f"and {len(cause.findings[most:])} more", depth=2)
    _and_more(sheet, len(causes) - len(left), len(causes), "cause", _by_kind(left))


def _findings(sheet: Sheet, result: Result, most: int | None) -> None:
    if not result.findings:
        return
    causes = {key: n for n, cause in enumerate(result.causes, 1) for key in cause.findings}
    sheet.heading("Differences")
    for (severity, kind), findings in _groups(result.findings):
        sheet.gap()
        meaning = f": {_MEANS[kind]}" if kind in _MEANS else ""
        sheet.say(f"{kind.value.capitalize()} ({len(findings)}, {severity.value}){meaning}", style="bold")
        for finding in findings[:most]:
            sheet.gap()
            tell_finding(sheet, finding, causes.get(finding.key))
        shown = len(findings[:most])
        _and_more(sheet, shown, len(findings), "difference", _on_switches(findings[shown:]))


def _on_switches(findings: Iterable[Finding]) -> str:
    """`48 on sw-7, 12 on sw-9 and some on 3 other switches`."""
    counts = Counter(finding.where.switch for finding in findings if finding.where.switch).most_common()
    named = ", ".join(f"{count} on {switch}" for switch, count in counts[:_SWITCHES_NAMED])
    others = len(counts) - _SWITCHES_NAMED
    return f"{named} and some on {counted(others, 'other switch', 'other switches')}" if others > 0 else named


def _groups(findings: list[Finding]) -> Iterable[tuple[tuple[Severity, Kind], list[Finding]]]:
    """Findings of one severity and kind together, worst first, and in the order of switches and ports."""
    groups: dict[tuple[Severity, Kind], list[Finding]] = {}
    for finding in sorted(findings, key=_rank):
        groups.setdefault((finding.severity, finding.kind), []).append(finding)
    return groups.items()


def _rank(finding: Finding) -> tuple[object, ...]:
    at = finding.where
    weight = _WORST_FIRST.index(finding.severity), _KIND_ORDER.index(finding.kind)
    return *weight, in_order(at.switch), in_order(at.port), finding.key


def tell_finding(sheet: Sheet, finding: Finding, cause: int | None) -> None:
    """Everything about one finding. `cause` is the number of the cause that explains it."""
    device = f"{finding.device}: " if finding.device else ""
    sheet.name(f"{device}{place_words(finding.where)}", depth=1, style=_STYLE[finding.severity])
    record = f" ({finding.where.origin})" if finding.where.origin else ""
    sheet.row("map", finding.documented + record, depth=2)
    sheet.row("seen", finding.seen, depth=2)
    if finding.moved_to:
        sheet.row("now at", place_words(finding.moved_to), depth=2, whole=True)
    unnamed = [mac for mac in finding.macs if mac not in finding.seen]
    if unnamed:
        sheet.row("address", ", ".join(unnamed), depth=2, whole=True)
    for number, row in enumerate(finding.evidence[:_EVIDENCE_SHOWN]):
        sheet.row("" if number else "proof", evidence_line(row), depth=2)
    if len(finding.evidence) > _EVIDENCE_SHOWN:
        more = counted(len(finding.evidence) - _EVIDENCE_SHOWN, "more row")
        sheet.row("", f"and {more} (--format json shows all)", depth=2)
    if history := history_words(finding):
        sheet.row("since", history, depth=2)
    sheet.row("do", finding.advice, depth=2)
    explained = f", explained by {cause}" if cause else ""
    sheet.row("key", f"{finding.key}{explained}", depth=2, whole=True)


def _verdicts(sheet: Sheet, result: Result, most: int | None) -> None:
    if not result.verdicts:
        return
    sheet.heading("Documented channels")
    for verdict in Verdict:
        if number := result.count(verdict):
            sheet.row(str(number), _VERDICT_MEANS[verdict], depth=0)
        if verdict in (Verdict.SILENT, Verdict.UNCHECKED):
            _reasons(sheet, [v for v in result.verdicts if v.verdict is verdict], most)


def _reasons(sheet: Sheet, verdicts: list[ChannelVerdict], most: int | None) -> None:
    """Channels that nothing is known of, by the reason; the reasons of most channels first where there are many."""
    alike: dict[str, list[str]] = {}
    for verdict in verdicts:
        alike.setdefault(verdict.because, []).append(verdict.channel)
    reasons = list(alike.items())
    if most is not None and len(reasons) > _REASONS_SHOWN:
        reasons = sorted(reasons, key=lambda reason: -len(reason[1]))[:_REASONS_SHOWN]
    for because, channels in reasons:
        named = _some(sorted(channels, key=in_order), None if most is None else _CHANNELS_SHOWN)
        sheet.row("", f"{named}: {because}", depth=0)
    if len(reasons) < len(alike):
        sheet.row("", f"and {len(alike) - len(reasons)} more reasons ({_LISTS_ALL})", depth=0)


def _some(names: list[str], most: int | None) -> str:
    more = f" and {len(names[most:])} more" if most is not None and len(names) > most else ""
    return ", ".join(names[:most]) + more


def tell_waived(sheet: Sheet, waived: list[WaivedFinding], most: int | None = MOST_ALIKE) -> None:
    """Accepted findings, a line and a reason each."""
    if waived:
        sheet.heading("Accepted for now")
    for one in waived[:most]:
        device = f"{one.finding.device}: " if one.finding.device else ""
        sheet.name(f"{one.finding.kind.value}, {device}{place_words(one.finding.where)}", depth=1)
        sheet.row("until", f"{one.until}: {one.reason}", depth=2)
        sheet.row("key", one.finding.key, depth=2, whole=True)
    _and_more(sheet, len(waived[:most]), len(waived), "difference")


def tell_gaps(sheet: Sheet, gaps: list[CoverageGap], most: int | None = MOST_ALIKE) -> None:
    """What could not be looked at, alike ones together."""
    if not gaps:
        return
    sheet.heading("What could not be looked at")
    alike: dict[tuple[str, str, str, str], list[str]] = {}
    for gap in gaps:
        alike.setdefault((gap.table, gap.state, gap.reason, gap.hint), []).append(gap.switch)
    for (table, state, reason, hint), switches in alike.items():
        sheet.name(_some(sorted(switches, key=in_order), most) + (f": {table}" if table else ""), depth=1)
        sheet.row("why", f"{state}: {reason}" if reason else state, depth=2)
        if hint:
            sheet.row("try", hint, depth=2)
