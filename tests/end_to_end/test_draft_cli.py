"""`toneout draft` as people use it: on the demo, then its files as the map of the site."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.cli.commands import app
from tests.worlds import changes, saltmarsh
from tests.worlds.files import SITES
from tests.worlds.snapshots import snapshot_of

TARGETS = {"schedule": "draft.csv", "tables": "draft", "workbook": "draft.xlsx"}


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo's folder with a snapshot of the drifted station, entered."""
    folder = tmp_path / "saltmarsh"
    shutil.copytree(SITES / "saltmarsh", folder)
    (folder / "snapshots").mkdir()
    save_snapshot(snapshot_of(saltmarsh.drifted()), folder / "snapshots" / "latest.json")
    monkeypatch.chdir(folder)
    return folder


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


def take_up(folder: Path, form: str, path: str) -> None:
    """Puts the draft into toneout.toml as the map, as the command says."""
    settings = folder / "toneout.toml"
    text = (
        settings.read_text().replace('form = "tables"', f'form = "{form}"').replace('path = "map"', f'path = "{path}"')
    )
    settings.write_text(text)


@pytest.mark.parametrize("form", TARGETS)
def test_a_draft_becomes_the_map_and_nothing_differs(form: str, site: Path) -> None:
    drafted = toneout("draft", "--form", form)
    assert drafted.exit_code == 0, drafted.output
    assert f'form = "{form}"' in drafted.stdout
    assert f'path = "{TARGETS[form]}"' in drafted.stdout
    take_up(site, form, TARGETS[form])
    checked = toneout("check")
    assert checked.exit_code == 0, checked.stdout
    assert "STILL TO FILL IN" in checked.stdout
    compared = toneout("reconcile", "--format", "json")
    assert compared.exit_code == 0
    assert json.loads(compared.stdout)["findings"] == []


@pytest.mark.parametrize("form", TARGETS)
def test_nothing_is_ever_overwritten(form: str, site: Path) -> None:
    target = site / TARGETS[form]
    inner = target / "devices.csv" if form == "tables" else target
    inner.parent.mkdir(exist_ok=True)
    inner.write_text("mine")
    refused = toneout("draft", "--form", form)
    assert refused.exit_code == 2
    assert "is there already; nothing was written; try: --out ANOTHER" in refused.stderr
    assert inner.read_text() == "mine"
    assert [path.name for path in inner.parent.iterdir() if path.name.endswith((".part", "cords.csv"))] == []


def test_a_dangling_link_is_not_written_through(site: Path) -> None:
    (site / "draft.csv").symlink_to(site / "elsewhere.csv")
    assert toneout("draft").exit_code == 2
    assert not (site / "elsewhere.csv").exists()


def test_the_headings_of_the_site_are_kept(site: Path) -> None:
    with (site / "toneout.toml").open("a") as settings:
        settings.write('\n[map.columns]\ndevice = "Device name"\nfar_jack = "Second panel"\n')
    take_up(site, "schedule", "draft.csv")
    assert toneout("draft").exit_code == 0
    assert '"Device name"' in (site / "draft.csv").read_text().splitlines()[0]
    assert toneout("check").exit_code == 0


def test_a_schedule_may_be_a_workbook(site: Path) -> None:
    assert toneout("draft", "--out", "first.xlsx").exit_code == 0
    take_up(site, "schedule", "first.xlsx")
    assert toneout("check").exit_code == 0


def test_the_json_has_every_row_and_what_was_left_open(site: Path) -> None:
    made = json.loads(toneout("draft", "--format", "json").stdout)
    assert made["schema_version"] == 1
    assert len(made["rows"]) == (site / "draft.csv").read_text().count("\n") - 1
    assert {point["port"] for point in made["open"]} == {"Gi1/0/9", "11", "Ethernet5"}  # two access points, a server


def test_a_switch_that_did_not_answer_makes_it_code_3(site: Path) -> None:
    world = changes.change_switch(saltmarsh.drifted(), "shed-1", answers=False)
    save_snapshot(snapshot_of(world), site / "snapshots" / "latest.json")
    drafted = toneout("draft")
    assert drafted.exit_code == 3
    assert "shed-1: nothing that it sees is in the draft" in drafted.stdout


def test_names_are_asked_for_only_on_request(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from collectors.transports import reverse_names as module

    asked: list[str] = []

    def answer(ips: tuple[str, ...]) -> tuple[dict[str, str], int]:
        asked.extend(ips)
        return {"10.20.10.21": "wl-ws-1.saltmarsh.example", "10.20.10.22": "=cmd()"}, 1

    monkeypatch.setattr(module, "reverse_names", answer)
    assert toneout("draft", "--out", "without.csv").exit_code == 0
    assert asked == []
    named = toneout("draft", "--names", "dns", "--out", "with.csv")
    assert named.exit_code == 0
    assert "10.20.10.21" in asked
    assert "no name server answered for 1 address within 10 s" in named.stderr
    assert '"wl-ws-1"' in (site / "with.csv").read_text()
    assert '"=cmd' not in (site / "with.csv").read_text()


def test_without_a_snapshot_the_way_to_one_is_told(site: Path) -> None:
    (site / "snapshots" / "latest.json").unlink()
    refused = toneout("draft")
    assert refused.exit_code == 2
    assert "toneout collect" in refused.stderr


def test_the_same_snapshot_gives_the_same_file(site: Path) -> None:
    assert load_snapshot(site / "snapshots" / "latest.json").switches
    for name in ("one.csv", "two.csv"):
        assert toneout("draft", "--out", name).exit_code == 0
    assert (site / "one.csv").read_bytes() == (site / "two.csv").read_bytes()


def test_the_readme_shows_what_the_demo_prints(site: Path) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    shown = readme.partition("## A first map")[2].partition("```text\n")[2].partition("```")[0]
    assert toneout("draft").stdout.startswith(shown)
