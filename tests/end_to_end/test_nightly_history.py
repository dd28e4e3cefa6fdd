"""`toneout history`: what changed in each run, where something was since when, and forgetting."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.end_to_end.nights import Nights
from tests.worlds import changes
from tests.worlds.equipment import host
from tests.worlds.stories import DESK, NEWCOMER, station

WORLD = station().build()
MOVED = changes.plug(changes.replug(WORLD, "WL-2:1", "IM-5:1"), "img-1:5", "PP-I:5")
STRANGER = changes.add_box(WORLD, host("raspberry", NEWCOMER), "wet-1:Gi1/0/6")


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Nights:
    """Ten nights: the desk next door in the fourth and fifth, somebody's small computer in the seventh."""
    nights = Nights(tmp_path_factory.mktemp("history") / "site", WORLD)
    for world in (WORLD, WORLD, WORLD, MOVED, MOVED, WORLD, STRANGER, WORLD, WORLD, WORLD):
        nights.night(world)
    return nights


def asked(nights: Nights, *what: str) -> list[tuple[str, str, str, str, str]]:
    """Kind, subject, value, first and last day of the answer about WHAT."""
    outcome = nights.run("history", *what, "--format", "json")
    assert outcome.exit_code == 0, outcome.output
    found: list[dict[str, Any]] = json.loads(outcome.stdout)["lived"]
    return [(f["kind"], f["subject"], f["value"], f["since"][5:10], (f["until"] or "")[5:10]) for f in found]


def test_each_run_tells_what_changed_in_it_and_nothing_else(lived: Nights) -> None:
    stories = json.loads(lived.run("history", "--format", "json").stdout)["runs"]
    changed = {story["run"]: [(c["kind"], c["subject"]) for c in story["changes"]] for story in stories}
    assert [run for run, found in changed.items() if found] == [4, 6, 7, 8]
    assert ("station", DESK) in changed[4]
    assert ("port", "wet-1:Gi1/0/2") in changed[4]
    assert ("verdict", "wet-1:Gi1/0/2") in changed[4]
    assert changed[4] == changed[6]
    assert ("station", NEWCOMER) in changed[7]
    assert ("port", "wet-1:Gi1/0/6") in changed[7]


def test_runs_without_a_change_share_one_line(lived: Nights) -> None:
    text = lived.run("history").stdout
    assert "2 to 3" in text
    assert "9 to 10" in text
    assert f"station {DESK} (desk): wet-1:Gi1/0/2, now img-1:5" in text


def test_the_last_runs_alone_can_be_asked_for(lived: Nights) -> None:
    stories = json.loads(lived.run("history", "--last", "3", "--format", "json").stdout)["runs"]
    assert [story["run"] for story in stories] == [8, 9, 10]
    assert stories[0]["changes"]


@pytest.mark.parametrize("what", [["desk"], [DESK], [DESK.replace(":", "").upper()]])
def test_a_device_by_its_name_or_address_tells_where_it_was_and_since_when(lived: Nights, what: list[str]) -> None:
    where = [found for found in asked(lived, *what) if found[:2] == ("station", DESK)]
    assert where == [
        ("station", DESK, "wet-1:Gi1/0/2", "03-18", "03-20"),
        ("station", DESK, "img-1:5", "03-21", "03-22"),
        ("station", DESK, "wet-1:Gi1/0/2", "03-23", ""),
    ]


@pytest.mark.parametrize("what", ["wet-1:Gi1/0/2", "PP-W:2", "WL-2"])
def test_a_port_a_jack_and_an_outlet_tell_who_was_there_and_how_the_link_was(lived: Nights, what: str) -> None:
    found = asked(lived, what)
    assert ("station", DESK, "wet-1:Gi1/0/2", "03-18", "03-20") in found
    assert ("port", "wet-1:Gi1/0/2", "link down", "03-21", "03-22") in found
    assert ("verdict", "wet-1:Gi1/0/2", "contradicted", "03-21", "03-22") in found
    assert any(kind == "finding" and value == "moved device" for kind, _, value, _, _ in found)


