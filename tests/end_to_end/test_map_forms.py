"""One map in its three forms: folder of tables, workbook, flat schedule with headings of its own. The same report."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from typer.testing import CliRunner

from collectors.snapshot_files import save_snapshot
from reconcile.cli.commands import app
from tests.worlds import maps, saltmarsh
from tests.worlds.files import write_site
from tests.worlds.judging import counted, found_in, verdicts_in
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.drifted()
EXPECTED = saltmarsh.expected()


def as_tables(_folder: Path) -> dict[str, Any]:
    return {"form": "tables", "path": "map"}


def as_workbook(folder: Path) -> dict[str, Any]:
    maps.save_workbook(WORLD.record, folder / "cabling.xlsx")
    return {"form": "workbook", "path": "cabling.xlsx"}


def as_schedule(folder: Path) -> dict[str, Any]:
    text = maps.csv_text(maps.schedule(WORLD.record))
    (folder / "cabling.csv").write_text(text, "utf-8")
    return {"form": "schedule", "path": "cabling.csv", "columns": maps.SCHEDULE_HEADINGS}


def as_spreadsheet_export(folder: Path) -> dict[str, Any]:
    """The schedule as a spreadsheet of central Europe exports it: semicolons, a byte-order mark, CRLF."""
    text = maps.csv_text(maps.schedule(WORLD.record), delimiter=";").replace("\n", "\r\n")
    (folder / "cabling.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    return {"form": "schedule", "path": "cabling.csv", "columns": maps.SCHEDULE_HEADINGS}


FORMS = [as_tables, as_workbook, as_schedule, as_spreadsheet_export]


def report_of(form: Callable[[Path], dict[str, Any]], folder: Path) -> dict[str, Any]:
    """What `toneout reconcile` says of the drifted station with its map in that form."""
    write_site(folder, saltmarsh.files())
    path = folder / "toneout.toml"
    settings = tomlkit.parse(path.read_text("utf-8"))
    settings["map"] = form(folder)
    path.write_text(tomlkit.dumps(settings), "utf-8")
    save_snapshot(snapshot_of(WORLD), folder / "evening.json")
    command = ["--site", str(folder), "reconcile", "--snapshot", str(folder / "evening.json"), "--format", "json"]
    outcome = CliRunner().invoke(app, command)
    assert outcome.exit_code == 1, outcome.output
    report: dict[str, Any] = json.loads(outcome.stdout)
    return report


@pytest.mark.parametrize("form", FORMS)
def test_every_form_of_the_map_gives_the_same_findings(form: Callable[[Path], dict[str, Any]], tmp_path: Path) -> None:
    report = report_of(form, tmp_path)
    assert found_in(report) == EXPECTED.findings
    assert report["gaps"] == []


@pytest.mark.parametrize("form", [as_tables, as_workbook])
def test_tables_and_workbook_give_the_same_verdicts(form: Callable[[Path], dict[str, Any]], tmp_path: Path) -> None:
    assert verdicts_in(report_of(form, tmp_path)) == counted(dict(EXPECTED.verdicts))


def test_a_schedule_lacks_only_what_has_no_port_of_its_own(tmp_path: Path) -> None:
    """The computers behind two telephones have no row in a list of switch ports: two confirmed channels fewer."""
    expected = counted(dict(EXPECTED.verdicts))
    assert verdicts_in(report_of(as_schedule, tmp_path)) == expected | {"confirmed": expected["confirmed"] - 2}


def test_findings_of_every_form_keep_their_keys_and_name_the_same_places(tmp_path: Path) -> None:
    """A waiver or a history survives the change from one form to another."""
    said = []
    for form in FORMS:
        findings = report_of(form, tmp_path / form.__name__)["findings"]
        said.append(sorted((f["key"], f["where"]["panel"], f["where"]["outlet"], f["where"]["cord"]) for f in findings))
    assert said[0] == said[1] == said[2] == said[3]
