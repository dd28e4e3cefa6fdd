"""Workbooks: the damage that a spreadsheet does, and bounds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook

from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import End, Fault, PatchMap
from tests.reconcile.patchmap.site_folder import SHEET, rewrite, site, workbook

HEAD = ("outlet", "jack", "switch", "port", "device", "mac", "note")


def read(folder: Path, more: str = "") -> tuple[PatchMap, tuple[Fault, ...]]:
    return read_map(site(folder, "schedule", "patching.xlsx", more))


def read_rows(folder: Path, *rows: tuple[object, ...]) -> tuple[PatchMap, tuple[Fault, ...]]:
    workbook(folder / "patching.xlsx", {"Patching": [HEAD, *rows]})
    return read(folder)


def test_numbers_are_read_as_people_see_them(tmp_path: Path) -> None:
    the_map, faults = read_rows(tmp_path, (12, "PP-A:1", "SW-1", 7.0, 4711, 112233445566, True))
    assert faults == ()
    device = the_map.devices[0]
    assert (device.name, device.at, device.macs, device.note) == ("4711", End("12", "1"), ("11:22:33:44:55:66",), "yes")
    assert the_map.cords[0].a == End("SW-1", "7")


def test_a_number_format_of_twelve_zeros_keeps_the_leading_zeros_of_an_address(tmp_path: Path) -> None:
    book = workbook(tmp_path / "patching.xlsx", {"P": [HEAD, ("1", "PP-A:1", "SW-1", "1", "NAS", 5300530012, None)]})
    book["P"]["F2"].number_format = "000000000000"
    book.save(tmp_path / "patching.xlsx")
    the_map, faults = read(tmp_path)
    assert (the_map.devices[0].macs, faults) == (("00:53:00:53:00:12",), ())


def test_an_address_that_became_a_number_gets_its_zeros_back_with_a_warning(tmp_path: Path) -> None:
    the_map, (fault,) = read_rows(tmp_path, ("1", "PP-A:1", "SW-1", "1", "NAS", 5300530012, None))
    assert (the_map.devices[0].macs, fault.code) == (("00:53:00:53:00:12",), "mac-zeros-lost")


def test_an_address_that_became_a_number_too_large_is_lost(tmp_path: Path) -> None:
    the_map, (fault,) = read_rows(tmp_path, ("1", "PP-A:1", "SW-1", "1", "NAS", 1.02e22, None))
    assert (the_map.devices[0].macs, fault.code) == ((), "mac-scientific")


@pytest.mark.parametrize(
    ("value", "number_format", "port"),
    [
        (datetime(2025, 1, 1), "d-mmm", "1/1"),
        (datetime(2024, 1, 1), "mmm-yy", "1/24"),
        (date(2024, 1, 1), "mm-dd-yy", "1/1/24"),
        (time(1, 12), "h:mm", "1:12"),
        (timedelta(hours=25, minutes=3), "[h]:mm", "25:3"),
    ],
)
def test_a_port_that_became_a_date_is_read_where_it_can_have_been_one_thing(
    tmp_path: Path, value: object, number_format: str, port: str
) -> None:
    book = workbook(tmp_path / "patching.xlsx", {"P": [HEAD, ("1", "PP-A:1", "SW-1", value, "NAS", None, None)]})
    book["P"]["D2"].number_format = number_format
    book.save(tmp_path / "patching.xlsx")
    the_map, faults = read(tmp_path)
    assert the_map.cords[0].a == End("SW-1", port)
    assert [fault.code for fault in faults] in (["became-date-read"], [])


def test_a_port_that_became_a_date_is_a_fault_where_it_can_have_been_several(tmp_path: Path) -> None:
    the_map, (fault,) = read_rows(tmp_path, ("1", "PP-A:1", "SW-1", datetime(2025, 2, 1), "NAS", None, None))
    assert the_map.cords == []
    assert str(fault) == (
        "patching.xlsx sheet Patching row 2, column port: the spreadsheet made the date 2025-02-01 of it; "
        "it was 1/2/25 or 2/1/25; set the column to text and type it again"
    )


def test_a_range_of_jacks_that_became_a_date_is_read_with_a_warning(tmp_path: Path) -> None:
    sheets = {"Panels": [("name", "jacks"), ("PP-A", datetime(2025, 1, 24))]}
    book = workbook(tmp_path / "map.xlsx", sheets)
    book["Panels"]["B2"].number_format = "d-mmm"
    book.save(tmp_path / "map.xlsx")
    the_map, (fault,) = read_map(site(tmp_path, "workbook", "map.xlsx"))
    assert (len(the_map.panels[0].jacks), fault.code) == (24, "became-date-read")


def test_merged_cells_hold_for_each_of_their_rows_and_for_no_further_column(tmp_path: Path) -> None:
    rows = [HEAD, ("1", "PP-A:1", "SW-1", "1", "A"), ("2", "PP-A:2", None, "2", "B"), ("3", "PP-A:3", None, "3", "C")]
    book = workbook(tmp_path / "patching.xlsx", {"P": rows})
    book["P"].merge_cells("C2:C4")
    book["P"].merge_cells("G2:H2")
    book.save(tmp_path / "patching.xlsx")
    the_map, (fault,) = read(tmp_path)
    assert {cord.a.name for cord in the_map.cords} == {"SW-1"}
    assert len(the_map.cords) == 3
    assert (fault.code, "C2:C4" in fault.problem, "G2" in fault.problem) == ("merged-cells", True, False)


@pytest.mark.parametrize("area", [b"C2:C1048576", b"A2:XFD1048576"])
def test_a_merged_area_as_large_as_a_sheet_can_be_fills_only_rows_that_are_there(tmp_path: Path, area: bytes) -> None:
    rows = [HEAD, ("1", "PP-A:1", "SW-1", "1", "A"), ("1", "PP-A:2", "SW-1", "2", "B")]
    book = workbook(tmp_path / "patching.xlsx", {"P": rows})
    book["P"].merge_cells("C2:C3")
    book.save(tmp_path / "patching.xlsx")
    rewrite(tmp_path / "patching.xlsx", SHEET, (b'"C2:C3"', b'"' + area + b'"'))
    the_map, faults = read(tmp_path)
    assert faults[0].code == "merged-cells"
    assert [str(cord.a) for cord in the_map.cords] == (["SW-1:1"] if area.startswith(b"A") else ["SW-1:1", "SW-1:2"])


def test_a_formula_is_read_by_the_value_that_the_spreadsheet_stored(tmp_path: Path) -> None:
    workbook(tmp_path / "patching.xlsx", {"P": [HEAD, ('="WL-"&12', "PP-A:1", "SW-1", "1", "NAS", None, None)]})
    stored = (b"</f><v />", b"</f><v>WL-12</v>"), (b'<c r="A2">', b'<c r="A2" t="str">')
    rewrite(tmp_path / "patching.xlsx", SHEET, *stored)
    the_map, faults = read(tmp_path)
    assert ([outlet.name for outlet in the_map.outlets], faults) == (["WL-12"], ())


def test_a_formula_without_a_stored_value_is_said_where_the_cell_is_used_and_only_there(tmp_path: Path) -> None:
    _, faults = read_rows(tmp_path, ("=A1", "PP-A:1", "SW-1", "1", "NAS", None, "=NOW()"))
    assert [(fault.code, fault.column) for fault in faults] == [("formula-empty", "outlet"), ("formula-empty", "note")]


def test_one_stray_cell_at_the_far_corner_costs_nothing_and_is_said(tmp_path: Path) -> None:
    book = workbook(tmp_path / "patching.xlsx", {"P": [HEAD, ("1", "PP-A:1", "SW-1", "1", "NAS", None, None)]})
    book["P"]["XFD1048576"] = "x"
    book.save(tmp_path / "patching.xlsx")
    the_map, faults = read(tmp_path)
    assert ([device.name for device in the_map.devices], [f.code for f in faults]) == (["NAS"], ["too-many-columns"])


def test_scribbles_beside_the_table_are_nobodys_business(tmp_path: Path) -> None:
    rows = [("Patching of the station",), HEAD, ("1", "PP-A:1", "SW-1", "1", "NAS", None, None, None, "ask Maud")]
    workbook(tmp_path / "patching.xlsx", {"P": rows})
    the_map, faults = read(tmp_path)
    assert (the_map.devices[0].origin.row, faults) == (3, ())


def test_the_sheet_that_has_the_headings_is_taken_unless_one_is_named(tmp_path: Path) -> None:
    rows: dict[str, list[Sequence[object]]] = {
        "Cover": [("Patching",)],
        "2024": [HEAD, ("1", "PP-A:1", "SW-1", "1", "OLD")],
        "2025": [HEAD, ("1", "PP-A:1", "SW-1", "1", "NEW")],
    }
    workbook(tmp_path / "patching.xlsx", rows)
    assert read(tmp_path)[0].devices[0].name == "OLD"
    assert read(tmp_path, 'sheet = "2025"')[0].devices[0].name == "NEW"


def test_sheets_that_are_no_tables_are_left_alone(tmp_path: Path) -> None:
    sheets: dict[str, list[Sequence[object]]] = {
        "Notes": [("anything",)],
        "Fixed cables": [("label", "a", "b"), ("FC-1", "PP-A:1", "WL-01:1")],
    }
    workbook(tmp_path / "map.xlsx", sheets)
    the_map, faults = read_map(site(tmp_path, "workbook", "map.xlsx"))
    assert ([cable.label for cable in the_map.fixed_cables], faults) == (["FC-1"], ())


def test_a_workbook_with_a_document_type_of_its_own_is_refused(tmp_path: Path) -> None:
    """An entity that grows without end ("billion laughs") needs a document type, which no spreadsheet writes."""
    workbook(tmp_path / "patching.xlsx", {"P": [HEAD]})
    entities = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]><workbook '
    rewrite(tmp_path / "patching.xlsx", "xl/workbook.xml", (b"<workbook ", entities))
    _, (fault,) = read(tmp_path)
    assert fault.code == "not-workbook"


def test_a_workbook_is_never_written(tmp_path: Path) -> None:
    workbook(tmp_path / "patching.xlsx", {"P": [HEAD, ("1", "PP-A:1", "SW-1", "1", "NAS", None, None)]})
    before = (tmp_path / "patching.xlsx").read_bytes()
    read(tmp_path)
    assert (tmp_path / "patching.xlsx").read_bytes() == before
    assert load_workbook(tmp_path / "patching.xlsx")["P"]["E2"].value == "NAS"