def test_a_station_that_is_in_no_map_and_in_no_recent_snapshot_is_still_known(lived: Nights) -> None:
    assert ("station", NEWCOMER, "wet-1:Gi1/0/6", "03-24", "03-24") in asked(lived, NEWCOMER)


def test_a_key_tells_when_its_finding_was_there(lived: Nights) -> None:
    (key,) = [subject for kind, subject, _, _, _ in asked(lived, "wet-1:Gi1/0/6") if kind == "finding"]
    assert asked(lived, key) == [("finding", key, "undocumented device", "03-24", "03-24")]


def test_the_answer_for_people_has_a_line_per_stretch(lived: Nights) -> None:
    text = lived.run("history", "desk").stdout
    assert "img-1:5" in text
    assert "since 2026-03-21" in text
    assert "until 2026-03-22" in text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["deck"], "desk"),
        (["wet-1:Gi1/0/99"], "no port"),
        (["prune"], "needs --older-than"),
        (["desk", "--older-than", "3"], "belongs to"),
    ],
)
def test_a_wrong_question_is_answered_with_what_to_try(lived: Nights, arguments: list[str], words: str) -> None:
    outcome = lived.run("history", *arguments)
    assert outcome.exit_code == 2
    assert words in " ".join(outcome.stderr.replace("│", " ").split())


def test_without_a_nightly_run_there_is_no_history_and_none_is_made(tmp_path: Path) -> None:
    nights = Nights(tmp_path / "site", WORLD)
    for arguments in (["history"], ["history", "desk"], ["history", "prune", "--older-than", "1"]):
        outcome = nights.run(*arguments)
        assert outcome.exit_code == 2
        assert "toneout nightly begins one" in outcome.stderr
    assert not (nights.folder / "history.sqlite").exists()


def test_forgetting_keeps_what_is_so_and_the_nights_go_on(tmp_path: Path) -> None:
    nights = Nights(tmp_path / "site", WORLD)
    for world in (STRANGER, MOVED, MOVED):
        nights.night(world)
    outcome = nights.run("history", "prune", "--older-than", "0")  # every night of the story is long past
    assert outcome.exit_code == 0
    assert "Forgotten: " in outcome.stdout
    assert not [found for found in asked(nights, "desk") if found[2] == "wet-1:Gi1/0/2" and found[0] == "station"]
    assert ("station", DESK, "img-1:5", "03-19", "") in asked(nights, "desk")
    assert nights.night(MOVED).exit_code == 0


def test_spare_tells_how_long_each_free_port_has_been_silent_and_how_much_history_stands_behind_it(
    tmp_path: Path,
) -> None:
    nights = Nights(tmp_path / "site", WORLD)
    for world in (WORLD, STRANGER, WORLD, *[WORLD] * 12):
        nights.night(world)
    free = json.loads(nights.run("spare", "--format", "json").stdout)
    assert (free["runs"], free["history_days"]) == (15, 14)
    assert free["history"].startswith("2 weeks of history, 15 runs since 2026-03-18")
    ports = {port["port"]: port for port in free["ports"] if port["switch"] == "wet-1"}
    left = ports["Gi1/0/6"]
    assert (left["silent_runs"], left["last_link"][:10], left["last_mac"]) == (13, "2026-03-19", NEWCOMER)
    never = next(port for name, port in ports.items() if name != "Gi1/0/6" and port["state"] == "silent")
    assert (never["silent_runs"], never["last_link"]) == (15, None)
    text = " ".join(nights.run("spare").stdout.split())
    assert "Behind the word free: 2 weeks of history" in text
    assert f"last link 2026-03-19, {NEWCOMER}" in text
    assert "in use at other hours?" in text  # these switches say that every port changed twelve hours ago
    page = (nights.folder / "page.html").read_text("utf-8")
    assert "2 weeks of history" in page
    assert "last seen up 2026-03-19" in page
