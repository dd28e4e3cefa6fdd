"""Reads a patch map in any of its three forms into one model.

(a) `form = "tables"`: a folder of CSV files switches, panels, outlets, fixed-cables, cords, devices;
(b) `form = "workbook"`: the same tables as sheets of one .xlsx;
(c) `form = "schedule"`: one flat table, CSV or .xlsx, a row per channel.

Headings match in any case, blanks, hyphens and underscores alike, and by the usual synonyms; [map.columns] in
toneout.toml names any others. Columns that are not ours are kept. Above the headings there may be a title. A row whose
first cell starts with "# " and that has nothing else is a comment.

The columns of each table (* needed): name, meaning, example.

switches
    name*        the switch, as [[switch]] in toneout.toml calls it (SW-1)
    model        maker's model (48 x 1 Gbit/s)
    room         room it is in (Wet lab)
    rack         rack or cabinet (R1)
    unit         height unit in the rack (38)
    ports        its ports as it names them; any name is taken when empty (Gi1/0/1-48, Te1/1/1-4)
    note         anything; kept (moved for the flood)
panels
    name*        the patch panel (PP-A)
    jacks*       how many jacks, or their names in order (24)
    room         room it is in (Wet lab)
    rack         rack or cabinet (R1)
    unit         height unit in the rack (38)
    face         front or rear of the rack (front)
    category     category of copper, or grade of fibre such as OM4 (6A)
    shield       screening, in the form of ISO/IEC 11801 (U/FTP)
    crossed      fibre: yes when its two positions change places (yes)
    note         anything; kept (moved for the flood)
outlets
    name*        the outlet plate (WL-01)
    room         room it is in (Wet lab)
    jacks        how many jacks, or their names in order; 1 when empty (2)
    category     category of copper, or grade of fibre such as OM4 (6A)
    shield       screening, in the form of ISO/IEC 11801 (U/FTP)
    crossed      fibre: yes when its two positions change places (yes)
    note         anything; kept (moved for the flood)
fixed-cables
    label        what is written on it; T1-T24 for a range (FC-07)
    a*           one end, NAME:POSITION or a range of positions (PP-A:7)
    b*           the other end, as many positions as the first (WL-01:1)
    category     category of copper, or grade of fibre such as OM4 (6A)
    shield       screening, in the form of ISO/IEC 11801 (U/FTP)
    gauge_awg    conductor size, AWG (24)
    length_m     length in metres; m, cm or ft may follow (42.5)
    temperature_c warmest degrees Celsius along the cable (35)
    crossed      fibre: yes when its two positions change places (yes)
    note         anything; kept (moved for the flood)
cords
    label        what is written on it (C-112)
    a*           one end, NAME:POSITION (SW-1:Gi1/0/7)
    b*           the other end, NAME:POSITION (PP-A:7)
    category     category of copper, or grade of fibre such as OM4 (6A)
    shield       screening, in the form of ISO/IEC 11801 (U/FTP)
    gauge_awg    conductor size, AWG (24)
    length_m     length in metres; m, cm or ft may follow (42.5)
    colour       colour of its jacket, your own scheme (blue)
    crossed      fibre: yes when its two positions change places (yes)
    note         anything; kept (moved for the flood)
devices
    name*        the device (DOSING-PUMP-2)
    kind         what it is; decides `carries` where that is empty (phone)
    macs         MAC addresses in any spelling, blank, comma or semicolon between (00:00:5e:00:53:1a)
    carries      yes when others behind it are expected (yes)
    at           where it is plugged in when its cord has no row (WL-01:1)
    room         room it is in (Wet lab)
    owner        who answers for it (Aquarium team)
    note         anything; kept (moved for the flood)
schedule
    outlet       outlet in the room, NAME or NAME:JACK; or another device's DEVICE:SOCKET (WL-01:1)
    panel        patch panel, where the jack column has the position alone (PP-A)
    jack         panel jack, PANEL:JACK, or the position alone (PP-A:7)
    switch       switch (SW-1)
    port         port of the switch, as it names it (Gi1/0/7)
    device       device, NAME or NAME:SOCKET; or another switch's SWITCH:PORT (DOSING-PUMP-2)
    macs         MAC addresses in any spelling, blank, comma or semicolon between (00:00:5e:00:53:1a)
    far_jack     jack of a second panel that is tied to the first; the device is plugged in there (PP-R:7)
    room         room it is in (Wet lab)
    cord         label of the cord at the switch (C-112)
    cable        label of the fixed cable (FC-07)
    device_cord  label of the cord at the device (W-31)
    kind         what the device is; decides `carries` where that is empty (phone)
    carries      yes when others behind it are expected (yes)
    owner        who answers for the device (Aquarium team)
    category     category of copper, or grade of fibre such as OM4 (6A)
    shield       screening, in the form of ISO/IEC 11801 (U/FTP)
    length_m     length in metres; m, cm or ft may follow (42.5)
    note         anything; kept (moved for the flood)
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from reconcile.patchmap.columns import TABLES, describe_columns, listed, table_of
from reconcile.patchmap.grids import Grid, csv_grid, read_bytes
from reconcile.patchmap.headings import Reading, best_score, known_headings
from reconcile.patchmap.lines import read_lines
from reconcile.patchmap.messages import fault, quoted, suggestion
from reconcile.patchmap.model import Fault, Origin, PatchMap, fold
from reconcile.patchmap.schedule import read_schedule
from reconcile.patchmap.tables import add_row
from reconcile.patchmap.workbook import open_workbook
from reconcile.site import MapSource, Site

__all__ = ["describe_columns", "read_map"]


def read_map(site: Site) -> tuple[PatchMap, tuple[Fault, ...]]:
    """The site's patch map as far as it can be read, and every fault of its files and cells."""
    source, faults = site.map, list[Fault]()
    reading = reading_of(site)
    patch_map = PatchMap(site=site.name, form=source.form)
    if source.form == "schedule":
        grid = schedule_grid(source, reading, faults)
        if grid:
            read_schedule(read_lines(grid, "schedule", reading, faults), patch_map)
    else:
        grids = _tables(source, reading, faults) if source.form == "tables" else table_sheets(source, faults)
        for table in TABLES:
            if table in grids:
                for line in read_lines(grids[table], table, reading, faults):
                    add_row(patch_map, table, line)
    return patch_map, tuple(dict.fromkeys(faults))


