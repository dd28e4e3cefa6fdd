"""`toneout page` as people run it: on the demo, on sites with something missing, and beside a page that is there."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot_files import save_snapshot
from reconcile.cli.commands import app
from tests.worlds.files import SITES
from tests.worlds.model import TAKEN
from tests.worlds.saltmarsh import documented, drifted
from tests.worlds.snapshots import snapshot_of


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


@pytest.fixture
def saltmarsh(tmp_path: Path) -> Path:
    """The demo's folder with a snapshot, as `toneout demo` leaves it."""
    folder = Path(shutil.copytree(SITES / "saltmarsh", tmp_path / "saltmarsh"))
    (folder / "snapshots").mkdir()
    save_snapshot(snapshot_of(drifted()), folder / "snapshots" / "latest.json")
    return folder


def held(page: Path) -> dict[str, Any]:
    """The data of a page."""
    text = page.read_text("utf-8")
    data: dict[str, Any] = json.loads(text.partition('id="data">')[2].partition("</script>")[0])
    return data


def test_the_page_is_written_into_the_site_folder_and_says_where(saltmarsh: Path) -> None:
    result = toneout("page", "--site", saltmarsh)
    assert (result.exit_code, result.stdout) == (0, f"Written: {saltmarsh / 'page.html'}\n")
    assert result.stderr == ""
    assert held(saltmarsh / "page.html")["site"] == "Saltmarsh Field Station"


def test_another_page_is_replaced_as_a_whole_and_nothing_is_left_beside_it(saltmarsh: Path) -> None:
    before = {path.name for path in saltmarsh.iterdir()}
    (saltmarsh / "page.html").write_text("yesterday's " * 100_000)
    assert toneout("page", "--site", saltmarsh).exit_code == 0
    assert (saltmarsh / "page.html").read_text("utf-8").startswith("<!doctype html>")
    assert {path.name for path in saltmarsh.iterdir()} - before == {"page.html"}


def test_it_goes_where_out_says_and_shows_the_snapshot_that_was_named(saltmarsh: Path, tmp_path: Path) -> None:
    out, older = tmp_path / "rack.html", tmp_path / "older.json"
    save_snapshot(snapshot_of(drifted()).model_copy(update={"switches": []}), older)
    assert toneout("page", "--site", saltmarsh, "--out", out, "--snapshot", older).exit_code == 0
    assert held(out)["answered"] == 0
    assert not (saltmarsh / "page.html").exists()


def test_without_a_snapshot_it_says_how_to_get_one(saltmarsh: Path) -> None:
    shutil.rmtree(saltmarsh / "snapshots")
    result = toneout("page", "--site", saltmarsh)
    assert result.exit_code == 2
    assert "toneout collect" in result.stderr
    assert not (saltmarsh / "page.html").exists()


def test_rows_of_the_map_that_cannot_be_used_are_told_among_what_was_not_looked_at(saltmarsh: Path) -> None:
    with (saltmarsh / "map" / "cords.csv").open("a") as cords:
        cords.write("X1,no-such-switch:1,PP-A:24,6A,S/FTP,26,1,grey,\n")
    assert toneout("page", "--site", saltmarsh).exit_code == 0
    assert "the patch map" in str(held(saltmarsh / "page.html")["gaps"])


def test_a_folder_that_cannot_be_written_is_named(saltmarsh: Path) -> None:
    result = toneout("page", "--site", saltmarsh, "--out", saltmarsh / "none" / "page.html")
    assert result.exit_code == 2
    assert "page.html" in result.stderr
    assert "Traceback" not in result.stderr


def test_what_nightly_kept_is_shown_as_the_last_nights_of_a_port_and_the_age_of_a_finding(saltmarsh: Path) -> None:
    latest = saltmarsh / "snapshots" / "latest.json"
    for night, world in enumerate((documented(), documented(), drifted(), drifted())):
        save_snapshot(snapshot_of(replace(world, taken=TAKEN + timedelta(days=night))), latest)
        assert toneout("nightly", "--site", saltmarsh, "--snapshot", latest).exit_code in (0, 1, 3)
    assert toneout("page", "--site", saltmarsh).exit_code == 0
    data = held(saltmarsh / "page.html")
    nights = {spot["name"]: [mark for _, mark in spot.get("nights", [])] for spot in data["spots"]}
    assert nights["acc-1:Gi1/0/3"] == ["ok", "ok", "wrong", "wrong"]
    assert nights["acc-1:Gi1/0/1"] == ["ok"] * 4
    assert nights["PP-A:3"] == []
    third = (TAKEN + timedelta(days=2)).astimezone().strftime("%Y-%m-%d")
    assert {finding["since"][:10] for finding in data["findings"]} == {third}


def test_a_broken_history_is_told_and_the_page_is_made_without(saltmarsh: Path) -> None:
    (saltmarsh / "history.sqlite").write_text("not a database, whatever else it is" * 100)
    result = toneout("page", "--site", saltmarsh)
    assert result.exit_code == 0
    assert "history.sqlite" in result.stderr
    assert not any("nights" in spot for spot in held(saltmarsh / "page.html")["spots"])
