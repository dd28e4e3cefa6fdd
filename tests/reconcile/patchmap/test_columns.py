"""The columns of a map: what they are called, and that the documentation says the same."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

import reconcile.patchmap.files as files
from reconcile.patchmap.columns import COLUMNS, TABLES, column_of, describe_columns, heading_key, table_of
from reconcile.patchmap.model import Cord, Device, FixedCable, Outlet, Panel, Switch

MODELS: dict[str, type[BaseModel]] = {
    "switches": Switch, "panels": Panel, "outlets": Outlet, "fixed_cables": FixedCable, "cords": Cord,
    "devices": Device,
}  # fmt: skip


def test_the_documented_list_of_columns_is_the_list_of_columns() -> None:
    lines = [
        f"    {column.name + ('*' if column.required else ''):<12} {column.meaning} ({column.example})"
        for column in describe_columns()
    ]
    documented = [line for line in (files.__doc__ or "").splitlines() if line.startswith("    ")]
    assert documented == lines


def test_every_field_of_the_model_has_its_column() -> None:
    for table, model in MODELS.items():
        own = set(model.model_fields) - {"origin", "extra", "headings"}
        assert {column.name for column in COLUMNS[table]} == own


@pytest.mark.parametrize("table", list(COLUMNS))
def test_no_heading_means_two_columns_of_one_table(table: str) -> None:
    meant: dict[str, str] = {}
    for column in COLUMNS[table]:
        for word in (column.name, *column.synonyms):
            assert meant.setdefault(heading_key(word), column.name) == column.name


@pytest.mark.parametrize(
    ("table", "heading", "column"),
    [
        ("devices", "MAC Address", "macs"),
        ("devices", " mac-address ", "macs"),
        ("devices", "MAC\N{NO-BREAK SPACE}address", "macs"),
        ("cords", "From", "a"),
        ("cords", "Length (m)", "length_m"),
        ("fixed_cables", "Cable ID", "label"),
        ("schedule", "Patch Panel Port", "jack"),
        ("schedule", "Switch port", "port"),
        ("schedule", "Asset number", ""),
    ],
)
def test_headings_are_known_by_usual_words_in_any_spelling(table: str, heading: str, column: str) -> None:
    assert column_of(table, heading) == column


@pytest.mark.parametrize("name", ["fixed-cables", "Fixed Cables", "FIXED_CABLES", "fixedcables", "fixed  cables "])
def test_a_table_is_known_by_its_name_in_any_spelling(name: str) -> None:
    assert table_of(name) == "fixed_cables"


def test_examples_can_be_read_back() -> None:
    assert all(column.example and column.meaning for column in describe_columns())
    assert {column.table for column in describe_columns()} == {*TABLES, "schedule"}
