"""A site that is looked at night after night: the world changes, the map does not, and `toneout nightly` tells."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from typer.testing import CliRunner, Result

from collectors.snapshot_files import save_snapshot
from reconcile.cli.commands import app
from tests.worlds.expected import Expectation
from tests.worlds.files import site_files, write_site
from tests.worlds.model import TAKEN, World
from tests.worlds.snapshots import snapshot_of

ONE_NIGHT = timedelta(days=1)


class Nights:
    """The site folder of a world. Each call of `night` is one run, a day after the one before."""

    def __init__(self, folder: Path, world: World, settings: str = "") -> None:
        self.folder = folder
        files = site_files(world, Expectation())
        files["toneout.toml"] += settings
        write_site(folder, files)
        self.count = 0

    def run(self, *arguments: str) -> Result:
        """Any command on this site."""
        outcome = CliRunner().invoke(app, ["--site", str(self.folder), *arguments], prog_name="toneout")
        assert outcome.exception is None or isinstance(outcome.exception, SystemExit), outcome.output
        assert "Traceback" not in outcome.output
        return outcome

    def night(self, world: World, *options: str, days: float = 1) -> Result:
        """One run on what the switches of this world say."""
        self.count += 1
        self.taken = getattr(self, "taken", TAKEN) + ONE_NIGHT * days
        save_snapshot(snapshot_of(replace(world, taken=self.taken)), self.snapshot)
        return self.run("nightly", "--snapshot", str(self.snapshot), *options)

    @property
    def snapshot(self) -> Path:
        """What the last night looked at, where the other commands find it too."""
        path = self.folder / "snapshots" / "latest.json"
        path.parent.mkdir(exist_ok=True)
        return path

    def told(self, world: World, *options: str, days: float = 1) -> tuple[int, dict[str, Any]]:
        """Exit code and report of one run, as JSON."""
        outcome = self.night(world, "--format", "json", *options, days=days)
        return outcome.exit_code, json.loads(outcome.stdout)


def lists(report: dict[str, Any]) -> dict[str, list[str]]:
    """The lists of a report that are not empty, each finding by its kind and device."""
    names = ("new", "still", "gone", "flapping", "waiting")
    found = {name: [f"{f['kind']} {f['device']}".strip() for f in report[name]] for name in names}
    found["waived"] = [f"{w['finding']['kind']} {w['finding']['device']}".strip() for w in report["waived"]]
    return {name: sorted(entries) for name, entries in found.items() if entries}
