"""`toneout cords` for people, programs and spreadsheets: which cords, what to order, what to write on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from reconcile.cautions import PATCHING
from reconcile.parts.cords import Line, Reuse, Wanted
from reconcile.parts.labels import Label
from reconcile.parts.plan import Cords
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import counted

COLUMNS = ("what", "label", "from", "to", "least m", "stock m", "category", "shield", "colour", "pieces", "remark")


def render(cords: Cords, form: str, *, width: int = 80, colour: bool = False) -> str:
    """One form: text, json or csv."""
    if form == "json":
        return as_json.plain(_content(cords))
    if form == "csv":
        return table(COLUMNS, _csv_rows(cords))
    sheet = Sheet(width, colour=colour)
    sheet.name(cords.site or "This site", style="bold")
    short = [cord for cord in cords.all if cord.short]
    get = [cord for cord in cords.all if cord.to_get]
    sheet.say(
        f"{counted(len(cords.all), 'cord')}; {len(get)} to get: without a length in the map, or shorter than the way."
    )
    _shorter(sheet, short)
    _reused(sheet, cords.reused)
    _order(sheet, cords)
    _budget(sheet, cords.all)
    _missing(sheet, cords.all)
    for text in cords.lacking:
        sheet.gap()
        sheet.say(f"Not enough: {text}.", style="red")
    _labels(sheet, cords.labels)
    sheet.heading("Before you start")
    for text in PATCHING:
        sheet.say(f"- {text}", hanging=1)
    return str(sheet)


def _shorter(sheet: Sheet, short: Sequence[Wanted]) -> None:
    if not short:
        return
    sheet.heading("Shorter than the way")
    for cord in short:
        sheet.say(f"{_name(cord)} has {cord.there_m:g} m, the way is {cord.least_m:g} m at least", hanging=1)


def _reused(sheet: Sheet, reused: Sequence[Reuse]) -> None:
    if not reused:
        return
    sheet.heading("Used again")
    for one in reused:
        sheet.say(f"cord {one.label}, {one.length_m:g} m, for {one.to.a} to {one.to.b}", hanging=1)


def _order(sheet: Sheet, cords: Cords) -> None:
    assumed = sum(cord.assumed and cord.to_get for cord in cords.all)
    sheet.heading("Everything anew" if cords.anew else "To order")
    if not cords.order:
        sheet.say("Nothing.")
    for line in cords.order:
        spares = f", {line.spares} of them spare" if line.spares else ""
        sheet.say(f"{line.pieces} x {_kind(line)}{spares}", hanging=1)
    if assumed:
        sheet.gap()
        sheet.say(f"{counted(assumed, 'cord')} to devices: at_device_m of [cords] is taken for their length.")


def _kind(line: Line) -> str:
    length = "length unknown" if line.length_m is None else f"{line.length_m:g} m"
    category = f"Category {line.category}" if line.category[:1].isdigit() else line.category
    return ", ".join(text for text in (length, category or "category unknown", line.shield, line.colour) if text)


def _budget(sheet: Sheet, all_cords: Sequence[Wanted]) -> None:
    beyond = [cord for cord in all_cords if cord.budget]
    if beyond:
        sheet.heading("Too long for the channel")
    for cord in beyond:
        sheet.say(f"{_name(cord)}: {cord.budget}", hanging=1)


def _missing(sheet: Sheet, all_cords: Sequence[Wanted]) -> None:
    """What the map lacks to measure a cord, once with the number of cords that it concerns."""
    groups: dict[tuple[str, ...], list[Wanted]] = defaultdict(list)
    for cord in all_cords:
        if cord.missing and cord.there_m is None:
            groups[cord.missing].append(cord)
    if groups:
        sheet.heading("Cannot be measured")
    for missing, cords in groups.items():
        sheet.say(f"{counted(len(cords), 'cord')}: missing is {', '.join(missing)}", hanging=1)


def _labels(sheet: Sheet, labels: Sequence[Label]) -> None:
    if not labels:
        return
    sheet.heading("Labels")
    for label in labels:
        sheet.name(f"{label.kind} {label.a} to {label.b}")
        sheet.row("at one", label.at_a, whole=True)
        sheet.row("other", label.at_b, whole=True)
        if label.problem:
            sheet.row("mind", label.problem, style="yellow")


def _name(cord: Wanted) -> str:
    label = f"cord {cord.label}" if cord.label else "the cord"
    return f"{label} from {cord.a} to {cord.b}"


def _csv_rows(cords: Cords) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = []
    for cord in cords.all:
        remark = "; ".join(text for text in (*cord.missing, cord.budget) if text)
        what = "to get" if cord.to_get else "there"
        rows.append((what, cord.label, cord.a, cord.b, _number(cord.least_m), _number(cord.stock_m), cord.category,
                     cord.shield, cord.colour, "1", remark))  # fmt: skip
    rows += [
        ("order", "", "", "", "", _number(line.length_m), line.category, line.shield, line.colour, str(line.pieces),
         f"{line.spares} spare")
        for line in cords.order
    ]  # fmt: skip
    for label in cords.labels:
        rows.append(("label", label.at_a, label.a, label.b, "", "", "", "", "", "", label.problem))
        rows.append(("label", label.at_b, label.b, label.a, "", "", "", "", "", "", label.problem))
    return rows


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _content(cords: Cords) -> dict[str, object]:
    return {
        "schema_version": 1,
        "site": cords.site,
        "cords": [cord._asdict() | {"to_get": cord.to_get, "short": cord.short} for cord in cords.all],
        "order": [line._asdict() for line in cords.order],
        "reused": [{"label": r.label, "length_m": r.length_m, "a": r.to.a, "b": r.to.b} for r in cords.reused],
        "lacking": list(cords.lacking),
        "labels": [label._asdict() for label in cords.labels],
    }
