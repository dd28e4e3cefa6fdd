"""Files that are edited keep their own form; nothing is lost, and nothing of another's is written over."""

from __future__ import annotations

import errno
from datetime import datetime
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.styles import Font

from collectors.whole_files import replace_file
from reconcile.errors import ReconcileError
from reconcile.patchmap.edit import keeping
from reconcile.patchmap.edit.book import open_book
from reconcile.patchmap.edit.changes import MovePlug
from reconcile.patchmap.edit.schedule import Schedule
from reconcile.patchmap.edit.sheet import EditError, put
from reconcile.patchmap.edit.style import addresses_like
from reconcile.patchmap.model import End
from reconcile.site import Site
from tests.nasty import NASTY
from tests.reconcile.patchmap.site_folder import site

DEVICES = 'name;macs;at;Own\r\n"tank";00-30-DE-41-B7-09;WL-1:1;=1+1\r\n\r\n# by hand\r\ndesk;;WL-2:1;x'


def tables(folder: Path, **files: bytes) -> Site:
    (folder / "map").mkdir()
    for name, content in files.items():
        (folder / "map" / f"{name}.csv").write_bytes(content)
    return site(folder, "tables", "map")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_only_the_changed_cell_differs_in_any_encoding(encoding: str, tmp_path: Path) -> None:
    text = DEVICES.replace("by hand", "von Händ")
    book = open_book(tables(tmp_path, devices=text.encode(encoding)))
    put(book.sheet("devices"), 2, "at", "WL-3:1")
    assert list(book.after().values()) == [text.replace("WL-1:1", "WL-3:1").encode(encoding)]


@pytest.mark.parametrize("what", sorted(set(NASTY) - {"lone surrogate"}))
def test_the_users_own_nasty_cells_stay_as_they_are(what: str, tmp_path: Path) -> None:
    quoted = '"' + NASTY[what].replace('"', '""') + '"'
    text = f"name,at,Own\ntank,WL-1:1,{quoted}\ndesk,WL-2:1,x\n"
    book = open_book(tables(tmp_path, devices=text.encode()))
    row = book.grids["devices"].rows[-1][0]
    put(book.sheet("devices"), row, "at", "WL-3:1")
    assert list(book.after().values()) == [text.replace("WL-2:1", "WL-3:1").encode()]


def test_formats_formulas_and_other_sheets_of_a_workbook_stay(tmp_path: Path) -> None:
    path = tmp_path / "cabling.xlsx"
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Devices"
    for row in (["name", "at", "Cost"], ["tank", "WL-1:1", "=2*3"], ["desk", "WL-2:1", 7]):
        sheet.append(row)
    sheet["B2"].font = Font(bold=True, color="FF0000")
    other = book.create_sheet("Budget")
    other["A1"] = "=SUM(Devices!C2:C3)"
    book.save(path)
    opened = open_book(site(tmp_path, "workbook", "cabling.xlsx"))
    put(opened.sheet("devices"), 2, "at", "WL-3:1")
    keeping.write(opened.before, opened.after())
    now = load_workbook(path)
    assert now["Devices"]["B2"].value == "WL-3:1"
    assert now["Devices"]["B2"].font.bold
    assert now["Devices"]["C2"].value == "=2*3"
    assert now["Budget"]["A1"].value == "=SUM(Devices!C2:C3)"


@pytest.mark.parametrize("new", ["WL-2", "WL-9"])
def test_numbers_and_dates_beside_a_device_go_along_as_such_and_a_formula_stays_in_its_row(
    new: str, tmp_path: Path
) -> None:
    book = Workbook()
    bought = datetime(2024, 5, 6)
    head = ["switch", "port", "outlet", "device", "Bought", "Price", "Twice"]
    tank = ["wetlab", "1", "WL-1", "tank", bought, 1.5, "=F2*2"]
    for row in (head, tank, ["wetlab", "2", "WL-2"]):
        book.worksheets[0].append(row)
    book.save(tmp_path / "cabling.xlsx")
    opened = open_book(site(tmp_path, "schedule", "cabling.xlsx"))
    Schedule(opened, opened.reread()[0]).carry_out([MovePlug("tank", End("WL-1"), End(new))])
    keeping.write(opened.before, opened.after())
    rows = list(load_workbook(tmp_path / "cabling.xlsx").worksheets[0].iter_rows(min_row=2, values_only=True))
    assert rows[0] == ("wetlab", "1", "WL-1", None, None, None, "=F2*2")
    assert rows[-1][2:] == (new, "tank", bought, 1.5, None)


