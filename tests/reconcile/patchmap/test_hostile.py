"""Nothing that stands in a map raises anything: whatever it is, it becomes rows and faults."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from reconcile.channels import resolve
from reconcile.patchmap.check import check_map
from reconcile.patchmap.columns import COLUMNS, TABLES
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Fault, PatchMap
from tests.nasty import NASTY, acting_characters
from tests.reconcile.patchmap.site_folder import site

SOUND = {
    "switches": {"name": "SW-1", "ports": "1-4"},
    "panels": {"name": "PP-A", "jacks": "4"},
    "outlets": {"name": "WL-01", "jacks": "1"},
    "fixed_cables": {"label": "F-1", "a": "PP-A:1", "b": "WL-01"},
    "cords": {"label": "C-1", "a": "SW-1:1", "b": "PP-A:1"},
    "devices": {"name": "PUMP", "macs": "00:00:5e:00:53:01", "at": "WL-01"},
    "schedule": {"outlet": "WL-01", "jack": "PP-A:1", "switch": "SW-1", "port": "1", "device": "PUMP"},
}
EVERY_COLUMN = [(table, column.name) for table, columns in COLUMNS.items() for column in columns]
ANY_FILE = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def csv_cell(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def write_table(path: Path, columns: dict[str, str]) -> None:
    text = ",".join(map(csv_cell, columns)) + "\r\n" + ",".join(map(csv_cell, columns.values())) + "\r\n"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode("utf-8", "replace"))


def everything(folder: Path, form: str, path: str) -> tuple[PatchMap, list[Fault]]:
    """Reads, resolves and checks; what is said must be harmless and bounded whatever was read."""
    the_map, faults = read_map(site(folder, form, path))
    said = [*faults, *check_map(the_map, resolve(the_map))]
    for fault in said:
        assert not acting_characters(fault.problem + fault.hint)
        assert len(str(fault)) < 1500
    return the_map, said


def write_with(folder: Path, table: str, columns: dict[str, str]) -> tuple[str, str]:
    if table == "schedule":
        write_table(folder / "patching.csv", SOUND["schedule"] | columns)
        return "schedule", "patching.csv"
    for name in TABLES:
        write_table(folder / "map" / f"{name}.csv", SOUND[name] | (columns if name == table else {}))
    return "tables", "map"


@pytest.mark.parametrize(("table", "column"), EVERY_COLUMN)
def test_any_nasty_string_in_any_column_is_rows_or_faults(tmp_path: Path, table: str, column: str) -> None:
    for text in NASTY.values():
        everything(tmp_path, *write_with(tmp_path, table, {column: text}))


@pytest.mark.parametrize("text", NASTY.values(), ids=list(NASTY))
def test_any_nasty_string_may_be_a_heading(tmp_path: Path, text: str) -> None:
    the_map, _ = everything(tmp_path, *write_with(tmp_path, "devices", {text: "x"}))
    assert [device.name for device in the_map.devices] == ["PUMP"]


@ANY_FILE
@given(table=st.sampled_from(list(COLUMNS)), data=st.data())
def test_any_text_in_all_columns_is_rows_or_faults(tmp_path: Path, table: str, data: st.DataObject) -> None:
    texts = st.text(max_size=30) | st.sampled_from(["SW-1:1", "PP-A:1-3", "WL-01", "1E+5", "2-Jan", "-", "PUMP:x"])
    columns = {column.name: data.draw(texts) for column in COLUMNS[table]}
    everything(tmp_path, *write_with(tmp_path, table, columns))


@ANY_FILE
@given(content=st.binary(max_size=300) | st.text(max_size=300).map(lambda t: t.encode("utf-8", "replace")))
def test_any_bytes_at_all_may_stand_in_a_csv_file(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "patching.csv").write_bytes(content)
    everything(tmp_path, "schedule", "patching.csv")


@ANY_FILE
@given(content=st.lists(st.lists(st.text(max_size=12), max_size=9).map(",".join), max_size=9).map("\n".join))
def test_any_rows_may_follow_sound_headings(tmp_path: Path, content: str) -> None:
    text = "outlet,jack,switch,port,device,mac\n" + content
    (tmp_path / "patching.csv").write_bytes(text.encode("utf-8", "replace"))
    everything(tmp_path, "schedule", "patching.csv")


def small_workbook() -> bytes:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.append(["outlet", "jack", "switch", "port", "device", "mac"])
    sheet.append(["WL-01", "PP-A:1", "SW-1", 1, "PUMP", "00:00:5e:00:53:01"])
    sheet.merge_cells("C2:C3")
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


SMALL = small_workbook()


@ANY_FILE
@given(at=st.integers(0, len(SMALL) - 1), change=st.binary(min_size=1, max_size=8), cut=st.booleans())
def test_a_damaged_workbook_is_read_or_refused(tmp_path: Path, at: int, change: bytes, cut: bool) -> None:
    damaged = SMALL[:at] + change + (b"" if cut else SMALL[at + len(change) :])
    (tmp_path / "patching.xlsx").write_bytes(damaged)
    everything(tmp_path, "schedule", "patching.xlsx")


@pytest.mark.parametrize("text", NASTY.values(), ids=list(NASTY))
def test_any_nasty_string_in_a_workbook_is_rows_or_faults(tmp_path: Path, text: str) -> None:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.append(list(SOUND["schedule"]))
    allowed = ILLEGAL_CHARACTERS_RE.sub("", text).encode("utf-8", "replace").decode()
    for _ in range(2):
        sheet.append([allowed] * len(SOUND["schedule"]))
    book.save(tmp_path / "patching.xlsx")
    everything(tmp_path, "schedule", "patching.xlsx")


def test_a_name_on_every_row_costs_no_more_than_its_rows(tmp_path: Path) -> None:
    """Each row names the others it clashes with by two of them, never by all: 3,000 rows make no nine million words."""
    rows = ["name,mac,at", *("NAS,00:00:5e:00:53:01,SW-1:1" for _ in range(3000))]
    (tmp_path / "map").mkdir()
    (tmp_path / "map" / "devices.csv").write_text("\n".join(rows), "utf-8")
    write_table(tmp_path / "map" / "switches.csv", SOUND["switches"])
    _, faults = everything(tmp_path, "tables", "map")
    assert {fault.code for fault in faults} == {"name-twice", "mac-twice", "place-twice", "device-in-two-places"}
    assert len(faults) <= 4 * 3000


@pytest.mark.parametrize("path", ["/dev/zero", ".", "nothing\\u0000here.csv", "x" * 5000 + ".csv"])
def test_a_path_that_is_no_file_is_a_fault(tmp_path: Path, path: str) -> None:
    _, faults = everything(tmp_path, "schedule", path)
    assert [fault.code for fault in faults] == ["unreadable-file"]
