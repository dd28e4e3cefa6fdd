"""The outcome of `toneout check`, and the columns that a patch map may have, for people, programs and spreadsheets."""

from __future__ import annotations

from collections.abc import Sequence

from reconcile.patchmap.columns import ColumnHelp
from reconcile.patchmap.model import Fault, PatchMap, Severity
from reconcile.patchmap.to_fill import TO_FILL, ToFill, columns_counted
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import counted

FAULT_COLUMNS = ("file", "sheet", "row", "column", "severity", "problem", "what to do", "code")
MOST_ALIKE = 20
"""Faults of one kind in one file that the text lists; the others are counted. JSON and CSV have them all."""
HELP_COLUMNS = ("table", "column", "required", "meaning", "example", "also read as")


def render(
    patch_map: PatchMap | None,
    faults: Sequence[Fault],
    form: str,
    gaps: Sequence[ToFill] = (),
    *,
    width: int = 80,
    colour: bool = False,
    most: int | None = MOST_ALIKE,
) -> str:
    """Every fault, and what a person has still to fill in. `patch_map` is None when it could not be read at all; `form`
    is text, json or csv. The text lists `most` faults of a kind in each file, all of them where that is None."""
    if form == "csv":
        return table(FAULT_COLUMNS, (list(row.values()) for row in (*map(_fields, faults), *map(_gap_fields, gaps))))
    if form == "json":
        to_fill = [{"record": str(g.origin), "about": g.about, "columns": list(g.columns)} for g in gaps]
        found = {"rows": _rows(patch_map), "faults": [_fields(f) for f in faults], "to_fill": to_fill}
        return as_json.plain({"schema_version": 1, **found})
    sheet = Sheet(width, colour=colour)
    _faults(sheet, faults, most)
    _gaps(sheet, gaps, most)
    sheet.gap()
    _summary(sheet, patch_map, faults)
    return str(sheet)


def render_columns(columns: Sequence[ColumnHelp], form: str, *, width: int = 80, colour: bool = False) -> str:
    """What each table may hold."""
    rows = [_help_fields(column) for column in columns]
    if form == "csv":
        return table(HELP_COLUMNS, (list(row.values()) for row in rows))
    if form == "json":
        return as_json.plain(rows)
    sheet = Sheet(width, colour=colour)
    shown = ""
    for column in columns:
        if column.table != shown:
            shown = column.table
            sheet.heading(shown)
        needed = " (needed)" if column.required else ""
        sheet.name(f"{column.name}{needed}", depth=1, style="bold")
        sheet.say(f"{column.meaning}; for example {column.example}", depth=3)
        if column.synonyms:
            sheet.say(f"also read: {', '.join(column.synonyms)}", depth=3)
    sheet.gap()
    sheet.say("Any other column is yours: it is kept, and never a fault. A heading that is not in this list can be")
    sheet.say("given in the [map.columns] table of toneout.toml.")
    return str(sheet)


def _faults(sheet: Sheet, faults: Sequence[Fault], most: int | None) -> None:
    """Faults by file, in the order of rows; errors and warnings are told apart by word."""
    for file in dict.fromkeys(fault.origin.file for fault in faults):
        sheet.gap()
        sheet.name(file or "The map as a whole", style="bold")
        mine = [fault for fault in faults if fault.origin.file == file]
        alike: dict[str, list[Fault]] = {}
        for fault in sorted(mine, key=lambda f: (f.origin.sheet, f.origin.row or 0)):
            alike.setdefault(fault.code, []).append(fault)
            if most is None or len(alike[fault.code]) <= most:
                sheet.gap()
                sheet.name(_place(fault), depth=1, style="red" if fault.severity is Severity.ERROR else "yellow")
                sheet.say(fault.problem, depth=2)
                if fault.hint:
                    sheet.row("do", fault.hint, depth=2)
        for left in (of_a_kind[most:] for of_a_kind in alike.values() if most is not None):
            if left:
                sheet.gap()
                sheet.name(f"{_more_like(left)} (toneout check --all lists them)", depth=1)


