"""The cells that are edited are the cells that are read: held against Python's csv module."""

from __future__ import annotations

import csv
import io

from hypothesis import example, given
from hypothesis import strategies as st

from reconcile.patchmap.edit.tokens import records

PIECES = st.lists(st.sampled_from(["a", "b c", ",", ";", '"', '""', "\n", "\r\n", "\r", " ", "ä", "7"]), max_size=25)


@given(PIECES.map("".join), st.sampled_from(",;"))
@example('"open', ",")
@example('a,"b"c,d\r\n\r\n"x\ny",\r', ",")
@example("a\r\r\nb", ",")
def test_rows_and_cells_are_those_of_the_reader(text: str, delimiter: str) -> None:
    read = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    assert [[cell.text for cell in record.cells] for record in records(text, delimiter)] == read


@given(PIECES.map("".join), st.sampled_from(",;"))
def test_the_places_of_cells_cover_the_text_but_separators_and_line_ends(text: str, delimiter: str) -> None:
    left = []
    at = 0
    for record in records(text, delimiter):
        for cell in record.cells:
            left.append(text[at : cell.start])
            at = cell.end
        left.append(text[at : record.stop])
        at = record.stop
    assert at == len(text)
    assert set(left) <= {"", delimiter, "\n", "\r", "\r\n"}
