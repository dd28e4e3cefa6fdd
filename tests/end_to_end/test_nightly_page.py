"""The page that `toneout nightly` writes, and what becomes of a night whose files cannot be written."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from collectors.snapshot import FailedSwitch
from collectors.snapshot_files import load_snapshot, save_snapshot
from tests.end_to_end.nights import Nights, lists
from tests.worlds import changes
from tests.worlds.stories import station

WORLD = station().build()
WITHOUT_SCOPE = changes.switch_off(WORLD, "scope")


@pytest.fixture
def nights(tmp_path: Path) -> Nights:
    return Nights(tmp_path / "site", WORLD)


def data_of(page: Path) -> dict[str, Any]:
    """The JSON that the page carries."""
    (found,) = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page.read_text("utf-8"), re.DOTALL)
    loaded: dict[str, Any] = json.loads(found)
    return loaded


def test_every_night_writes_the_page_with_what_it_found(nights: Nights) -> None:
    nights.night(WORLD)
    page = nights.folder / "page.html"
    assert "findings" not in data_of(page)
    assert nights.night(WITHOUT_SCOPE).exit_code == 1
    assert [found["kind"] for found in data_of(page)["findings"]] == ["dead port"]
    marks = {spot["name"]: [mark for _, mark in spot.get("nights", [])] for spot in data_of(page)["spots"]}
    assert ["ok", "silent"] in marks.values()
    assert not list(nights.folder.glob(".page*"))


def test_the_page_of_the_night_is_the_page_that_the_command_makes(nights: Nights) -> None:
    nights.night(WORLD)
    _, report = nights.told(WITHOUT_SCOPE)
    key = report["new"][0]["key"]
    by_night = (nights.folder / "page.html").read_bytes()
    assert nights.run("page").exit_code == 0
    assert (nights.folder / "page.html").read_bytes() == by_night
    nights.run("waive", key, "--until", "2099-01-31", "--reason", "sent in for repair")
    nights.run("page")
    data = data_of(nights.folder / "page.html")
    assert "causes" not in data
    [accepted] = data["findings"]
    assert (accepted["until"], accepted["reason"]) == ("2099-01-31", "sent in for repair")
    assert accepted["since"]


def test_the_site_says_where_the_page_is_written_and_whether(tmp_path: Path) -> None:
    elsewhere = Nights(tmp_path / "1", WORLD, '\n[nightly]\npage = "map/tonight.html"\n')
    elsewhere.night(WORLD)
    assert (elsewhere.folder / "map" / "tonight.html").is_file()
    none = Nights(tmp_path / "2", WORLD, '\n[nightly]\npage = ""\n')
    none.night(WORLD)
    assert not list(none.folder.rglob("*.html"))
    none.night(WORLD, "--page", str(tmp_path / "asked.html"))
    assert (tmp_path / "asked.html").is_file()


@pytest.mark.parametrize("option", ["--page", "--metrics"])
def test_a_file_that_cannot_be_written_is_told_and_costs_neither_night_nor_report(nights: Nights, option: str) -> None:
    nights.night(WORLD)
    failed = nights.night(WORLD, option, "/nowhere/at/all", "--quiet")
    assert (failed.exit_code, failed.stdout) == (2, "")
    assert "ERROR" in failed.stderr
    assert "/nowhere/at/all" in failed.stderr
    news = nights.night(WITHOUT_SCOPE, option, "/nowhere/at/all")
    assert news.exit_code == 2  # a timer must not take it for a plain night with news: somebody was not told
    assert "scope" in news.stdout
    assert lists(nights.told(WITHOUT_SCOPE)[1]) == {"still": ["dead port scope"]}
    assert [story["run"] for story in json.loads(nights.run("history", "--format", "json").stdout)["runs"]] == [
        1,
        2,
        3,
        4,
    ]


def test_a_night_in_which_no_switch_answered_leaves_the_page_as_it_was(nights: Nights, tmp_path: Path) -> None:
    nights.night(WITHOUT_SCOPE)
    page = (nights.folder / "page.html").read_bytes()
    seen = load_snapshot(nights.snapshot)
    dark = [
        FailedSwitch(name=s.name, started=seen.started, reason="no answer", kind="no answer") for s in seen.switches
    ]
    later = seen.finished.replace(year=2027)
    save_snapshot(seen.model_copy(update={"switches": [], "failed": dark, "finished": later}), tmp_path / "dark.json")
    outcome = nights.run("nightly", "--snapshot", str(tmp_path / "dark.json"))
    assert outcome.exit_code == 3
    assert "2 switches not read" in outcome.stdout
    assert "the page is left as it was" in outcome.stderr
    assert (nights.folder / "page.html").read_bytes() == page