def test_formulas_in_a_column_that_the_map_is_read_from_are_refused(tmp_path: Path) -> None:
    book = Workbook()
    book.worksheets[0].title = "Devices"
    for row in (["name", "at"], ["tank", '="WL-1"&":1"']):
        book.worksheets[0].append(row)
    book.save(tmp_path / "cabling.xlsx")
    with pytest.raises(EditError, match="formulas in a column"):
        open_book(site(tmp_path, "workbook", "cabling.xlsx"))


@pytest.mark.parametrize("name", ["cabling.ods", "cabling.xls"])
def test_other_workbooks_are_refused_with_what_to_do(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b"PK\x03\x04")
    with pytest.raises(ReconcileError, match=r"save it as \.xlsx"):
        open_book(site(tmp_path, "workbook", name))


def test_a_file_that_is_open_in_a_spreadsheet_program_is_refused(tmp_path: Path) -> None:
    here = tables(tmp_path, devices=DEVICES.encode())
    (tmp_path / "map" / ".~lock.devices.csv#").touch()
    with pytest.raises(EditError, match="open in a spreadsheet program"):
        open_book(here)


def test_a_file_that_changed_since_it_was_read_is_not_written(tmp_path: Path) -> None:
    book = open_book(tables(tmp_path, devices=DEVICES.encode()))
    put(book.sheet("devices"), 2, "at", "WL-3:1")
    path = tmp_path / "map" / "devices.csv"
    path.write_bytes(b"name,at\nsomebody else's,\n")
    with pytest.raises(EditError, match="changed by somebody else"):
        keeping.write(book.before, book.after())
    assert path.read_bytes() == b"name,at\nsomebody else's,\n"
    assert len(list(path.parent.iterdir())) == 1


def test_a_map_in_the_folder_above_the_site_is_read_again_in_a_place_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "maps" / "site").mkdir(parents=True)
    (tmp_path / "maps" / "devices.csv").write_text("name,at\ntank,WL-1:1\n", "utf-8")
    (tmp_path / "scratch").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "scratch"))
    patch_map, _ = open_book(site(tmp_path / "maps" / "site", "tables", "..")).reread()
    assert [device.name for device in patch_map.devices] == ["tank"]
    assert not list((tmp_path / "scratch").iterdir())


def test_where_a_former_file_cannot_be_kept_nothing_is_left_to_go_back_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = tmp_path / "cords.csv", tmp_path / "devices.csv"
    for path in (one, two):
        path.write_bytes(b"before")

    def full(target: Path, content: bytes, *, mode_of: Path) -> None:
        if mode_of == two:
            raise OSError(errno.ENOSPC, "No space left on device")
        replace_file(target, content, mode_of=mode_of)

    monkeypatch.setattr(keeping, "replace_file", full)
    with pytest.raises(OSError, match="No space left"):
        keeping.write({one: b"before", two: b"before"}, {one: b"after", two: b"after"})
    assert sorted(tmp_path.iterdir()) == [one, two]
    assert one.read_bytes() == two.read_bytes() == b"before"


def test_going_back_follows_a_link_to_another_file_system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, link = tmp_path / "share" / "devices.csv", tmp_path / "map" / "devices.csv"
    for path in (file, link):
        path.parent.mkdir()
    file.write_bytes(b"before")
    link.symlink_to(file)
    keeping.write({link: b"before"}, {link: b"after"})
    replace = Path.replace

    def within_one(source: Path, target: Path) -> Path:
        if source.parent != target.parent:  # what rename(2) says between two file systems
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        return replace(source, target)

    monkeypatch.setattr(Path, "replace", within_one)
    assert keeping.revert(link.parent) == [link]
    assert file.read_bytes() == b"before"
    assert list(link.parent.iterdir()) == [link]
    assert link.is_symlink()


def test_going_back_is_refused_when_the_file_was_changed_afterwards(tmp_path: Path) -> None:
    book = open_book(tables(tmp_path, devices=DEVICES.encode()))
    put(book.sheet("devices"), 2, "at", "WL-3:1")
    keeping.write(book.before, book.after())
    path = tmp_path / "map" / "devices.csv"
    path.write_bytes(path.read_bytes() + b"\r\nmore;;;")
    with pytest.raises(EditError, match="was changed after"):
        keeping.revert(tmp_path / "map")


@pytest.mark.parametrize(
    ("sample", "written"),
    [
        ("00-30-DE-41-B7-09", "DC-A6-32-9E-04-5B"),
        ("0030.de41.b709", "dca6.329e.045b"),
        ("0030DE41B709", "DCA6329E045B"),
        ("", "dc:a6:32:9e:04:5b"),
        ("no address", "dc:a6:32:9e:04:5b"),
    ],
)
def test_addresses_are_written_as_the_user_writes_them(sample: str, written: str) -> None:
    assert addresses_like(["dc:a6:32:9e:04:5b"], [sample]) == written
