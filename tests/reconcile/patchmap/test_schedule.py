"""One flat schedule, taken apart: which parts of a row make which cords, cables and places."""

from __future__ import annotations

from pathlib import Path

import pytest

from reconcile.channels import resolve
from reconcile.patchmap.model import End, FixedCable
from tests.reconcile.patchmap.site_folder import checked, paths, read_schedule

HEAD = "outlet,jack,far jack,switch,port,device,mac,cord,cable,device cord,kind,note,Asset\n"


def told(folder: Path, *rows: str) -> set[str]:
    """The resolved channels of a schedule that has no fault."""
    the_map, faults = read_schedule(folder, HEAD + "\n".join(rows) + "\n")
    assert faults == ()
    return paths(resolve(the_map))


@pytest.mark.parametrize(
    ("row", "channel"),
    [
        ("WL-01:2,PP-A:1,,SW-1,1,PUMP,,C,F,W", "SW-1:1 - C - PP-A:1 - F - WL-01:2 - W - PUMP"),
        ("WL-01,PP-A:1,,SW-1,1,PUMP,,C,F,", "SW-1:1 - C - PP-A:1 - F - WL-01:1 - cord - PUMP"),
        (",PP-F:1,PP-R:1,SW-1,1,SRV,,C,T,W", "SW-1:1 - C - PP-F:1 - T - PP-R:1 - W - SRV"),
        (",PP-A:1,,SW-1,1,CAMERA,,C,F,", "SW-1:1 - C - PP-A:1 - F - CAMERA"),
        ("WL-01,,,SW-1,1,PUMP,,,F,W", "SW-1:1 - F - WL-01:1 - W - PUMP"),
        (",,,SW-1,1,NAS,,C,,", "SW-1:1 - C - NAS"),
        (",,,SW-1,1,NAS,,,,", "SW-1:1 - cord - NAS"),
        (",,,SW-1,1,FW:wan,,C,,", "SW-1:1 - C - FW:wan"),
        ("WL-01,PP-A:1,,SW-1,1,,,C,F,", "SW-1:1 - C - PP-A:1 - F - WL-01:1"),
        ("WL-01,PP-A:1,,,,PUMP,,,F,W", "PUMP - W - WL-01:1 - F - PP-A:1"),
        (",,,,,SHELVED,,,,", "SHELVED"),
    ],
)
def test_any_part_of_a_row_may_be_missing(tmp_path: Path, row: str, channel: str) -> None:
    assert told(tmp_path, row) == {channel}


def test_a_row_with_jack_and_outlet_alone_is_a_spare_cable(tmp_path: Path) -> None:
    the_map, faults = read_schedule(tmp_path, HEAD + "WL-01,PP-A:1,,,,,,,F-1,,,spare,77\n")
    channels = resolve(the_map)
    assert ([c.key for c in channels.spare], channels.resolved, faults) == (["WL-01:1"], (), ())
    assert (the_map.fixed_cables[0].note, the_map.fixed_cables[0].extra) == ("spare", {"Asset": "77"})


def test_a_link_between_switches_may_stand_at_both_of_its_ports(tmp_path: Path) -> None:
    rows = (",,,SW-1,24,SW-2:8,,U-1,,", ",,,SW-2,8,SW-1:24,,U-1,,")
    assert told(tmp_path, *rows) == {"SW-1:24 - U-1 - SW-2:8", "SW-2:8 - U-1 - SW-1:24"}


def test_a_link_between_switches_may_go_through_a_panel_and_an_outlet(tmp_path: Path) -> None:
    rows = ("WL-01,PP-A:1,,SW-1,24,SW-2:8,,C,F,W", ",,,SW-2,1,NAS,,,,")
    assert "SW-1:24 - C - PP-A:1 - F - WL-01:1 - W - SW-2:8" in told(tmp_path, *rows)


def test_a_computer_behind_a_phone_has_the_phone_for_its_outlet(tmp_path: Path) -> None:
    rows = ("WL-01,PP-A:1,,SW-1,1,PHONE,,C,F,,phone", "PHONE:pc,,,,,DESK-PC,,,,,")
    the_map, _ = read_schedule(tmp_path, HEAD + "\n".join(rows))
    assert resolve(the_map).by_device["desk-pc"].behind == End("SW-1", "1")
    assert [outlet.name for outlet in the_map.outlets] == ["WL-01"]


