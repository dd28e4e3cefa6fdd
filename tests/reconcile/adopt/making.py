"""Maps of small worlds as people keep them: each form on disk, and what adopting does to it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

from openpyxl import Workbook

from collectors.snapshot import Snapshot
from reconcile.adopt.adoption import Adoption, adopt
from reconcile.adopt.wish import Wish
from reconcile.findings import Finding, Kind
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Cord, End, PatchMap, Switch
from reconcile.pipeline import reconcile
from reconcile.site import Site
from tests.reconcile.patchmap.site_folder import site
from tests.worlds import maps

Form = Callable[[PatchMap, Path], Site]


def tables(record: PatchMap, folder: Path) -> Site:
    """A folder of CSV tables."""
    _write(folder / "map", {name: text.encode() for name, text in maps.csv_files(record).items()})
    return site(folder, "tables", "map")


def spreadsheet_tables(record: PatchMap, folder: Path) -> Site:
    """The tables as a spreadsheet of central Europe saves them, with quotes, a title, a comment and own columns."""
    files = {}
    for name, table in maps.tables(record).items():
        rows = [{"Inv.": f"ä-{number}", **row, "Own": 'he said "no"; twice'} for number, row in enumerate(table, 1)]
        if rows:
            text = csv_text(rows, delimiter=";", quoting=csv.QUOTE_ALL)
            body = f'"Stand: März";;\r\n\r\n{text}\r\n# checked by hand\r\n'
            files[f"{name}.csv"] = b"\xef\xbb\xbf" + body.encode()
    _write(folder / "map", files)
    return site(folder, "tables", "map")


def workbook(record: PatchMap, folder: Path) -> Site:
    """The tables as sheets of one workbook."""
    folder.mkdir(parents=True, exist_ok=True)
    maps.save_workbook(record, folder / "cabling.xlsx")
    return site(folder, "workbook", "cabling.xlsx")


def schedule(record: PatchMap, folder: Path) -> Site:
    """A flat CSV with headings of an office's own, in Windows-1252 without a line end at its end."""
    rows = [{**row, "Asset": f"nº {number}"} for number, row in enumerate(_rows(record), 1)]
    _write(folder, {"cabling.csv": csv_text(rows).encode("cp1252").removesuffix(b"\r\n")})
    return site(folder, "schedule", "cabling.csv", _columns())


def schedule_sheet(record: PatchMap, folder: Path) -> Site:
    """The same as a sheet of a workbook."""
    folder.mkdir(parents=True, exist_ok=True)
    book, rows = Workbook(), _rows(record)
    sheet = book.worksheets[0]
    sheet.append(list(rows[0]))
    for row in rows:
        sheet.append([int(text) if text.isdecimal() else text for text in row.values()])
    book.save(folder / "cabling.xlsx")
    return site(folder, "schedule", "cabling.xlsx", _columns())


FORMS: tuple[Form, ...] = (tables, spreadsheet_tables, workbook, schedule, schedule_sheet)


def _rows(record: PatchMap) -> maps.Table:
    """A row per channel with every column there is; what is plugged straight into a switch has its row as well."""
    switches = {switch.name for switch in record.switches}
    direct = [device for device in record.devices if device.at and device.at.name in switches]
    cords = [Cord(label="", a=device.at, b=End(device.name)) for device in direct if device.at]
    devices = [device.model_copy(update={"at": None}) if device in direct else device for device in record.devices]
    whole = record.model_copy(update={"cords": [*record.cords, *cords], "devices": devices})
    spare = [{"Switch": switch.name, "Port": _unused(switch, whole)} for switch in record.switches]
    return [dict.fromkeys(maps.SCHEDULE_HEADINGS.values(), "") | row for row in (*maps.schedule(whole), *spare)]


def _unused(switch: Switch, record: PatchMap) -> str:
    """A port to write down alone: a schedule knows a switch by the rows of its ports."""
    used = {end for cord in record.cords for end in (cord.a, cord.b)}
    return next(port for port in reversed(switch.ports or ("99",)) if End(switch.name, port) not in used)


def _columns() -> str:
    pairs = [f'{column} = "{heading}"' for column, heading in maps.SCHEDULE_HEADINGS.items()]
    return "\n".join(["[map.columns]", *pairs])


def csv_text(rows: maps.Table, delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    """Rows with CRLF line ends."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), delimiter=delimiter, quoting=quoting)  # type: ignore[arg-type]  # stubs want a Literal
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _write(folder: Path, files: dict[str, bytes]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (folder / name).write_bytes(content)


def contents(here: Site) -> dict[str, bytes]:
    """Every file of the map, kept ones left out."""
    root = here.map.path
    paths = sorted(root.iterdir()) if root.is_dir() else [root]
    return {path.name: path.read_bytes() for path in paths if ".before-" not in path.name}


def keys(here: Site, snapshot: Snapshot) -> dict[str, Finding]:
    """What a comparison with the map on disk finds now."""
    return {finding.key: finding for finding in reconcile(read_map(here)[0], snapshot).findings}


def wish_for(finding: Finding) -> Wish:
    """What a person who knows the site would ask for."""
    if finding.kind in (Kind.DEAD_PORT, Kind.SHUT_PORT):
        return Wish((finding.key,), off=(finding.device,))
    if finding.kind is Kind.UNEXPECTED_LINK:
        return Wish((finding.key,), name="what-is-it")
    return Wish((finding.key,))


def adopted(here: Site, snapshot: Snapshot, wish: Wish) -> Adoption:
    """Adopted and written."""
    found = adopt(here, snapshot, wish)
    found.write()
    return found
