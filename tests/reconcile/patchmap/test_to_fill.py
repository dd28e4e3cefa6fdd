"""Gaps that a person has still to fill: listed until the map has them, in whatever row they come to stand."""

from __future__ import annotations

from pathlib import Path

from reconcile.channels import resolve
from reconcile.patchmap.to_fill import ToFill, still_to_fill
from tests.reconcile.patchmap.site_folder import read_schedule, read_tables

HEAD = "outlet,room,jack,cord,switch,port,device,macs,to fill\n"
MAC = "00:30:de:41:b7:09"


def gaps(folder: Path, *rows: str) -> list[tuple[str, ...]]:
    patch_map, faults = read_schedule(folder, HEAD + "".join(f"{row}\n" for row in rows))
    assert faults == ()
    return [gap.columns for gap in still_to_fill(patch_map, resolve(patch_map))]


def test_every_column_that_is_named_and_empty_is_a_gap(tmp_path: Path) -> None:
    assert gaps(tmp_path, f',,,,sw,1,,{MAC},"device, outlet, jack, room, cord"') == [
        ("device", "outlet", "jack", "room", "cord")
    ]


def test_what_was_filled_in_is_a_gap_no_more(tmp_path: Path) -> None:
    row = f'WL-01,wet lab,PP-A:1,P101,sw,1,pump,{MAC},"device, outlet, jack, room, cord"'
    assert gaps(tmp_path, row) == []


def test_what_is_half_filled_in_keeps_the_other_half(tmp_path: Path) -> None:
    assert gaps(tmp_path, f',wet lab,PP-A:1,,sw,1,pump,{MAC},"device, outlet, jack, room, cord"') == [
        ("outlet", "cord")
    ]


def test_a_placeholder_for_a_name_is_a_gap_until_it_has_another_name(tmp_path: Path) -> None:
    assert gaps(tmp_path, ",,,,sw,1,unknown at sw 1,,device", ",,,,sw,2,door,,device") == [("device",)]


def test_a_deleted_word_or_a_dash_is_no_gap(tmp_path: Path) -> None:
    assert gaps(tmp_path, f",,,,sw,1,pump,{MAC},", ",,,,sw,2,door,,-") == []


def test_a_link_between_two_switches_keeps_its_mark(tmp_path: Path) -> None:
    rows = (",,,,sw-a,1,sw-b:1,,cord", ",,,,sw-b,2,pump,,")
    assert gaps(tmp_path / "open", *rows) == [("cord",)]
    assert gaps(tmp_path / "done", rows[0].replace(",,,,sw-a", ",,,U1,sw-a"), rows[1]) == []


def test_tables_have_their_marks_in_their_own_rows(tmp_path: Path) -> None:
    patch_map, _ = read_tables(
        tmp_path,
        switches='name,room,rack,unit,To Fill\nsw,comms room,,,"room, rack, unit"\n',
        cords="label,a,b,to_fill\n,sw:1,pump,cord\n",
        devices=f"name,macs,to fill\npump,{MAC},outlet; wall colour\n",
    )
    assert [(gap.about, gap.columns) for gap in still_to_fill(patch_map, resolve(patch_map))] == [
        ("sw:1 to pump", ("cord",)),
        ("pump", ("outlet", "wall colour")),
        ("sw", ("rack", "unit")),
    ]


def test_a_map_that_nobody_marked_has_no_gaps(tmp_path: Path) -> None:
    found: list[ToFill] = list(still_to_fill(*_read(tmp_path)))
    assert found == []


def _read(folder: Path):  # type: ignore[no-untyped-def]  # a map and its channels
    patch_map, _ = read_schedule(folder, "switch,port,device\nsw,1,pump\n")
    return patch_map, resolve(patch_map)
