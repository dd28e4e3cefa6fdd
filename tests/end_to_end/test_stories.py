"""Whole small worlds: simulated switches over real UDP, the real command line, and exactly the findings expected."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from collectors.simulator import Simulator, recordings_in
from reconcile.cli.commands import app
from tests.end_to_end.sites import COMMUNITY, copy_of
from tests.worlds.expected import load
from tests.worlds.files import SITES
from tests.worlds.judging import counted, found_in, gaps_in, verdicts_in

STORIES = sorted(folder.name for folder in SITES.iterdir() if (folder / "expected.toml").is_file())


@dataclass(frozen=True)
class Served:
    """All switches of all stories, by story; and a port where nobody answers."""

    endpoints: dict[str, dict[str, tuple[str, int]]]
    silent_port: int

    def site(self, story: str, folder: Path) -> Path:
        hasty = ("wet-1",) if story == "one-vlan-only" else ()
        endpoints = self.endpoints[story]
        return copy_of(SITES / story, folder / story, endpoints, silent_port=self.silent_port, hasty=hasty)


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    """One simulator for all stories: starting it costs more than any of them."""
    recordings = {
        (story, switch): path
        for story in STORIES
        for switch, path in recordings_in(SITES / story / "recordings").items()
    }
    by_name = {f"{story}/{switch}": path for (story, switch), path in recordings.items()}
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mute,
        Simulator(by_name, community=COMMUNITY) as simulator,
    ):
        mute.bind(("127.0.0.1", 0))
        endpoints: dict[str, dict[str, tuple[str, int]]] = {story: {} for story in STORIES}
        for story, switch in recordings:
            endpoints[story][switch] = simulator.endpoints[f"{story}/{switch}"]
        yield Served(endpoints, mute.getsockname()[1])


def reconciled(site: Path) -> tuple[int, dict[str, Any]]:
    """Exit code and report of `toneout reconcile --collect`."""
    outcome = CliRunner().invoke(app, ["--site", str(site), "-q", "reconcile", "--collect", "--format", "json"])
    assert outcome.exception is None or isinstance(outcome.exception, SystemExit), outcome.output
    return outcome.exit_code, json.loads(outcome.stdout)


@pytest.mark.parametrize("story", STORIES)
def test_a_story_gives_exactly_the_findings_expected_of_it(story: str, served: Served, tmp_path: Path) -> None:
    expected = load(SITES / story / "expected.toml")
    exit_code, report = reconciled(served.site(story, tmp_path))
    assert found_in(report) == expected.findings
    assert gaps_in(report) == sorted(expected.gaps)
    assert verdicts_in(report) == counted(dict(expected.verdicts))
    assert exit_code == expected.exit_code


@pytest.mark.parametrize("story", ["all-as-documented", "moved-device", "silent-switch"])
def test_a_process_of_its_own_says_the_same(story: str, served: Served, tmp_path: Path) -> None:
    expected = load(SITES / story / "expected.toml")
    command = [sys.executable, "-m", "reconcile.cli.main", "--site", str(served.site(story, tmp_path))]
    asked = subprocess.run([*command, "collect"], capture_output=True, text=True, timeout=120, check=False)
    assert asked.returncode == (3 if expected.gaps else 0), asked.stderr
    told = subprocess.run(
        [*command, "reconcile", "--format", "json"], capture_output=True, text=True, timeout=120, check=False
    )
    assert told.returncode == expected.exit_code, told.stderr
    assert found_in(json.loads(told.stdout)) == expected.findings
    assert "Traceback" not in asked.stderr + told.stderr


@pytest.mark.parametrize("story", STORIES)
def test_the_map_of_a_story_passes_its_check(story: str, served: Served, tmp_path: Path) -> None:
    outcome = CliRunner().invoke(app, ["--site", str(served.site(story, tmp_path)), "check"])
    assert outcome.exit_code == 0, outcome.output


def test_the_report_for_people_names_every_device_and_port_of_every_finding(served: Served, tmp_path: Path) -> None:
    expected = load(SITES / "saltmarsh" / "expected.toml")
    site = served.site("saltmarsh", tmp_path)
    outcome = CliRunner().invoke(app, ["--site", str(site), "-q", "reconcile", "--collect"])
    for found in expected.findings:
        switch, _, port = found.port.partition(":")
        for word in (switch, port, found.device, *found.macs):
            assert word in outcome.stdout
