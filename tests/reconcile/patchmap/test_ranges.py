"""Lists and ranges of positions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reconcile.patchmap.ranges import MAX_POSITIONS, counted, positions, stands_for_many


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("7", ["7"]),
        ("1-4", ["1", "2", "3", "4"]),
        ("1 - 3", ["1", "2", "3"]),
        ("1\N{EN DASH}3", ["1", "2", "3"]),
        ("1..3", ["1", "2", "3"]),
        ("1 to 3", ["1", "2", "3"]),
        ("08-11", ["08", "09", "10", "11"]),
        ("A1-A3", ["A1", "A2", "A3"]),
        ("A1-3", ["A1", "A2", "A3"]),
        ("1-2, 5; 7", ["1", "2", "5", "7"]),
        ("Gi1/0/1-3", ["Gi1/0/1", "Gi1/0/2", "Gi1/0/3"]),
        ("1/1/1-1/1/2, 1/1/A1", ["1/1/1", "1/1/2", "1/1/A1"]),
        ("ge-0/0/0-2", ["ge-0/0/0", "ge-0/0/1", "ge-0/0/2"]),
        ("ge-0/0/1", ["ge-0/0/1"]),
        ("uplink", ["uplink"]),
    ],
)
def test_a_list_stands_for_its_positions_in_order(text: str, expected: list[str]) -> None:
    assert list(positions(text)) == expected


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "it is empty"),
        (",", "it is empty"),
        ("4-1", "it runs backwards"),
        ("1-4,3", "it has 3 twice"),
        ("1/1-2/4", "differ in more than the last number"),
        ("1-99999", "more than 4,096 positions"),
        ("1-99999999999999999999", "its numbers are too long"),
        (",".join(f"{n}-{n + 999}" for n in range(0, 9000, 1000)), "more than 4,096 positions"),
    ],
)
def test_what_stands_for_no_positions_says_why(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        positions(text)


def test_cables_may_be_fitted_in_opposite_order() -> None:
    assert positions("3-1", descending=True) == ("3", "2", "1")


@pytest.mark.parametrize(("text", "count"), [("24", 24), ("1", 1), ("1-24", 24), ("24A", 1), ("1,2", 2)])
def test_a_number_alone_is_how_many_jacks_there_are(text: str, count: int) -> None:
    assert len(counted(text)) == count


@pytest.mark.parametrize("text", ["0", "", "5000", "123456789"])
def test_no_panel_has_no_jack_or_thousands(text: str) -> None:
    with pytest.raises(ValueError, match=r"empty|more than"):
        counted(text)


@given(st.integers(0, 5000), st.integers(0, 300), st.text("ABgi/-_.", max_size=4))
def test_a_range_has_as_many_positions_as_its_numbers_say(low: int, more: int, prefix: str) -> None:
    found = positions(f"{prefix}{low}-{low + more}")
    assert len(found) == more + 1
    assert (found[0], found[-1]) == (f"{prefix.strip()}{low}", f"{prefix.strip()}{low + more}")


@given(st.text(max_size=60))
def test_no_text_makes_more_than_a_reason(text: str) -> None:
    for read in (positions, counted):
        try:
            found = read(text)
        except ValueError as error:
            assert str(error)  # noqa: PT017  # either outcome is right; what counts is that it is one of the two
        else:
            assert 0 < len(found) <= MAX_POSITIONS
            assert len(set(found)) == len(found)


def test_one_position_is_not_many() -> None:
    assert [stands_for_many(text) for text in ("7", "1-2", "1,2", "4-1", "1/1-2/4", "")] == [
        False, True, True, True, False, False,
    ]  # fmt: skip
