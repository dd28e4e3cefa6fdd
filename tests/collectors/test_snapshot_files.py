"""Snapshot files: what is saved comes back, and a wrong file is refused by the field that is wrong."""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors.errors import SnapshotError
from collectors.snapshot import (
    Address,
    CollectedSwitch,
    FailedSwitch,
    Neighbour,
    Port,
    Power,
    Sighting,
    Snapshot,
    Table,
    TableReport,
    TableState,
)
from collectors.snapshot_files import load_snapshot, save_snapshot, snapshot_schema

NOON = datetime(2024, 5, 17, 12, 0, tzinfo=UTC)


def wet_lab(**changes: Any) -> Snapshot:
    switch = CollectedSwitch(
        name="wetlab-sw1",
        address="192.0.2.11",
        started=NOON,
        ports=[Port(name="Gi1/0/1", if_index=1, speed_mbps=1000, power=Power(watts=4.5)), Port(name="Gi1/0/2")],
        vlans={1: "default", 30: "imaging"},
        sightings=[
            Sighting("00:00:5e:00:53:01", 30, "Gi1/0/1", "learned", "dot1q", 1.5),
            Sighting("00:00:5e:00:53:02"),
        ],
        neighbours=[Neighbour(port=None, system_name="外事楼", raw={"system_name": "cde2cac2c2a5"})],
        addresses=[Address(ip="192.0.2.50", mac="00:00:5e:00:53:01")],
        tables={Table.FORWARDING: TableReport(state=TableState.READ, rows=2)},
    )
    failed = FailedSwitch(name="boatshed-sw1", started=NOON, reason="nothing came back", kind="no answer")
    fields: dict[str, Any] = {"started": NOON, "finished": NOON, "switches": [switch], "failed": [failed]}
    return Snapshot(**fields | changes)


def written(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "snapshot.json"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def refusal(path: Path) -> str:
    with pytest.raises(SnapshotError) as caught:
        load_snapshot(path)
    assert str(path) in str(caught.value)
    assert caught.value.hint
    return caught.value.problem


def test_what_is_saved_is_what_is_loaded(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    assert load_snapshot(path) == wet_lab()
    assert isinstance(load_snapshot(path).switches[0].sightings[0], Sighting)


@settings(max_examples=60, deadline=None)
@given(said=st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_whatever_a_neighbour_says_comes_back_and_leaves_no_bare_control_character(
    tmp_path_factory: pytest.TempPathFactory, said: str
) -> None:
    path = tmp_path_factory.mktemp("said") / "snapshot.json"
    snapshot = wet_lab(site=said)
    save_snapshot(snapshot, path)
    assert load_snapshot(path) == snapshot
    bare = path.read_text("utf-8").replace("\n", "")
    assert bare.isprintable() or not any(c < " " or "\x7f" <= c <= "\x9f" or "\u202a" <= c <= "\u202e" for c in bare)


def test_a_file_states_its_schema_version_and_leaves_defaults_out(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(Snapshot(started=NOON, finished=NOON), path)
    assert json.loads(path.read_text()) == {
        "schema_version": 1,
        "started": "2024-05-17T12:00:00Z",
        "finished": "2024-05-17T12:00:00Z",
    }


def test_a_row_of_a_table_is_one_line(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    assert sum("00:00:5e:00:53:0" in line for line in path.read_text().splitlines()) == 3


def test_saving_again_replaces_the_file_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    save_snapshot(wet_lab(site="Saltmarsh"), path)
    assert load_snapshot(path).site == "Saltmarsh"
    assert os.listdir(tmp_path) == ["snapshot.json"]


def test_a_file_that_cannot_be_written_leaves_the_old_one_and_says_why(tmp_path: Path) -> None:
    with pytest.raises(SnapshotError, match="cannot be written"):
        save_snapshot(wet_lab(), tmp_path / "no such folder" / "snapshot.json")
    assert os.listdir(tmp_path) == []


def test_the_schema_is_valid_and_accepts_what_is_saved(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    schema = snapshot_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(path.read_text()), schema, jsonschema.Draft202012Validator)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"started": "x", "finished": "y"}, schema, jsonschema.Draft202012Validator)


def test_a_missing_file_is_named_with_the_command_that_writes_one(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "nothing.json")


def test_a_folder_is_not_a_snapshot(tmp_path: Path) -> None:
    assert "cannot be read" in refusal(tmp_path)


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"", "is empty"),
        (b"switches: none", "is not JSON"),
        (b"\x89PNG\r\n\x1a\n", "is not JSON in UTF-8"),
        (b"[" * 100_000, "nested too deeply"),
        (b"[]", "the whole file: "),
        (b'{"started": "2024-05-17T12:00:00Z", "finished": "2024-05-17T12:00:00Z"}', "schema_version is missing"),
        (b'{"schema_version": 2}', "schema_version: 2 is later than 1"),
        (b'{"schema_version": 1, "started": "2024-05-17T12:00:00Z"}', "finished: Field required"),
    ],
)
def test_a_file_that_is_no_snapshot_is_refused_with_its_reason(tmp_path: Path, content: bytes, problem: str) -> None:
    assert problem in refusal(written(tmp_path, content))


def test_a_truncated_file_is_called_truncated_wherever_it_was_cut(tmp_path: Path) -> None:
    whole = tmp_path / "whole.json"
    save_snapshot(wet_lab(), whole)
    text = whole.read_bytes()
    for length in range(1, len(text) - 2, 97):
        assert "ends in the middle" in refusal(written(tmp_path, text[:length])), text[:length]


def test_a_wrong_field_is_named_by_its_path(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    fields = json.loads(path.read_text())
    fields["switches"][0]["ports"][1]["speed_mbps"] = "fast"
    assert "switches[0].ports[1].speed_mbps: " in refusal(written(tmp_path, json.dumps(fields)))
    fields["switches"][0]["sightings"][1][0] = "no address"
    assert refusal(written(tmp_path, json.dumps(fields))).endswith("(and 1 more)")


def test_a_byte_order_mark_is_no_obstacle(tmp_path: Path) -> None:
    path = tmp_path / "snapshot.json"
    save_snapshot(wet_lab(), path)
    assert load_snapshot(written(tmp_path, b"\xef\xbb\xbf" + path.read_bytes())) == wet_lab()
