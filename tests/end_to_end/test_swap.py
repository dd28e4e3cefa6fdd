"""A swap as people do it: start, put in another switch, check while plugging, until nothing is left."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.end_to_end.worlds_served import Worlds, run, served
from tests.reconcile.swap.replacing import replace_switch
from tests.worlds import changes, saltmarsh
from tests.worlds.dialects import OFFSET

BEFORE = saltmarsh.drifted()
DONE = replace_switch(BEFORE, "acc-2", "acc-9", OFFSET.name_of, dialect=OFFSET)
CROSSED = changes.cross(DONE, "acc-9:GigabitEthernet1/0/1", "acc-9:GigabitEthernet1/0/3")
HALF = changes.unplug(CROSSED, "acc-9:GigabitEthernet1/0/11")  # the access point of the bunkhouse


@pytest.fixture(scope="module")
def worlds(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Worlds]:
    with served(tmp_path_factory.mktemp("worlds"), {"before": BEFORE, "half": HALF, "done": DONE}) as found:
        yield found


@pytest.fixture
def site(worlds: Worlds, tmp_path: Path) -> Path:
    return worlds.site(tmp_path, "before")


def test_a_large_site_is_kept_as_columns_before_and_after(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collectors.snapshot_files.MANY_ROWS", 1)
    assert "swap-before.parquet" in run(site, "swap", "start").stdout
    assert run(site, "swap", "check").exit_code == 0
    assert {path.stem for path in (site / "snapshots").glob("swap-*.parquet")} == {"swap-before", "swap-after"}


def test_a_switch_with_other_port_names_is_swapped_step_by_step(worlds: Worlds, site: Path, tmp_path: Path) -> None:
    begun = run(site, "swap", "start")
    assert begun.exit_code == 0, begun.output
    assert (site / "snapshots" / "swap-before.json").exists()
    assert run(site, "swap", "check").exit_code == 0

    assert run(site, "swap", "start").exit_code == 0  # the one before is finished: it may begin anew
    worlds.turn(site, "half", {"acc-2": "acc-9"})
    ports = tmp_path / "ports.csv"
    asked = ("swap", "check", "--replaced", "acc-2=acc-9", "--ports", ports)
    half = run(site, *asked, "--format", "json")
    assert half.exit_code == 1, half.output
    told = json.loads(half.stdout)
    assert [(left["subject"], left["trouble"], left["belongs_at"]) for left in told["left"]] == [
        ("ap-bunk", "missing", "acc-9:GigabitEthernet1/0/11"),
        ("im-scope-pc", "moved", "acc-9:GigabitEthernet1/0/1"),
        ("im-laser-1", "moved", "acc-9:GigabitEthernet1/0/3"),
    ]
    assert told["switches"][0]["orders"][0].startswith("order unchanged, new names: 2 is now ")
    with ports.open(newline="") as file:
        pairs = {row["old port"]: row["new port"] for row in csv.DictReader(file)}
    assert pairs["acc-2:1"] == "acc-9:GigabitEthernet1/0/1"
    assert pairs["acc-2:24"] == "acc-9:GigabitEthernet1/0/24"

    worlds.turn(site, "done")
    done = run(site, *asked)  # the file is there now, and is read
    assert (done.exit_code, done.stderr) == (0, ""), done.output
    assert "Nothing moved" in done.stdout
    assert "given" in done.stdout


def test_a_second_start_does_not_forget_an_unfinished_swap(site: Path) -> None:
    assert run(site, "swap", "start").exit_code == 0
    again = run(site, "swap", "start")
    assert again.exit_code == 2
    assert "is not finished" in again.stderr
    assert "--again" in again.stderr
    assert run(site, "swap", "start", "--again").exit_code == 0


def test_a_check_without_a_start_says_what_to_do_first(site: Path) -> None:
    told = run(site, "swap", "check")
    assert told.exit_code == 2
    assert "no swap was started; try: toneout swap start" in told.stderr


def test_a_changed_map_is_told_and_names_stay_those_of_the_start(site: Path) -> None:
    assert run(site, "swap", "start").exit_code == 0
    cords = site / "map" / "cords.csv"
    cords.write_text(cords.read_text().replace("P103,", "P103x,"))
    told = run(site, "swap", "check", "--snapshot", site / "snapshots" / "swap-before.json")
    assert told.exit_code == 0
    assert "The patch map was changed since" in " ".join(told.stdout.split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--replaced", "acc-2"], "--replaced acc-2: is no pair of switches; try: --replaced acc-2=acc-2b"),
        (["--replaced", "acc-7=acc-2"], "acc-7 was not asked before; try: one of acc-1"),
        (["--ports", "map/cords.csv"], "map/cords.csv: has no columns 'old port' and 'new port'"),
    ],
)
def test_wrong_use_is_code_2_in_words(
    arguments: list[str], words: str, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(site)
    assert run(site, "swap", "start").exit_code == 0
    told = run(site, "swap", "check", "--snapshot", "snapshots/swap-before.json", *arguments)
    assert told.exit_code == 2
    assert words in told.stderr


def test_a_broken_state_file_is_told_with_its_field(site: Path) -> None:
    (site / "snapshots").mkdir(exist_ok=True)
    (site / "snapshots" / "swap-state.json").write_text('{"schema_version": 1}')
    told = run(site, "swap", "check")
    assert told.exit_code == 2
    assert "swap-state.json: map_digest: Field required" in told.stderr
