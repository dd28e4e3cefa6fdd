"""Maps written by the worlds and read by the product: the same rows come back, whatever the form."""

from __future__ import annotations

from pathlib import Path

import pytest

from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Fault, PatchMap
from reconcile.site import load_site
from tests.worlds import maps, saltmarsh, stories
from tests.worlds.files import site_files, write_site
from tests.worlds.model import World


def read(folder: Path) -> tuple[PatchMap, tuple[Fault, ...]]:
    return read_map(load_site(folder))


def bare(record: PatchMap) -> dict[str, list[dict[str, object]]]:
    """The rows without where they were read."""
    content = record.model_dump(exclude={"form"})
    return {
        name: [{k: v for k, v in row.items() if k not in ("origin", "headings", "extra")} for row in rows]
        for name, rows in content.items()
        if name != "site"
    }


def site_in(folder: Path, world: World, map_table: str = "") -> Path:
    """A site folder for the world, its [map] table replaced when one is given."""
    write_site(folder, site_files(world, stories.STORIES["all-as-documented"]()[1]))
    if map_table:
        path = folder / "toneout.toml"
        path.write_text(path.read_text().replace('[map]\nform = "tables"\npath = "map"\n', map_table))
    return folder


@pytest.mark.parametrize("name", ["saltmarsh", "all-as-documented", "phone-with-pc", "port-not-found"])
def test_the_folder_of_tables_reads_back_as_the_map_it_was_written_from(name: str, tmp_path: Path) -> None:
    world = saltmarsh.documented() if name == "saltmarsh" else stories.STORIES[name]()[0]
    record, faults = read(site_in(tmp_path, world))
    assert faults == ()
    assert bare(record) == bare(world.record)


def test_the_workbook_reads_back_as_the_map_it_was_written_from(tmp_path: Path) -> None:
    world = saltmarsh.documented()
    site_in(tmp_path, world, '[map]\nform = "workbook"\npath = "station.xlsx"\n')
    maps.save_workbook(world.record, tmp_path / "station.xlsx")
    record, faults = read(tmp_path)
    assert faults == ()
    assert bare(record) == bare(world.record)


def test_the_flat_schedule_reads_back_with_every_device_at_its_port(tmp_path: Path) -> None:
    world = saltmarsh.documented()
    headings = "".join(f'{column} = "{heading}"\n' for column, heading in maps.SCHEDULE_HEADINGS.items())
    table = f'[map]\nform = "schedule"\npath = "schedule.csv"\n\n[map.columns]\n{headings}'
    site_in(tmp_path, world, table)
    (tmp_path / "schedule.csv").write_text(maps.csv_text(maps.schedule(world.record)))
    record, faults = read(tmp_path)
    assert faults == ()
    behind_others = {"wl-pc-1", "im-pc-1"}  # a schedule of switch ports has no row for what is behind a telephone
    assert {d.name: d.macs for d in record.devices} == {
        d.name: d.macs for d in world.record.devices if d.name not in behind_others
    }
    assert len(record.cords) + sum(d.at is not None for d in record.devices) >= len(record.devices)
