"""The workbook: what is in it, that people can work with it, and that nothing in it acts."""

from __future__ import annotations

import io
import re
import zipfile
from functools import lru_cache

import openpyxl
import pytest
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from reconcile.capacity import capacity
from reconcile.findings import Verdict
from reconcile.patchmap.model import Cord, Device, End, PatchMap, Switch
from reconcile.pipeline import Comparison, compare
from reconcile.reports import workbook
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade_network import answer, port, snapshot
from tests.worlds.saltmarsh import drifted
from tests.worlds.snapshots import snapshot_of

SHEETS = ["Differences", "Causes", "Channels", "Spare ports", "Spare jacks", "Stations", "Not looked at"]


@lru_cache(maxsize=1)
def station() -> Comparison:
    world = drifted()
    return compare(world.record, snapshot_of(world))


def written(comparison: Comparison) -> bytes:
    picture = comparison.picture
    return workbook.render(comparison, capacity(picture.patch_map, picture.channels, picture))


@lru_cache(maxsize=1)
def book() -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(written(station())))


def rows(sheet: Worksheet) -> list[dict[str, object]]:
    head, *body = sheet.iter_rows(values_only=True)
    return [dict(zip(map(str, head), row, strict=True)) for row in body]


def test_there_is_a_sheet_for_each_thing_that_people_sort_and_filter() -> None:
    assert book().sheetnames == SHEETS


@pytest.mark.parametrize("name", SHEETS)
def test_every_sheet_has_a_frozen_head_filters_and_columns_wide_enough_for_their_heading(name: str) -> None:
    sheet = book()[name]
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == sheet.dimensions
    for cell in sheet[1]:
        assert len(str(cell.value)) < sheet.column_dimensions[cell.column_letter].width <= workbook.WIDEST + 2


def test_differences_are_those_of_the_result_and_name_their_cause() -> None:
    result = station().result
    found = rows(book()["Differences"])
    assert [row["key"] for row in found] == [finding.key for finding in result.findings]
    for row in found:
        assert row["key"] in result.causes[int(str(row["cause"])) - 1].findings


def test_every_documented_channel_stands_there_with_its_verdict() -> None:
    verdicts = [row["verdict"] for row in rows(book()["Channels"])]
    result = station().result
    assert {v: verdicts.count(v.value) for v in Verdict} == {v: result.count(v) for v in Verdict}


def test_every_station_that_was_seen_is_listed_once_and_placed_ones_name_their_port() -> None:
    result, found = station().result, rows(book()["Stations"])
    assert len({row["address"] for row in found}) == len(found) == result.stations_seen
    assert sum(row["port"] is not None for row in found) == result.stations_placed


def test_days_and_lengths_are_numbers_that_can_be_sorted() -> None:
    days = [row["days without link"] for row in rows(book()["Spare ports"]) if row["state"] == "silent"]
    lengths = [row["length m"] for row in rows(book()["Spare jacks"])]
    assert days
    assert lengths
    assert all(isinstance(number, int | float) for number in (*days, *lengths))


def test_a_port_number_stays_the_text_that_the_switch_uses() -> None:
    ports = [row["port"] for row in rows(book()["Stations"]) if row["switch"] == "acc-2"]
    assert "5" in ports or "2" in ports
    assert all(isinstance(name, str) for name in ports)


@pytest.mark.parametrize("name", NASTY)
def test_whatever_a_switch_or_a_map_says_stays_text_that_nothing_obeys(name: str) -> None:
    nasty = NASTY[name]
    content = written(_hostile(nasty))
    sheets = openpyxl.load_workbook(io.BytesIO(content))
    texts = 0
    for sheet in sheets.worksheets:
        for row in sheet.iter_rows(min_row=2):
            for cell in row:
                assert cell.data_type != "f"
                if isinstance(cell.value, str):
                    texts += 1
                    assert cell.quotePrefix
                    assert not acting_characters(cell.value)
                    assert len(cell.value) < 2_000
    assert texts


def test_the_file_itself_holds_no_formula_and_no_link_to_anywhere() -> None:
    with zipfile.ZipFile(io.BytesIO(written(_hostile("=cmd()")))) as parts:
        for part in parts.namelist():
            text = parts.read(part).decode()
            assert not re.search(r"<f[ >]|externalLink|hyperlink", text), part


def _hostile(nasty: str) -> Comparison:
    """A map and a network in which every name that somebody may choose is this one."""
    name = nasty.strip() or "x"
    record = PatchMap(
        site=nasty,
        switches=[Switch(name="sw-a", room=nasty, rack=nasty, ports=("1", "2", "3"))],
        devices=[Device(name=name, macs=("00:00:5e:00:53:01",), room=nasty, note=nasty), Device(name="pc")],
        cords=[
            Cord(label=nasty, a=End("sw-a", "1"), b=End(name)),
            Cord(label=nasty, a=End("sw-a", "2"), b=End("pc")),
        ],
    )
    seen = snapshot(answer("sw-a", [port("1", "down", alias=nasty[:1000]), port("2"), port("3")]))
    return compare(record, seen)
