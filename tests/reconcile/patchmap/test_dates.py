"""Port names and ranges that became dates. What becomes what: common practice, seen in several spreadsheets."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reconcile.patchmap.dates import from_cell, from_text


@pytest.mark.parametrize(
    ("text", "candidates"),
    [
        ("2-Jan", ("2/1", "1/2")),
        ("02-Jan", ("2/1", "1/2")),
        ("1-Jan", ("1/1",)),
        ("24. Mrz", ("24/3", "3/24")),
        ("3-août", ("3/8", "8/3")),
        ("Jan-24", ("1/24",)),
        ("Jan 24", ("1/24",)),
        ("01/02/2003", ("1/2/3",)),
        ("1.1.2024", ("1/1/24",)),
        ("2025-02-01", ("1/2", "2/1", "2/25", "1/2/25", "2/1/25")),
        ("2025-02-01 00:00:00", ("1/2", "2/1", "2/25", "1/2/25", "2/1/25")),
        ("2025-01-24", ("24/1", "1/24", "24/1/25", "1/24/25")),
        ("01:02:00", ("1:2",)),
    ],
)
def test_a_date_shown_in_a_text_may_have_been_these(text: str, candidates: tuple[str, ...]) -> None:
    became = from_text(text)
    assert became is not None
    assert became.candidates("/") == candidates


@pytest.mark.parametrize(
    "text",
    ["1/2", "1/0/1", "Gi1/0/1", "24", "lab-24", "PP-01", "port 24", "1:2", "2-Janet", "x-Jan", "", "11-11-2025x"],
)
def test_a_port_name_is_no_date(text: str) -> None:
    assert from_text(text) is None


@pytest.mark.parametrize(
    ("value", "number_format", "candidates"),
    [
        (datetime(2025, 1, 2), "d-mmm", ("2/1", "1/2")),
        (datetime(2025, 1, 1), "d-mmm", ("1/1",)),
        (datetime(2024, 1, 1), "mmm-yy", ("1/24",)),
        (datetime(2024, 1, 1), "mm-dd-yy", ("1/1/24",)),
        (datetime(2003, 2, 1), "mm-dd-yy", ("1/2/3", "2/1/3")),
        (date(2025, 2, 1), "General", ("1/2", "2/1", "2/25", "1/2/25", "2/1/25")),
        (time(1, 2), "h:mm", ("1:2",)),
    ],
)
def test_the_number_format_of_a_cell_tells_what_was_recognised(
    value: date | time, number_format: str, candidates: tuple[str, ...]
) -> None:
    assert from_cell(value, number_format).candidates("/") == candidates


@pytest.mark.parametrize(
    ("text", "ranges"),
    [("24-Jan", ("1-24",)), ("Jan-48", ("1-48",)), ("12-Jan", ("1-12",)), ("1-Dec", ("1-12",)), ("1-Jan", ())],
)
def test_a_range_always_rises_which_tells_the_order(text: str, ranges: tuple[str, ...]) -> None:
    became = from_text(text)
    assert became is not None
    assert became.ranges() == ranges


@given(st.datetimes(min_value=datetime(1900, 1, 1)), st.text(max_size=12))
def test_any_date_in_any_format_has_candidates(value: datetime, number_format: str) -> None:
    assert from_cell(value, number_format).candidates("/")


@given(st.text(max_size=30))
def test_any_text_is_a_date_or_none(text: str) -> None:
    became = from_text(text)
    assert became is None or became.candidates("/")
