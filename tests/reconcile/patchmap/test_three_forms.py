"""One site kept as a folder of tables, as a workbook and as one flat schedule says the same."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reconcile.channels import Channel, Channels, resolve
from reconcile.patchmap.check import check_map
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Origin, Outlet, Panel, PatchMap, Switch
from tests.reconcile.patchmap.site_folder import site, workbook
from tests.worlds import maps
from tests.worlds.saltmarsh import documented

TABLES: dict[str, list[list[object]]] = {
    "switches": [["name", "ports"], ["SW-1", "1-24"], ["SW-2", "1-8"]],
    "panels": [["name", "jacks"], ["PP-A", 24], ["PP-F", 12], ["PP-R", 12]],
    "outlets": [["name", "room", "jacks"], ["WL-01", "Wet lab", 2], ["WL-02", "Wet lab", 1], ["BS-01", "Boat shed", 1]],
    "fixed_cables": [
        ["label", "a", "b"],
        ["F1-F2", "PP-A:1-2", "WL-01:1-2"],
        ["F3", "PP-A:3", "WL-02"],
        ["F4", "PP-A:4", "BS-01"],
        ["T1", "PP-F:1", "PP-R:1"],
        ["F9", "PP-A:9", "CAMERA-1"],
    ],
    "cords": [
        ["label", "a", "b"],
        ["C-1", "SW-1:1", "PP-A:1"],
        ["C-3", "SW-1:3", "PP-A:3"],
        ["C-4", "SW-1:4", "PP-A:4"],
        ["C-5", "SW-1:5", "PP-F:1"],
        ["W-5", "PP-R:1", "SRV-1"],
        ["C-6", "SW-1:6", "FW-1:lan"],
        ["C-9", "SW-1:9", "PP-A:9"],
        ["U-4", "BS-01", "SW-2:8"],
    ],
    "devices": [
        ["name", "kind", "mac", "at"],
        ["PUMP-1", "pump", "00:00:5e:00:53:01", "WL-01:1"],
        ["PHONE-3", "phone", "00:00:5e:00:53:03", "WL-02"],
        ["DESK-PC", "computer", "00:00:5e:00:53:04", "PHONE-3:pc"],
        ["SRV-1", "hypervisor", "00:00:5e:00:53:05, 00:00:5e:00:53:06", ""],
        ["FW-1", "firewall", "00:00:5e:00:53:07", ""],
        ["CAMERA-1", "camera", "", ""],
        ["WINCH", "plc", "00:00:5e:00:53:08", "SW-2:1"],
        ["SHELVED", "pump", "00:00:5e:00:53:09", ""],
    ],
}
SCHEDULE: list[list[object]] = [
    ["Outlet", "Panel jack", "Rear jack", "Switch", "Port", "Device", "MAC", "Cord", "Cable", "Device cord", "Kind"],
    ["WL-01:1", "PP-A:1", "", "SW-1", 1, "PUMP-1", "00-00-5E-00-53-01", "C-1", "F1", "", "pump"],
    ["WL-01:2", "PP-A:2", "", "", "", "", "", "", "F2", "", ""],
    ["WL-02", "PP-A:3", "", "SW-1", 3, "PHONE-3", "0000.5e00.5303", "C-3", "F3", "", "Phone"],
    ["PHONE-3:pc", "", "", "", "", "DESK-PC", "00005e005304", "", "", "", "computer"],
    ["BS-01", "PP-A:4", "", "SW-1", 4, "SW-2:8", "", "C-4", "F4", "U-4", ""],
    ["", "PP-F:1", "PP-R:1", "SW-1", 5, "SRV-1", "00005e005305\n00005e005306", "C-5", "T1", "W-5", "hypervisor"],
    ["", "", "", "SW-1", 6, "FW-1:lan", "00:00:5e:00:53:07", "C-6", "", "", "firewall"],
    ["", "PP-A:9", "", "SW-1", 9, "CAMERA-1", "", "C-9", "F9", "", "camera"],
    ["", "", "", "SW-2", 1, "WINCH", "00:00:5e:00:53:08", "", "", "", "plc"],
    ["", "", "", "", "", "SHELVED", "00:00:5e:00:53:09", "", "", "", "pump"],
]  # fmt: skip


def csv_of(rows: list[list[object]], separator: str = ",") -> str:
    quoted = ([f'"{cell}"' if cell != "" else "" for cell in row] for row in rows)
    return "\n".join(separator.join(row) for row in quoted) + "\n"


def as_tables(folder: Path) -> PatchMap:
    (folder / "map").mkdir(parents=True)
    for name, rows in TABLES.items():
        (folder / "map" / f"{name.replace('_', '-')}.csv").write_text(csv_of(rows), "utf-8")
    return read(folder, "tables", "map")


def as_workbook(folder: Path) -> PatchMap:
    workbook(folder / "map.xlsx", {name.replace("_", " ").title(): rows for name, rows in TABLES.items()})
    return read(folder, "workbook", "map.xlsx")


def as_schedule(folder: Path) -> PatchMap:
    (folder / "patching.csv").write_text(csv_of(SCHEDULE, ";"), "utf-8")
    return read(folder, "schedule", "patching.csv")


def as_schedule_workbook(folder: Path) -> PatchMap:
    workbook(folder / "patching.xlsx", {"Patching": SCHEDULE})
    return read(folder, "schedule", "patching.xlsx")


def read(folder: Path, form: str, path: str, more: str = "") -> PatchMap:
    the_map, faults = read_map(site(folder, form, path, more))
    assert faults == ()
    return the_map


def effect(channel: Channel) -> tuple[object, ...]:
    """What a channel says, whatever form it was read from."""
    device = channel.device
    known = (device.name, device.macs, device.carries) if device else None
    return (str(channel.port), str(channel.far_port), str(channel.open_end), str(channel.behind), known, str(channel))


def effects(channels: Channels) -> tuple[list[object], list[str], list[str]]:
    resolved = sorted(map(str, map(effect, channels.resolved)))
    return list(resolved), sorted(map(str, channels.spare)), sorted(broken.reason for broken in channels.broken)


@pytest.mark.parametrize("other", [as_workbook, as_schedule, as_schedule_workbook])
def test_every_form_of_one_site_has_the_same_channels_and_faults(tmp_path: Path, other: object) -> None:
    assert callable(other)
    one, another = as_tables(tmp_path / "one"), other(tmp_path)
    channels = resolve(one)
    assert len(channels.resolved) == 10
    one_said = effects(channels)
    assert effects(resolve(another)) == one_said
    codes = [[fault.code for fault in check_map(m, resolve(m))] for m in (one, another)]
    assert codes == [["device-nowhere"], ["device-nowhere"]]


@pytest.mark.parametrize("form", ["tables", "workbook", "schedule"])
def test_the_station_reads_the_same_in_every_form(tmp_path: Path, form: str) -> None:
    record = documented().record
    if form == "tables":
        (tmp_path / "map").mkdir()
        for name, text in maps.csv_files(record).items():
            (tmp_path / "map" / name).write_text(text, "utf-8")
        the_map = read(tmp_path, form, "map")
    elif form == "workbook":
        maps.save_workbook(record, tmp_path / "map.xlsx")
        the_map = read(tmp_path, form, "map.xlsx")
    else:
        (tmp_path / "patching.csv").write_text(maps.csv_text(maps.schedule(record)), "utf-8")
        columns = [f'{name} = "{heading}"' for name, heading in maps.SCHEDULE_HEADINGS.items()]
        used = [line for line in columns if line.split('"')[1] in (tmp_path / "patching.csv").read_text("utf-8")]
        the_map = read(tmp_path, form, "patching.csv", "[map.columns]\n" + "\n".join(used))
    assert check_map(the_map, resolve(the_map)) == ()
    expected = {stations(channel) for channel in resolve(record).resolved if channel.port}
    assert {stations(channel) for channel in resolve(the_map).resolved if channel.port} == expected


def stations(channel: Channel) -> tuple[object, ...]:
    device = channel.device
    known = (device.name, device.macs, device.carries) if device else None
    return str(channel.port), str(channel.far_port), tuple(str(s.end) for s in channel.steps if s.end), known


NAMES = st.from_regex(r"[A-Za-z]{1,3}-[0-9]{1,3}", fullmatch=True)
WORDS = st.text("abc ,;\"'=+\u00e4\u2013\n7", max_size=8).map(lambda text: " ".join(text.split())).filter(
    lambda text: text != "\u2013" and not text.startswith("=")
)  # fmt: skip


@st.composite
def records(draw: st.DrawFn) -> PatchMap:
    """A map with one row of everything, free texts and labels of any kind."""
    switch, panel, outlet, device = draw(st.lists(NAMES, min_size=4, max_size=4, unique_by=str.casefold))
    jacks = tuple(str(n) for n in range(1, draw(st.integers(2, 5))))
    metres = st.none() | st.floats(0.1, 500).map(lambda x: round(x, 2))
    return PatchMap(
        switches=[Switch(name=switch, room=draw(WORDS), note=draw(WORDS))],
        panels=[Panel(name=panel, jacks=jacks, room=draw(WORDS), face=draw(st.sampled_from(["front", "rear"])))],
        outlets=[Outlet(name=outlet, room=draw(WORDS))],
        fixed_cables=[
            FixedCable(label=draw(WORDS), a=End(panel, jacks[-1]), b=End(outlet, "1"), length_m=draw(metres))
        ],
        cords=[
            Cord(
                label=draw(WORDS), a=End(switch, "1"), b=End(panel, jacks[-1]), length_m=draw(metres),
                colour=draw(WORDS), gauge_awg=draw(st.none() | st.integers(22, 30)), note=draw(WORDS),
            )
        ],
        devices=[Device(name=device, carries=draw(st.booleans()), at=End(outlet, "1"), owner=draw(WORDS))],
    )  # fmt: skip


@pytest.mark.parametrize("form", ["tables", "workbook"])
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(record=records())
def test_what_is_written_is_what_is_read(tmp_path: Path, form: str, record: PatchMap) -> None:
    (tmp_path / "map").mkdir(exist_ok=True)
    for name, text in maps.csv_files(record).items():
        (tmp_path / "map" / name).write_text(text, "utf-8", newline="")
    maps.save_workbook(record, tmp_path / "map.xlsx")
    the_map = read(tmp_path, form, "map" if form == "tables" else "map.xlsx")
    bare = {"origin": Origin(), "headings": {}, "extra": {}}
    assert [row.model_copy(update=bare) for row in the_map.rows()] == list(record.rows())
