"""Every command reads a snapshot as columns as it reads one as text, and a site of many sightings is kept so."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from collectors import snapshot_files
from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.cli.asking import keep, latest, previous
from reconcile.cli.commands import app
from reconcile.site import load_site
from tests.reconcile.example_network import LATHE, MICROSCOPE, STRANGER, snapshot

DRIFT = {"SW-1": {"Gi1/0/1": MICROSCOPE, "Gi1/0/9": STRANGER}, "SW-2": {"Gi0/1": LATHE}}


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "site"
    assert toneout("init", folder).exit_code == 0
    monkeypatch.chdir(folder)
    for name in ("seen.json", "seen.parquet"):
        save_snapshot(snapshot(DRIFT), folder / name)
    return folder


@pytest.mark.parametrize(
    "command",
    [
        ("reconcile",),
        ("reconcile", "--format", "json"),
        ("trace", MICROSCOPE, "--why"),
        ("todo",),
        ("limits",),
        ("page", "--out", "page.html"),
    ],
    ids=lambda command: " ".join(command[:2]),
)
def test_a_command_says_the_same_of_columns_and_of_text(site: Path, command: tuple[str, ...]) -> None:
    text, columns = (toneout(*command, "--snapshot", name) for name in ("seen.json", "seen.parquet"))
    assert text.exit_code in (0, 1, 3)
    assert (columns.exit_code, columns.output) == (text.exit_code, text.output)


def test_a_damaged_file_of_columns_is_told_without_a_traceback(site: Path) -> None:
    whole = (site / "seen.parquet").read_bytes()
    (site / "seen.parquet").write_bytes(whole[: len(whole) // 2])
    outcome = toneout("reconcile", "--snapshot", "seen.parquet")
    assert outcome.exit_code == 2
    assert "seen.parquet: is damaged, or was cut off" in outcome.output


def test_the_latest_snapshot_has_the_form_that_suits_its_size(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = load_site(site)
    small, large = snapshot(), snapshot(DRIFT)
    assert keep(small, here).name == "latest.json"
    monkeypatch.setattr(snapshot_files, "MANY_ROWS", 1)
    assert keep(large, here).name == "latest.parquet"
    assert (latest(here).name, previous(here).name) == ("latest.parquet", "previous.json")
    assert (load_snapshot(latest(here)), load_snapshot(previous(here))) == (large, small)
    monkeypatch.undo()
    assert keep(small, here).name == "latest.json"
    assert (latest(here).name, previous(here).name) == ("latest.json", "previous.parquet")
    assert load_snapshot(previous(here)) == large
    assert sorted(path.name for path in (site / "snapshots").iterdir()) == ["latest.json", "previous.parquet"]
