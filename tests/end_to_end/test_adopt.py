"""The demo site's map is made to follow the network through the real command, as people and cron do."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from collectors.snapshot_files import save_snapshot
from reconcile.lock import EDIT_LOCK, locked
from tests.end_to_end.command import on_terminal, toneout
from tests.worlds import saltmarsh
from tests.worlds.files import SITES
from tests.worlds.snapshots import snapshot_of

CROSSED = "moved-device-76610a41"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """The demo's folder with its latest snapshot."""
    folder = shutil.copytree(SITES / "saltmarsh", tmp_path / "saltmarsh")
    (folder / "snapshots").mkdir()
    save_snapshot(snapshot_of(saltmarsh.drifted()), folder / "snapshots" / "latest.json")
    return folder


def files(site: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted((site / "map").iterdir())}


def test_a_pipe_is_shown_the_change_and_nothing_is_written(site: Path) -> None:
    was = files(site)
    shown = toneout("adopt", CROSSED, cwd=site)
    assert shown.returncode == 1
    assert "-P103,acc-1:Gi1/0/3,PP-A:3," in shown.stdout
    assert "+P103,acc-1:Gi1/0/4,PP-A:3," in shown.stdout
    assert "add --yes" in shown.stderr
    assert "\x1b" not in shown.stdout
    assert files(site) == was


def test_a_dry_run_writes_nothing_and_is_a_success(site: Path) -> None:
    was = files(site)
    assert toneout("adopt", CROSSED, "--yes", "--dry-run", cwd=site).returncode == 0
    assert files(site) == was


def test_a_terminal_is_asked_and_no_answer_writes_nothing(site: Path) -> None:
    was = files(site)
    code, shown = on_terminal("adopt", CROSSED, "--dry-run", cwd=site)
    assert code == 0
    assert "Nothing was written" in shown
    assert files(site) == was


def test_what_was_adopted_is_gone_from_the_report_and_undo_gives_every_byte_back(site: Path) -> None:
    was = files(site)
    told = toneout("adopt", "moved-device-766", "uplink-elsewhere", "--yes", cwd=site)
    assert told.returncode == 0, told.stderr
    assert "cords.csv.before-" in told.stdout
    report = toneout("reconcile", cwd=site).stdout
    assert CROSSED not in report
    assert "other-device" in report
    undone = toneout("adopt", "--undo", cwd=site)
    assert undone.stdout == "As before: map/cords.csv\n"
    assert files(site) == was


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["moved"], "keys begin so"),
        (["no-such-key"], "no difference of this snapshot has this key"),
        (["2"], "is the number of a cause"),
        (["dead-port"], "--off bs-tide-1 if it is"),
        (["unexpected-link"], "--name NAME"),
        (["shut-port", "--off", "nobody"], "--off bh-tv-1"),
        (["undocumented", "--name", "wl-ws-1", "--mac", "00:00:5e:00:53:01"], "was not heard there"),
        (["undocumented", "--name", "WL-01"], "is a name of the map already"),
        (["undocumented", "other-device", "--name", "bh-pi"], "one key at a time"),
        (["other-device", "--at", "acc-2:2", "--by", "magic"], "neither cords nor devices"),
        ([], "give the keys"),
    ],
)
def test_what_cannot_be_adopted_as_asked_says_what_to_do(site: Path, arguments: list[str], says: str) -> None:
    was = files(site)
    told = toneout("adopt", *arguments, "--yes", cwd=site)
    assert told.returncode == 2
    assert says in told.stderr
    assert "Traceback" not in told.stderr
    assert files(site) == was


def test_a_change_that_would_bring_new_faults_is_not_written(site: Path) -> None:
    """The cord to a telephone that has a computer behind it: the computer would hang in the air."""
    was = files(site)
    told = toneout("adopt", "shut-port", "--off", "bh-tv-1", "--off", "wl-phone-1", "--yes", cwd=site)
    assert told.returncode == 2
    assert "new faults" in told.stderr
    assert "wl-phone-1" in told.stderr
    assert files(site) == was