def _more_like(faults: Sequence[Fault]) -> str:
    """`and 2980 more errors of this kind, unknown-switch, in rows 22 to 3001`."""
    rows = [fault.origin.row for fault in faults if fault.origin.row is not None]
    where = f", in rows {min(rows)} to {max(rows)}" if rows else ""
    return f"and {counted(len(faults), f'more {faults[0].severity.value}')} of the kind {faults[0].code}{where}"


def _gaps(sheet: Sheet, gaps: Sequence[ToFill], most: int | None) -> None:
    """Rows that a person has still to complete, and how many there are of each column."""
    if not gaps:
        return
    sheet.heading("Still to fill in")
    counts = ", ".join(f"{column} {number}" for column, number in columns_counted(gaps))
    sheet.say(f"{counted(len(gaps), 'row')}: {counts}. A gap is no fault; what does not apply, delete from its cell.")
    sheet.gap()
    for gap in gaps[:most]:
        sheet.row(f"row {gap.origin.row}", f"{gap.about}: {', '.join(gap.columns)}")
    if most is not None and len(gaps) > most:
        sheet.say(f"and {counted(len(gaps) - most, 'more row')} (toneout check --all lists them)", depth=1)


def _gap_fields(gap: ToFill) -> dict[str, str]:
    row = "" if gap.origin.row is None else str(gap.origin.row)
    told = ("to fill", f"{gap.about}: {', '.join(gap.columns)}", "fill these columns in, or delete the word", "to-fill")
    return dict(zip(FAULT_COLUMNS, (gap.origin.file, gap.origin.sheet, row, TO_FILL, *told), strict=True))


def _place(fault: Fault) -> str:
    toml = fault.origin.file.endswith(".toml")
    row = f"{'line' if toml else 'row'} {fault.origin.row}" if fault.origin.row is not None else ""
    column = f"{'key' if toml else 'column'} {fault.column}" if fault.column else ""
    parts = (f"sheet {fault.origin.sheet}" if fault.origin.sheet else "", row, column)
    return f"{fault.severity.value}: {', '.join(part for part in parts if part) or 'as a whole'}"


def _summary(sheet: Sheet, patch_map: PatchMap | None, faults: Sequence[Fault]) -> None:
    errors = sum(fault.severity is Severity.ERROR for fault in faults)
    if patch_map is not None:
        read = ", ".join(counted(n, *_NAMES[name]) for name, n in _rows(patch_map).items() if n)
        sheet.say(f"Read: {read or 'nothing'}.")
    if not faults:
        sheet.say("No fault found.", style="green")
        return
    found = [counted(errors, "error")] if errors else []
    found += [counted(len(faults) - errors, "warning")] if len(faults) > errors else []
    meaning = "rows with an error cannot be used" if errors else "the map can be used as it is"
    sheet.say(f"Found {' and '.join(found)}: {meaning}.", style="bold")


_NAMES = {
    "switches": ("switch", "switches"),
    "panels": ("panel",),
    "outlets": ("outlet",),
    "fixed_cables": ("fixed cable",),
    "cords": ("cord",),
    "devices": ("device",),
}


def _rows(patch_map: PatchMap | None) -> dict[str, int]:
    return {name: len(getattr(patch_map, name)) for name in _NAMES} if patch_map is not None else {}


def _fields(fault: Fault) -> dict[str, str]:
    row = "" if fault.origin.row is None else str(fault.origin.row)
    place = (fault.origin.file, fault.origin.sheet, row, fault.column)
    return dict(zip(FAULT_COLUMNS, (*place, fault.severity.value, fault.problem, fault.hint, fault.code), strict=True))


def _help_fields(column: ColumnHelp) -> dict[str, str]:
    needed = "yes" if column.required else ""
    fields = (column.table, column.name, needed, column.meaning, column.example, ", ".join(column.synonyms))
    return dict(zip(HELP_COLUMNS, fields, strict=True))
