"""Stories of several nights (fixtures/sites/nights), replayed through the real commands.

Every network of a story is a site folder beside it, whose recorded switches `toneout collect` really asks. Its snapshot
is then dated a day later from night to night, and `toneout nightly` tells.
"""

from __future__ import annotations

import json
import socket
import tomllib
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from collectors.simulator import Simulator, recordings_in
from collectors.snapshot import Snapshot
from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.cli.commands import app
from tests.end_to_end.nights import lists
from tests.end_to_end.sites import COMMUNITY, copy_of
from tests.worlds.files import SITES
from tests.worlds.model import TAKEN

STORIES = {path.stem: tomllib.loads(path.read_text("utf-8")) for path in sorted((SITES / "nights").glob("*.toml"))}
NETWORKS = sorted({night["network"] for story in STORIES.values() for night in story["night"]})


def toneout(site: Path, *arguments: str | Path) -> Result:
    outcome = CliRunner().invoke(app, ["--site", str(site), *map(str, arguments)], prog_name="toneout")
    assert outcome.exception is None or isinstance(outcome.exception, SystemExit), outcome.output
    return outcome


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Snapshot]:
    """What the switches of each network say, asked over UDP."""
    folder = tmp_path_factory.mktemp("networks")
    recordings = {
        f"{network}/{switch}": path
        for network in NETWORKS
        for switch, path in recordings_in(SITES / network / "recordings").items()
    }
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mute,
        Simulator(recordings, community=COMMUNITY) as simulator,
    ):
        mute.bind(("127.0.0.1", 0))
        found = {}
        for network in NETWORKS:
            endpoints = {
                name.partition("/")[2]: endpoint
                for name, endpoint in simulator.endpoints.items()
                if name.startswith(f"{network}/")
            }
            site = copy_of(SITES / network, folder / network, endpoints, silent_port=mute.getsockname()[1])
            assert toneout(site, "collect", "--out", folder / f"{network}.json").exit_code in (0, 3)
            found[network] = load_snapshot(folder / f"{network}.json")
    return found


def night_of(site: Path, told: Snapshot, number: int) -> tuple[int, dict[str, Any]]:
    """Exit code and report of the night of that number, from 0."""
    shift = TAKEN + timedelta(days=number) - told.finished
    dated = told.model_copy(update={"started": told.started + shift, "finished": told.finished + shift})
    save_snapshot(dated, site / "tonight.json")
    outcome = toneout(site, "nightly", "--snapshot", site / "tonight.json", "--format", "json")
    return outcome.exit_code, json.loads(outcome.stdout)


@pytest.mark.parametrize("name", sorted(STORIES))
def test_each_night_of_a_story_tells_just_what_is_new_still_there_and_gone(
    name: str, collected: dict[str, Snapshot], tmp_path: Path
) -> None:
    story = STORIES[name]
    site = copy_of(SITES / story["site"], tmp_path / "site", {}, silent_port=9)
    settings = site / "toneout.toml"
    settings.write_text(f"{settings.read_text()}\n[nightly]\nmin_runs = {story.get('min_runs', 1)}\n")
    told, expected = [], []
    for number, night in enumerate(story["night"]):
        code, report = night_of(site, collected[night["network"]], number)
        told.append((number, code, lists(report)))
        expected.append((number, night["exit_code"], {k: v for k, v in night.items() if isinstance(v, list)}))
    assert told == expected
    runs = json.loads(toneout(site, "history", "--format", "json").stdout)["runs"]
    assert [run["run"] for run in runs] == list(range(1, len(story["night"]) + 1))


def test_there_are_stories() -> None:
    assert len(STORIES) >= 3
