"""Every answer for programs has a published schema, and keeps to it on the demo sites.

jsonschema is an independent reader of JSON Schema, draft 2020-12.
"""

from __future__ import annotations

import json
import re
import shutil
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot_files import save_snapshot
from reconcile.cli.commands import COMMANDS, app
from reconcile.cli.tell import Described
from reconcile.reports.published import MODELS
from tests.worlds import changes, saltmarsh
from tests.worlds.files import SITES
from tests.worlds.snapshots import snapshot_of

ANSWERS: dict[str, list[list[str]]] = {
    "result": [["reconcile"]],
    "night": [["nightly", "--snapshot", "snapshots/later.json"]],
    "history": [["history"]],
    "life": [["history", "wl-tank-1"], ["history", "acc-1:Gi1/0/3"]],
    "check": [["check"]],
    "columns": [["check", "--columns"]],
    "draft": [["draft"]],
    "trace": [["trace", "wl-tank-1", "--why"], ["trace", "PP-A:3"]],
    "todo": [["todo"]],
    "limits": [["limits"]],
    "limit-values": [["limits", "--list"]],
    "spare": [["spare", "--need", "wet lab=2"], ["spare"]],
    "cords": [["cords", "--labels"], ["cords", "--need", "wet lab=2"], ["cords", "--free", "acc-1", "--new"]],
    "swap": [["swap", "check", "--snapshot", "snapshots/later.json"]],
    "teardown": [["teardown", "acc-1"]],
    "teardown-after": [["teardown", "--after", "--snapshot", "snapshots/later.json"]],
}
"""By the name of the schema, commands of which the JSON is such an answer; each may rest on those before it."""


def toneout(*arguments: str) -> Result:
    return CliRunner().invoke(app, arguments, prog_name="toneout")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's folder with two snapshots a day apart, a night written down, a swap begun and a teardown planned."""
    folder = tmp_path_factory.mktemp("demo") / "saltmarsh"
    shutil.copytree(SITES / "saltmarsh", folder)
    snapshots = folder / "snapshots"
    snapshots.mkdir()
    tonight = snapshot_of(saltmarsh.drifted())
    later = snapshot_of(changes.unplug(saltmarsh.drifted(), "acc-1:Gi1/0/8"))
    later = later.model_copy(update={"finished": tonight.finished + timedelta(days=1)})
    save_snapshot(tonight, snapshots / "latest.json")
    save_snapshot(later, snapshots / "later.json")
    for command in (["nightly"], ["swap", "start"]):
        outcome = toneout("--site", str(folder), *command, "--snapshot", str(snapshots / "latest.json"))
        assert outcome.exit_code in (0, 1), outcome.output
    assert toneout("--site", str(folder), "teardown", "WL-01").exit_code in (0, 1)
    return folder


def answer(site: Path, command: list[str]) -> Any:
    words = [str(site / word) if word.startswith("snapshots/") else word for word in command]
    if command[0] == "draft":
        words += ["--out", str(site / "first.csv")]
    outcome = toneout("--site", str(site), *words, "--format", "json")
    assert outcome.exit_code in (0, 1, 3), outcome.output
    return json.loads(outcome.stdout)


@pytest.fixture(scope="module")
def answers(site: Path) -> dict[str, list[Any]]:
    """What each command answers, asked once: a night is written down, and a draft is not written twice."""
    return {name: [answer(site, command) for command in commands] for name, commands in ANSWERS.items()}


def published(name: str) -> Any:
    schema = json.loads(toneout("schema", "--of", name).stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    return schema


@pytest.mark.parametrize("name", ANSWERS)
def test_what_a_command_answers_is_what_its_schema_says(name: str, answers: dict[str, list[Any]]) -> None:
    validator = jsonschema.Draft202012Validator(published(name))
    for found in answers[name]:
        assert [error.message for error in validator.iter_errors(found)] == []


@pytest.mark.parametrize("name", ANSWERS)
def test_a_schema_allows_no_other_field(name: str, answers: dict[str, list[Any]]) -> None:
    validator = jsonschema.Draft202012Validator(published(name))
    first = answers[name][0]
    more = {"nobody told of this": 1}
    found = [first[0] | more] if isinstance(first, list) else first | more
    assert any("nobody told of this" in error.message for error in validator.iter_errors(found))


def test_the_second_demo_keeps_to_the_schemas_as_well(tmp_path: Path) -> None:
    folder = tmp_path / "hatchery"
    shutil.copytree(SITES / "cable-limits", folder)
    for name in ("limits", "spare", "cords", "result"):
        for command in ANSWERS[name]:
            if "wet lab=2" not in command and "acc-1" not in command:
                jsonschema.validate(answer(folder, command), published(name))


def test_a_snapshot_file_is_what_its_schema_says(site: Path) -> None:
    jsonschema.validate(json.loads((site / "snapshots" / "latest.json").read_text()), published("snapshot"))


def test_every_command_that_answers_in_json_has_its_schema() -> None:
    names = [command.__name__ for command in COMMANDS] + ["swap check", "swap start"]
    answering = {name for name in names if re.search(r"--format <[a-z|]*json", toneout(*name.split(), "--help").output)}
    assert answering == {" ".join(words[0][: 2 if words[0][0] == "swap" else 1]) for words in ANSWERS.values()}


def test_the_names_of_schemas_are_those_that_can_be_asked_for() -> None:
    assert {kind.value for kind in Described} == {*MODELS, "snapshot"} == {*ANSWERS, "snapshot"}
