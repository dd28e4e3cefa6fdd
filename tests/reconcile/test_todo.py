"""The list of hand movements: what it must hold, in which order, in every story."""

from __future__ import annotations

import csv
import io

import pytest

from reconcile.causes.plain import plain_cause
from reconcile.findings import Kind
from reconcile.pipeline import reconcile
from reconcile.reports.todo import render
from reconcile.result import Result
from reconcile.todo import Todo, todo
from tests.nasty import NASTY
from tests.reconcile.handmade import finding, result
from tests.worlds import changes, saltmarsh
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES, station


def of_story(story: str) -> tuple[Result, Todo]:
    world = saltmarsh.drifted() if story == "saltmarsh" else STORIES[story]()[0]
    found = reconcile(world.record, snapshot_of(world))
    return found, todo(found)


def test_crossed_cords_are_three_movements_with_cord_from_and_to() -> None:
    _, listed = of_story("crossed-cords")
    assert [(m.what, m.here, m.there) for job in listed.jobs for m in job.movements] == [
        ("cord W1", "wet-1 port Gi1/0/3", ""),
        ("cord W3", "wet-1 port Gi1/0/1", "wet-1 port Gi1/0/3"),
        ("cord W1", "", "wet-1 port Gi1/0/1"),
    ]


def test_the_list_tells_how_long_the_switches_remember() -> None:
    _, listed = of_story("crossed-cords")
    assert listed.wait_seconds == 300  # RFC 4188: dot1dTpAgingTime, recommended default
    assert "again 300 s after the last cord" in " ".join(render(listed, "text").split())


def test_a_moved_cord_goes_back_and_the_map_is_not_touched() -> None:
    world = changes.replug(station().build(), "wet-1:Gi1/0/2", "wet-1:Gi1/0/6")
    (job,) = todo(reconcile(world.record, snapshot_of(world))).jobs
    (movement,) = job.movements
    assert (movement.what, movement.here, movement.there) == ("cord W2", "wet-1 port Gi1/0/6", "wet-1 port Gi1/0/2")
    assert "map" not in movement.do


@pytest.mark.parametrize("story", ["saltmarsh", *STORIES])
def test_every_cause_is_on_the_list_once_and_uplinks_are_last(story: str) -> None:
    found, listed = of_story(story)
    assert sorted(job.number for job in listed.jobs) == list(range(1, len(found.causes) + 1))
    links = [job.link for job in listed.to_do]
    assert links == sorted(links)
    assert all(job.movements or job.instead for job in listed.jobs)


@pytest.mark.parametrize("story", ["saltmarsh", *STORIES])
def test_every_movement_of_a_moved_thing_says_what_and_where(story: str) -> None:
    """The sentences of the causes are taken apart; one that is worded otherwise would lose its columns."""
    found, listed = of_story(story)
    kinds = {f.key: f.kind for f in found.findings}
    for job in listed.to_do:
        if any(kinds[key] in (Kind.MOVED_DEVICE, Kind.UPLINK_ELSEWHERE) for key in job.findings):
            assert any(m.what and (m.here or m.there) for m in job.movements), job
        assert not any("into the map" in m.do for m in job.movements), job


def test_the_drifted_station_gives_eight_jobs_and_the_link_to_core_comes_last() -> None:
    _, listed = of_story("saltmarsh")
    assert len(listed.jobs) == 8
    assert listed.exit_code == 1
    assert "U2" in listed.jobs[-1].movements[-1].what


def test_nothing_to_do_says_so_and_is_code_0() -> None:
    _, listed = of_story("all-as-documented")
    assert listed.exit_code == 0
    assert "Nothing to do." in render(listed, "text")


def test_a_switch_that_does_not_answer_makes_nothing_to_do_uncertain() -> None:
    _, listed = of_story("silent-switch")
    assert listed.exit_code == 3
    assert "could not be looked at" in " ".join(render(listed, "text").split())


def test_the_csv_has_a_row_a_movement_numbered_as_the_text_numbers_it() -> None:
    _, listed = of_story("saltmarsh")
    rows = list(csv.DictReader(io.StringIO(render(listed, "csv"), newline="")))
    assert [row["step"] for row in rows] == [str(n) for n in range(1, len(rows) + 1)]
    text = render(listed, "text")
    assert all(f"[ ] {row['step']}. " in text for row in rows)
    assert rows[-1]["uplink"] == "yes"
    assert "local codes" in text


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY)
def test_what_a_map_or_switch_says_never_acts_on_the_reader(nasty: str) -> None:
    said = finding(device=nasty)
    listed = todo(result(said, causes=[plain_cause(said)]))
    for form in ("text", "csv", "json"):
        shown = render(listed, form)
        assert not any(c in shown for c in "\x1b\x00\x07\u202e\u200b")
