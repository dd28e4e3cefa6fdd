"""A teardown as people do it: plan, pull, check; on simulated switches over real UDP."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from collectors.snapshot_files import save_snapshot
from tests.end_to_end.worlds_served import Worlds, run, served
from tests.worlds import changes, saltmarsh
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of

BEFORE = saltmarsh.drifted()


def without_shed(world: World) -> World:
    """Every cord of shed-1 pulled, and its power off."""
    for place in [*(f"shed-1:ge-0/0/{n}" for n in (0, 1, 2, 4, 5, 6, 7, 8, 11)), "core-1:Ethernet4"]:
        world = changes.unplug(world, place)
    return changes.change_switch(world, "shed-1", answers=False)


TORN = without_shed(BEFORE)
TOO_MUCH = changes.unplug(TORN, "acc-1:Gi1/0/8")  # the freezer monitor


@pytest.fixture(scope="module")
def worlds(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Worlds]:
    with served(tmp_path_factory.mktemp("worlds"), {"before": BEFORE, "torn": TORN, "too much": TOO_MUCH}) as found:
        yield found


@pytest.fixture
def site(worlds: Worlds, tmp_path: Path) -> Path:
    site = worlds.site(tmp_path, "before")
    assert run(site, "collect").exit_code == 0
    return site


def test_a_plan_and_the_check_of_what_was_really_pulled(worlds: Worlds, site: Path) -> None:
    planned = run(site, "teardown", "shed-1", "--format", "json")
    plan = json.loads(planned.stdout)
    assert {dark["name"] for dark in plan["dark"]} >= {"shed-1", "bs-ws-1", "bs-cam-1", "bs-wx-1"}
    assert plan["pulls"][-1]["cord"] in ("U3", "U4")
    assert planned.exit_code == 0, planned.output

    early = run(site, "teardown", "--after", "--format", "json")
    assert early.exit_code == 1
    assert "switch shed-1" in json.loads(early.stdout)["still_alive"]

    worlds.turn(site, "torn")
    done = run(site, "teardown", "--after")
    assert done.exit_code == 0, done.output
    assert "Just this went dark" in done.stdout

    worlds.turn(site, "too much")
    more = run(site, "teardown", "--after", "--format", "json")
    assert more.exit_code == 1
    (also,) = json.loads(more.stdout)["also_dark"]
    assert also.startswith("wl-freezer-1 (acc-1:Gi1/0/8)")


def test_what_a_large_site_said_is_kept_as_columns_and_found_again(
    worlds: Worlds, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(site, "teardown", "shed-1").exit_code == 0
    monkeypatch.setattr("collectors.snapshot_files.MANY_ROWS", 1)
    assert run(site, "teardown", "shed-1").exit_code == 0
    assert [path.name for path in (site / "snapshots").glob("teardown-before.*")] == ["teardown-before.parquet"]
    worlds.turn(site, "torn")
    assert "Just this went dark" in run(site, "teardown", "--after").stdout
    assert (site / "snapshots" / "teardown-after.parquet").exists()


def test_a_list_in_a_file_is_the_same_as_its_words(site: Path) -> None:
    listed = site / "list.csv"
    listed.write_text("what,why\nacc-1:Gi1/0/1-2,old\n,\nP109,\n")
    from_file = run(site, "teardown", "--list", listed, "--format", "csv")
    from_words = run(site, "teardown", "acc-1:Gi1/0/1-2", "P109", "--format", "csv")
    assert from_file.exit_code == from_words.exit_code == 1  # guests of the access point are strangers to the map
    assert from_file.stdout == from_words.stdout
    assert '"pull 1"' in from_file.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "say what is to be torn down, or --after"),
        (["--after", "acc-1"], "name nothing with it"),
        (["--after"], "no teardown was planned; try: toneout teardown WHAT, before the work"),
        (["acc-77"], "acc-77: nothing in the map has this name; try: acc-"),
        (["acc-1", "--from", "nowhere"], "--from nowhere: is no switch, port or device"),
        (["--list", "absent.csv"], "absent.csv: No such file or directory"),
    ],
)
def test_wrong_use_is_code_2_in_words(arguments: list[str], words: str, site: Path) -> None:
    told = run(site, "teardown", *arguments)
    assert told.exit_code == 2
    assert words in " ".join(told.stderr.replace("│", " ").split())


def test_the_sample_in_the_readme_is_what_the_command_prints(site: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    sample = re.search(r"`toneout teardown WL-01`:\n\n```text\n(.*?)```", readme, re.DOTALL)
    assert sample
    told, _, _ = run(site, "teardown", "WL-01").stdout.partition("\nMIND\n")
    assert undated(sample.group(1)) == undated(told)


def undated(text: str) -> list[str]:
    """Its words without the time, which is that of the run."""
    return re.sub(r"20\d\d-\d\d-\d\d \d\d:\d\d \w+", "then", " ".join(text.split())).split()


def test_a_plan_that_was_damaged_is_told_with_its_field(site: Path) -> None:
    (site / "snapshots" / "teardown-plan.json").write_text('{"plan": 3}')
    told = run(site, "teardown", "--after")
    assert told.exit_code == 2
    assert "teardown-plan.json: plan: " in told.stderr


def test_when_something_was_last_alive_comes_from_the_nights_before(site: Path) -> None:
    """One night everything is there; the next night two devices are off: one has an address, one never speaks."""
    snapshots = site / "snapshots"
    off = changes.unplug(changes.unplug(changes.unplug(BEFORE, "acc-1:Gi1/0/8"), "shed-1:ge-0/0/4"), "acc-1:Gi1/0/2")
    first, second = (snapshot_of(world) for world in (BEFORE, off))
    second = second.model_copy(update={"finished": first.finished + timedelta(days=1)})
    for number, seen in enumerate((first, second)):
        save_snapshot(seen, snapshots / f"night-{number}.json")
        assert run(site, "nightly", "--snapshot", snapshots / f"night-{number}.json").exit_code in (0, 1, 3)
    words = ["wl-freezer-1", "bs-wx-1", "wl-phone-1", "wl-ctd-1"]
    planned = run(site, "teardown", *words, "--snapshot", snapshots / "night-1.json", "--format", "json")
    dark = {one["name"]: one for one in json.loads(planned.stdout)["dark"]}
    seen_on = {name: one["last_seen"] and datetime.fromisoformat(one["last_seen"]) for name, one in dark.items()}
    assert seen_on == {
        "wl-freezer-1": first.finished,
        "bs-wx-1": first.finished,  # by its link: it has never been heard
        "wl-phone-1": first.finished,
        "wl-pc-1": first.finished,  # behind the telephone
        "wl-ctd-1": second.finished,
    }
    told = run(site, "teardown", *words, "--snapshot", snapshots / "night-1.json").stdout
    assert "wl-freezer-1, at acc-1:Gi1/0/8, wet lab, no link, last seen" in " ".join(told.split())


def test_a_history_that_cannot_be_read_costs_its_dates_and_not_the_plan(site: Path) -> None:
    (site / "history.sqlite").write_text("this is no database, however long it may be " * 50)
    planned = run(site, "teardown", "WL-01")
    assert planned.exit_code == 1  # the computer behind the telephone
    assert "when things were last seen is not told" in " ".join(planned.stderr.split())
