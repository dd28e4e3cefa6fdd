"""Small site folders for tests, and everything that is said about them."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from openpyxl import Workbook

from reconcile.channels import Channels, resolve
from reconcile.patchmap.check import check_map
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Fault, PatchMap
from reconcile.site import Site, load_site


def site(folder: Path, form: str, path: str, more: str = "") -> Site:
    """A site whose map stands at `path` within the folder; `more` are further lines of [map]."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = ["[site]", 'name = "Saltmarsh Field Station"', "[map]", f'form = "{form}"', f'path = "{path}"', more]
    (folder / "toneout.toml").write_text("\n".join(lines), "utf-8")
    return load_site(folder)


def read_tables(folder: Path, **tables: str | bytes) -> tuple[PatchMap, tuple[Fault, ...]]:
    """The map in a folder of CSV tables given as text."""
    (folder / "map").mkdir(parents=True, exist_ok=True)
    for name, text in tables.items():
        path = folder / "map" / f"{name.replace('_', '-')}.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_map(site(folder, "tables", "map"))


def read_schedule(folder: Path, text: str | bytes, more: str = "") -> tuple[PatchMap, tuple[Fault, ...]]:
    """The map in a flat schedule given as text."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "patching.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_map(site(folder, "schedule", "patching.csv", more))


def workbook(path: Path, sheets: Mapping[str, Iterable[Sequence[object]]]) -> Workbook:
    """Saves a workbook with these rows and hands it over for further changes."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    book.save(path)
    return book


def rewrite(path: Path, part: str, *changes: tuple[bytes, bytes]) -> None:
    """Changes one part of a workbook's archive; a change that finds nothing to change is an error of the test."""
    with zipfile.ZipFile(path) as archive:
        parts = {info.filename: archive.read(info) for info in archive.infolist()}
    for old, new in changes:
        assert old in parts[part], f"{part} has no {old!r}"
        parts[part] = parts[part].replace(old, new)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


SHEET = "xl/worksheets/sheet1.xml"


def paths(channels: Channels) -> set[str]:
    """Every resolved path as text."""
    return {str(channel) for channel in channels.resolved}


def checked(patch_map: PatchMap) -> list[str]:
    """The codes of the faults of a map's relations."""
    return [fault.code for fault in check_map(patch_map, resolve(patch_map))]
