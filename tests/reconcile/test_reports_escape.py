"""What makes hostile text harmless."""

from __future__ import annotations

import csv
import io
import json
import unicodedata

import pytest

from reconcile.reports.escape import LONGEST_SENTENCE, LONGEST_WORD, csv_cell, json_text, sentence, visible
from tests.nasty import NASTY, acting_characters


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_visible_text_has_no_acting_character_and_one_line(text: str) -> None:
    shown = visible(text)
    assert acting_characters(shown + "\n") == set()
    assert "\n" not in shown
    shown.encode("utf-8")


def test_every_character_of_the_acting_unicode_categories_is_spelled_out() -> None:
    acting = [chr(n) for n in range(0x110000) if unicodedata.category(chr(n)) in {"Cc", "Cf", "Cs", "Zl", "Zp"}]
    assert len(acting) > 2_000
    assert [c for c in acting if c in visible(c)] == []


def test_the_characters_named_in_cwe_150_and_uax_9_are_spelled_out_by_number() -> None:
    # CWE-150 (escape sequences); UAX #9 section 2 names the directional formatting characters.
    assert visible("\x1b[2J\x9b\x7f\x00") == r"\x1b[2J\x9b\x7f\x00"
    assert visible("\u202e\u2066\u200f\u061c") == r"\u202e\u2066\u200f\u061c"
    assert visible("\U000e0041") == r"\U000e0041"


def test_a_system_description_with_line_feeds_prints_on_one_line() -> None:
    # Common in real LLDP captures; check value C119 of the project's list.
    assert visible("Software, Version 12\r\nCopyright\n") == r"Software, Version 12\r\nCopyright\n"


def test_letters_of_any_script_stay_as_they_are() -> None:
    assert visible("Küche Ωμέγα 研究所 naïve") == "Küche Ωμέγα 研究所 naïve"


@pytest.mark.parametrize(
    ("text", "cell"),
    [  # OWASP, "CSV Injection", its two worked examples
        ('=1+2";=1+2', '"\'=1+2"";=1+2"'),
        ("=1+2'\" ;,=1+2", '"\'=1+2\'"" ;,=1+2"'),
    ],
)
def test_csv_cells_equal_the_worked_examples_of_owasp(text: str, cell: str) -> None:
    assert csv_cell(text) == cell


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n"])
def test_no_csv_cell_starts_with_a_character_that_owasp_calls_dangerous(start: str) -> None:
    # OWASP, "CSV Injection": = + - @ TAB CR, and LF since 2025-08.
    assert csv_cell(start + "1").startswith("\"'")


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_a_csv_cell_reads_back_as_one_field_that_is_no_formula(text: str) -> None:
    rows = list(csv.reader(io.StringIO(csv_cell(text) + "," + csv_cell("next") + "\r\n", newline="")))
    assert len(rows) == 1
    assert rows[0][1:] == ["next"]
    assert rows[0][0].lstrip()[:1] not in {"=", "+", "-", "@", "＝", "＋", "－", "＠"}


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_json_keeps_the_text_exactly_and_prints_no_acting_character(text: str) -> None:
    written = json_text(json.dumps({"text": text}, ensure_ascii=False, indent=1))
    assert json.loads(written) == {"text": text}
    assert acting_characters(written) == set()


@pytest.mark.parametrize("text", NASTY.values(), ids=NASTY.keys())
def test_a_sentence_is_bounded(text: str) -> None:
    most_of_one_character = 10  # \U000e0041
    assert len(sentence(text)) <= most_of_one_character * (LONGEST_SENTENCE + LONGEST_WORD)


def test_a_sentence_never_cuts_an_identifier() -> None:
    longest = "port-" + "x" * (LONGEST_WORD - 5)  # 255 octets, the most that LLDP can carry
    told = sentence(f"{longest} " + "and more " * 500)
    assert longest in told
    assert set(told.split()) <= {longest, "and", "more", "…"}


def test_a_giant_word_ends_in_an_ellipsis() -> None:
    assert sentence("says " + "A" * 10_000 + " here") == "says " + "A" * 60 + "… here"
