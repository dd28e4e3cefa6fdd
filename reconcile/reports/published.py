"""What programs may rely on: every form of `--format json` by name, with the model that its JSON Schema comes from.

Most answers are models already. The others, which are put together when they are rendered, are described here; a test
holds each command's JSON on the demo sites to its schema.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

MODELS = {
    "result": ("reconcile.result", "Result"),
    "night": ("reconcile.history.night", "Night"),
    "history": ("reconcile.history.lives", "Runs"),
    "life": ("reconcile.history.lives", "Life"),
    "check": (__name__, "CheckAnswer"),
    "columns": (__name__, "ColumnRow"),
    "draft": ("reconcile.draft.model", "Draft"),
    "trace": ("reconcile.trace", "Trace"),
    "todo": ("reconcile.todo", "Todo"),
    "limits": ("reconcile.limits.report", "LimitsReport"),
    "limit-values": (__name__, "LimitRow"),
    "spare": ("reconcile.reports.published_spare", "SpareAnswer"),
    "cords": (__name__, "CordsAnswer"),
    "swap": ("reconcile.swap.model", "SwapCheck"),
    "teardown": ("reconcile.teardown.model", "TeardownPlan"),
    "teardown-after": ("reconcile.teardown.model", "AfterCheck"),
}
"""Name -> module and class. Looked up when asked for: together they take a second to load."""

LISTS = ("columns", "limit-values")
"""Answers that are lists of such rows."""


def published_schema(name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the answer of that name, or of a snapshot."""
    from reconcile.reports.as_json import schema_of

    if name == "snapshot":
        from collectors.snapshot_files import snapshot_schema

        return snapshot_schema()
    module, kind = MODELS[name]
    found = schema_of(getattr(import_module(module), kind))
    if name not in LISTS:
        return found
    return {"$schema": found.pop("$schema"), "type": "array", "items": found}


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class FaultRow(_Model):
    """One fault of the record, every field as text."""

    file: str
    sheet: str
    row: str
    column: str
    severity: str
    problem: str
    hint: str = Field(serialization_alias="what to do")
    code: str


class GapRow(_Model):
    """One row that a person has still to complete."""

    record: str = Field(description="file, sheet and row")
    about: str
    columns: list[str]


class CheckAnswer(_Model):
    """`toneout check`. `rows` counts the rows of each table of the map."""

    schema_version: int
    rows: dict[str, int]
    faults: list[FaultRow]
    to_fill: list[GapRow]


class ColumnRow(_Model):
    """One row of `toneout check --columns`."""

    table: str
    column: str
    required: str = Field(description="yes, or empty")
    meaning: str
    example: str
    synonyms: str = Field(serialization_alias="also read as")


class LimitRow(_Model):
    """One row of `toneout limits --list`."""

    limit: str
    value: str
    unit: str
    standing: str
    source: str


class CordRow(_Model):
    """One cord. Lengths in metres: by geometry, what is sold, and what the map says that is there."""

    label: str
    a: str
    b: str
    least_m: float | None
    stock_m: float | None
    category: str
    shield: str
    colour: str
    there_m: float | None
    missing: list[str]
    assumed: bool
    budget: str = Field(description="why the channel would be too long with it, else empty")
    to_get: bool
    short: bool


class OrderLine(_Model):
    """So many pieces of one kind, `spares` of them beyond need."""

    length_m: float | None
    category: str
    shield: str
    colour: str
    pieces: int
    spares: int


class ReusedCord(_Model):
    """A cord that a change sets free, and where it goes."""

    label: str
    length_m: float
    a: str
    b: str


class LabelRow(_Model):
    """The texts for both ends of one cord or cable."""

    kind: str
    at_a: str
    at_b: str
    a: str
    b: str
    origin: str
    problem: str


class CordsAnswer(_Model):
    """`toneout cords`."""

    schema_version: int
    site: str
    cords: list[CordRow]
    order: list[OrderLine]
    reused: list[ReusedCord]
    lacking: list[str]
    labels: list[LabelRow]
