"""Reads a patch map in any of its three forms into one model.

(a) `form = "tables"`: a folder of CSV files switches, panels, outlets, fixed-cables, cords, devices;
(b) `form = "workbook"`: the same tables as sheets of one .xlsx;
(c) `form = "schedule"`: one flat table, CSV or .xlsx, a row per channel.

COLUMNS

Headings match in any case, blanks and underscores alike, and by usual synonyms; [map.columns] in toneout.toml names
any other. Columns that are not ours are kept. A row whose first cell starts with "# " and that has nothing else is a
comment.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from reconcile.patchmap.columns import TABLES, describe_columns, listed, table_of
from reconcile.patchmap.grids import Grid, csv_grid, read_bytes
from reconcile.patchmap.lines import Reading, known_headings, read_lines
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
    reading = Reading(
        columns=source.columns,
        nothing=frozenset(map(fold, site.settings.nothing_words)),
        carrying=frozenset(map(fold, site.settings.carrying_kinds)),
    )
    patch_map = PatchMap(site=site.name, form=source.form)
    if source.form == "schedule":
        grid = _schedule_grid(source, reading, faults)
        if grid:
            read_schedule(read_lines(grid, "schedule", reading, faults), patch_map)
    else:
        grids = _tables(source, reading, faults) if source.form == "tables" else _sheets(source, faults)
        for table in TABLES:
            if table in grids:
                for line in read_lines(grids[table], table, reading, faults):
                    add_row(patch_map, table, line)
    return patch_map, tuple(dict.fromkeys(faults))


def _schedule_grid(source: MapSource, reading: Reading, faults: list[Fault]) -> Grid | None:
    name = source.path.name
    data = read_bytes(source.path, name)
    if isinstance(data, Fault):
        faults.append(data)
        return None
    if not _is_workbook(source.path):
        return csv_grid(data, name, source.encoding, known_headings("schedule", reading))
    sheets = open_workbook(data, name)
    if isinstance(sheets, Fault):
        faults.append(sheets)
        return None
    if not source.sheet:
        return next(iter(sheets.values()), None)
    return _sheet(sheets, source.sheet, name, faults)


def _is_workbook(path: Path) -> bool:
    return path.suffix.lower() in (".xlsx", ".xlsm", ".xls", ".ods")


def _sheet(sheets: Mapping[str, Grid], title: str, name: str, faults: list[Fault]) -> Grid | None:
    for other, grid in sheets.items():
        if fold(other) == fold(title):
            return grid
    hint = suggestion(title, sheets, "it has " + listed(quoted(sheet) for sheet in list(sheets)[:8]))
    faults.append(fault("no-sheet", Origin(name), sheet=title[:60], suggestion=hint))
    return None


def _sheets(source: MapSource, faults: list[Fault]) -> dict[str, Grid]:
    """The sheets of a workbook that are tables. Other sheets are the user's own business."""
    name = source.path.name
    data = read_bytes(source.path, name)
    sheets = data if isinstance(data, Fault) else open_workbook(data, name)
    if isinstance(sheets, Fault):
        faults.append(sheets)
        return {}
    found: dict[str, Grid] = {}
    for table in TABLES:
        if table in source.tables:
            grid = _sheet(sheets, source.tables[table], name, faults)
        else:
            grid = next((grid for title, grid in sheets.items() if table_of(title) == table), None)
        if grid:
            found[table] = grid
    if not found:
        faults.append(fault("no-tables", Origin(name), expected="sheets " + listed(TABLES)))
    return found


def _tables(source: MapSource, reading: Reading, faults: list[Fault]) -> dict[str, Grid]:
    """The CSV files of a folder that are tables. Another .csv there is probably a misspelt one, which is said."""
    try:
        paths = sorted(source.path.iterdir())
    except OSError:
        faults.append(fault("map-missing", Origin(source.path.name), what="folder with the tables of the map"))
        return {}
    wanted = {fold(name): table for table, name in source.tables.items()}
    files: dict[str, Path] = {}
    for path in paths:
        table = wanted.get(fold(path.name)) or ("" if path.suffix.lower() not in _CSV else table_of(path.stem))
        if table and (table not in source.tables or fold(path.name) in wanted):
            files.setdefault(table, path)
        elif path.suffix.lower() in _CSV:
            hint = suggestion(path.stem, (t.replace("_", "-") for t in TABLES), "name it in [map.tables]")
            faults.append(fault("unknown-table", Origin(path.name), suggestion=hint))
    for table, name in source.tables.items():
        if table not in files:
            faults.append(fault("unreadable-file", Origin(name[:100]), why="it is not there"))
    if not files:
        expected = listed(f"{table.replace('_', '-')}.csv" for table in TABLES)
        faults.append(fault("no-tables", Origin(source.path.name), expected=expected))
    grids: dict[str, Grid] = {}
    for table, path in files.items():
        data = read_bytes(path, path.name)
        if isinstance(data, Fault):
            faults.append(data)
        else:
            grids[table] = csv_grid(data, path.name, source.encoding, known_headings(table, reading))
    return grids


_CSV = (".csv", ".tsv", ".txt")