def reading_of(site: Site) -> Reading:
    """What readers of this site's map need beside its cells."""
    return Reading(
        columns=site.map.columns,
        nothing=frozenset(map(fold, site.settings.nothing_words)),
        carrying=frozenset(map(fold, site.settings.carrying_kinds)),
    )


def schedule_grid(source: MapSource, reading: Reading, faults: list[Fault]) -> Grid | None:
    """The rows of a flat schedule, whichever kind of file it is."""
    name, score = source.path.name[:MAX_FILE_NAME], known_headings("schedule", reading)
    data = read_bytes(source.path, name)
    if isinstance(data, Fault):
        faults.append(data)
        return None
    if source.path.suffix.lower() not in WORKBOOKS:
        return csv_grid(data, name, source.encoding, score)
    sheets = open_workbook(data, name)
    if isinstance(sheets, Fault):
        faults.append(sheets)
        return None
    if source.sheet:
        return _sheet(sheets, source.sheet, name, faults)
    return max(sheets.values(), key=lambda grid: best_score(grid, score), default=None)


def table_sheets(source: MapSource, faults: list[Fault]) -> dict[str, Grid]:
    """The sheets of a workbook that are tables. Other sheets are the user's own business."""
    name = source.path.name[:MAX_FILE_NAME]
    data = read_bytes(source.path, name)
    sheets = data if isinstance(data, Fault) else open_workbook(data, name)
    if isinstance(sheets, Fault):
        faults.append(sheets)
        return {}
    found: dict[str, Grid] = {}
    for table, title in source.tables.items():
        if grid := _sheet(sheets, title, name, faults):
            found[table] = grid
    for title, grid in sheets.items():
        table = table_of(title)
        if table and table not in source.tables and (first := found.setdefault(table, grid)) is not grid:
            faults.append(fault("table-twice", grid.origin(), table=table, other=f"sheet {first.sheet}"))
    if not found:
        faults.append(fault("no-tables", Origin(name), expected="sheets " + listed(TABLES)))
    return found


def _sheet(sheets: Mapping[str, Grid], title: str, name: str, faults: list[Fault]) -> Grid | None:
    for other, grid in sheets.items():
        if fold(other) == fold(title):
            return grid
    hint = suggestion(title, sheets, "it has " + listed(quoted(sheet) for sheet in list(sheets)[:8]))
    faults.append(fault("no-sheet", Origin(name), sheet=quoted(title), suggestion=hint))
    return None


def _tables(source: MapSource, reading: Reading, faults: list[Fault]) -> dict[str, Grid]:
    """The CSV files of a folder that are tables."""
    grids: dict[str, Grid] = {}
    for table, path in table_files(source, faults).items():
        data = read_bytes(path, path.name)
        if isinstance(data, Fault):
            faults.append(data)
        else:
            grids[table] = csv_grid(data, path.name, source.encoding, known_headings(table, reading))
    return grids


def table_files(source: MapSource, faults: list[Fault]) -> dict[str, Path]:
    """The file of each table. Another .csv is probably a misspelt one, which is said."""
    files = {table: source.path / name for table, name in source.tables.items()}
    named = {path.name for path in files.values()}
    try:
        paths = sorted(source.path.iterdir())
    except OSError:
        faults.append(
            fault("map-missing", Origin(source.path.name[:MAX_FILE_NAME]), what="folder with the tables of the map")
        )
        return {}
    for path in paths:
        ending = path.suffix.lower()
        table = table_of(path.stem) if ending in _CSV else ""
        if path.name in named or table in source.tables:
            continue
        if table and (first := files.setdefault(table, path)) is not path:
            faults.append(fault("table-twice", Origin(path.name), table=table, other=first.name))
        elif not table and ending in (".csv", ".tsv"):
            hint = suggestion(path.stem, (t.replace("_", "-") for t in TABLES), "name it in [map.tables]")
            faults.append(fault("unknown-table", Origin(path.name), suggestion=hint))
    if not files:
        expected = listed(f"{table.replace('_', '-')}.csv" for table in TABLES)
        faults.append(fault("no-tables", Origin(source.path.name[:MAX_FILE_NAME]), expected=expected))
    return files


MAX_FILE_NAME = 255  # what file systems take; toneout.toml may say more
_CSV = (".csv", ".tsv", ".txt")
WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
