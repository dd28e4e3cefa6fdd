"""The site folders under fixtures/ are what the worlds write, to the byte."""

from __future__ import annotations

import pytest

from tests.worlds import saltmarsh, stories
from tests.worlds.expected import load
from tests.worlds.files import SITES, read_site

HOW = "run python -m tests.worlds.saltmarsh and python -m tests.worlds.stories, then look at the difference"


@pytest.mark.parametrize("name", ["saltmarsh", *stories.STORIES])
def test_the_committed_folder_equals_what_its_world_writes(name: str) -> None:
    written = saltmarsh.files() if name == "saltmarsh" else stories.files(name)
    committed = read_site(SITES / name)
    assert sorted(committed) == sorted(written), HOW
    for path, text in written.items():
        assert committed[path] == text, f"{path}: {HOW}"


@pytest.mark.parametrize("name", ["saltmarsh", *stories.STORIES])
def test_an_expectation_reads_back_as_it_was_written(name: str) -> None:
    expectation = saltmarsh.expected() if name == "saltmarsh" else stories.STORIES[name]()[1]
    assert load(SITES / name / "expected.toml") == expectation


def test_the_demo_site_has_four_switches_forty_devices_five_rooms_and_stays_small() -> None:
    record = saltmarsh.documented().record
    assert len(record.switches) == 4
    assert len(record.devices) == 40
    assert {outlet.room for outlet in record.outlets} | {device.room for device in record.devices} == {
        "comms room", "wet lab", "imaging room", "boat shed", "bunkhouse",
    }  # fmt: skip
    assert len(saltmarsh.expected().drifts) == 8
    assert sum(len(text.encode()) for text in saltmarsh.files().values()) < 300_000