def test_a_device_that_is_gone_leaves_with_its_cord(site: Path) -> None:
    assert toneout("adopt", "dead-port", "--off", "bs-tide-1", "--off", "P304", "--yes", cwd=site).returncode == 0
    assert b"bs-tide-1" not in files(site)["devices.csv"]
    assert b"P304" not in files(site)["cords.csv"]


def test_a_silent_device_is_what_is_behind_an_unexpected_link_when_a_person_says_so(site: Path) -> None:
    assert toneout("adopt", "unexpected-link", "--name", "bs-tide-1", "--yes", cwd=site).returncode == 0
    report = toneout("reconcile", cwd=site).stdout
    assert "dead-port" not in report
    assert "unexpected-link" not in report


def test_a_carried_device_or_else_the_cord_in_the_place_of_a_spare_one(site: Path) -> None:
    assert toneout("adopt", "moved-device-9ad", "--by", "cords", "--off", "P112", "--yes", cwd=site).returncode == 0
    assert b"P205,acc-1:Gi1/0/12,PP-A:19," in files(site)["cords.csv"]
    assert b"P112" not in files(site)["cords.csv"]
    assert "moved-device-9ad" not in toneout("reconcile", cwd=site).stdout


def test_the_readme_shows_what_the_command_says(site: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    section = readme.partition("## Writing back")[2]
    shown = section.partition("```text\n")[2].partition("Write this?")[0]
    assert toneout("adopt", "moved-device-766", cwd=site).stdout == shown


@pytest.mark.parametrize(
    "command",
    [
        ("adopt", CROSSED, "--yes"),
        ("adopt", "--undo"),
        ("waive", CROSSED, "--until", "2099-01-31", "--reason", "lent"),
        ("waive", CROSSED, "--remove"),
    ],
    ids=" ".join,
)
def test_two_hands_at_the_files_of_a_site_at_once_are_one_too_many(site: Path, command: tuple[str, ...]) -> None:
    waived = ("waive", CROSSED, "--until", "2099-01-31", "--reason", "on purpose")
    assert toneout(*waived, cwd=site).returncode == toneout("adopt", "uplink-elsewhere", "--yes", cwd=site).returncode
    was, waivers = files(site), (site / "waivers.toml").read_bytes()
    with locked(site, EDIT_LOCK):
        told = toneout(*command, cwd=site)
        assert toneout("adopt", "other-device", "--dry-run", cwd=site).returncode == 0  # looking is free
    assert told.returncode == 4
    assert f"held by process {os.getpid()} on " in told.stderr
    assert (files(site), (site / "waivers.toml").read_bytes()) == (was, waivers)


def test_the_beginning_of_a_key_will_do_to_accept_it_and_to_take_that_back(site: Path) -> None:
    beginning = CROSSED[:-4]
    assert toneout("waive", beginning, "--until", "2099-01-31", "--reason", "lent", cwd=site).returncode == 0
    assert CROSSED in (site / "waivers.toml").read_text()
    several = toneout("waive", "moved-device-", "--until", "2099-01-31", "--reason", "lent", cwd=site)
    assert several.returncode == 2
    assert "keys begin so; try: moved-device-" in several.stderr
    assert f"{CROSSED} is accepted no longer" in toneout("waive", beginning, "--remove", cwd=site).stdout


def test_a_waived_difference_can_be_adopted(site: Path) -> None:
    toneout("waive", CROSSED, "--until", "2099-01-01", "--reason", "later", cwd=site)
    assert toneout("adopt", CROSSED, "--yes", cwd=site).returncode == 0


def test_ports_without_a_swap_are_refused_with_what_starts_one(site: Path, tmp_path: Path) -> None:
    (tmp_path / "ports.csv").write_text("")
    refused = toneout("adopt", "--ports", str(tmp_path / "ports.csv"), cwd=site)
    assert refused.returncode == 2
    assert "no swap was started" in refused.stderr
    assert "toneout swap start" in refused.stderr