def test_switch_and_port_or_panel_and_jack_may_stand_in_one_column(tmp_path: Path) -> None:
    for text in (
        "switch,panel,jack,device\nSW-1:7,PP-A,3,CAM\n",
        "port,jack,device\nSW-1:7,PP-A:3,CAM\n",
        "switch,port,panel,jack,device\nSW-1,SW-1:7,PP-A,pp-a:3,CAM\n",
        "switch,port,panel,device\nSW-1,7,PP-A:3,CAM\n",
    ):
        the_map, faults = read_schedule(tmp_path, text)
        assert (paths(resolve(the_map)), faults) == ({"SW-1:7 - cord - PP-A:3 - fixed cable - CAM"}, ())


def test_an_address_without_a_name_is_a_device_named_by_its_address(tmp_path: Path) -> None:
    the_map, faults = read_schedule(tmp_path, "switch,port,mac\nSW-1,7,00:00:5E:00:53:01\n")
    assert (paths(resolve(the_map)), faults) == ({"SW-1:7 - cord - 00-00-5e-00-53-01"}, ())


def test_a_device_in_several_rows_is_one_device_with_all_its_addresses(tmp_path: Path) -> None:
    text = "switch,port,device,mac\nSW-1,1,FW:lan,00:00:5e:00:53:01\nSW-1,2,FW:wan,00:00:5e:00:53:02\n"
    the_map, _ = read_schedule(tmp_path, text)
    assert [(d.name, d.macs) for d in the_map.devices] == [("FW", ("00:00:5e:00:53:01", "00:00:5e:00:53:02"))]
    assert checked(the_map) == []


def test_a_device_at_two_outlets_is_said_at_both_rows(tmp_path: Path) -> None:
    text = "outlet,jack,switch,port,device\nWL-01,PP-A:1,SW-1,1,PUMP\nWL-02,PP-A:2,SW-1,2,PUMP\n"
    the_map, _ = read_schedule(tmp_path, text)
    assert checked(the_map) == ["device-in-two-places"] * 2


def test_panels_and_outlets_have_the_jacks_that_rows_name(tmp_path: Path) -> None:
    text = "outlet,jack,room\nWL-01:1,PP-A:7,Wet lab\nWL-01:2,PP-A:8,Wet lab\n"
    the_map, _ = read_schedule(tmp_path, text)
    assert [(p.name, p.jacks) for p in the_map.panels] == [("PP-A", ("7", "8"))]
    assert [(o.name, o.jacks, o.room) for o in the_map.outlets] == [("WL-01", ("1", "2"), "Wet lab")]


def test_what_a_row_says_of_the_cable_stays_with_the_cable(tmp_path: Path) -> None:
    the_map, _ = read_schedule(tmp_path, "outlet,jack,cable,category,shield,length\nWL-01:1,PP-A:7,F-7,6A,U/FTP,42\n")
    assert the_map.fixed_cables[0].model_copy(update={"headings": {}, "extra": {}}) == FixedCable(
        label="F-7", a=End("PP-A", "7"), b=End("WL-01", "1"), category="6A", shield="U/FTP", length_m=42,
        origin=the_map.fixed_cables[0].origin,
    )  # fmt: skip


def test_faults_of_relations_name_the_schedules_own_headings(tmp_path: Path) -> None:
    from reconcile.patchmap.check import check_map

    text = "Outlet,Patch panel port,Switch,Interface,Hostname\nWL-01,PP-A:1,SW-1,1,A\nWL-02,PP-A:1,SW-1,2,B\n"
    the_map, _ = read_schedule(tmp_path, text)
    faults = check_map(the_map, resolve(the_map))
    assert {fault.column for fault in faults} == {"Patch panel port"}
    assert str(faults[0]).startswith(
        'patching.csv row 2, column Patch panel port: "PP-A:1" is used by a fixed cable (patching.csv row 3) as well'
    )
