"""MAC addresses as people and spreadsheets write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.names import int_to_mac
from reconcile.patchmap.macs import read_macs

A, B = "00:00:5e:00:53:0a", "00:00:5e:00:53:0b"  # RFC 7042: for documentation


def read(text: str) -> list[str]:
    return read_macs(text, {"-", "n/a"})[0]


def codes(text: str) -> list[str]:
    return [code for code, _ in read_macs(text, {"-", "n/a"})[1]]


@pytest.mark.parametrize(
    "text",
    [
        "00:00:5E:00:53:0A",
        "00-00-5e-00-53-0a",
        "0000.5e00.530a",
        "00005e00530a",
        "00005E-00530A",
        "0:0:5e:0:53:a",
        "00 00 5e 00 53 0a",
        "0x00005e00530a",
        "  00:00:5e:00:53:0a\N{NO-BREAK SPACE}",
    ],
)
def test_every_usual_spelling_is_read(text: str) -> None:
    assert (read(text), codes(text)) == ([A], [])


@pytest.mark.parametrize("separator", [", ", ",", ";", " ; ", "\n", "\r\n", " ", "  ", "/", " / ", "|", ",\n"])
def test_several_addresses_in_one_cell_are_parted(separator: str) -> None:
    assert read(f"00:00:5e:00:53:0A{separator}0000.5e00.530b") == [A, B]


def test_octets_with_blanks_make_two_addresses_where_there_are_twelve() -> None:
    assert read("00 00 5e 00 53 0a 00 00 5e 00 53 0b") == [A, B]


@pytest.mark.parametrize("text", ["", " ", "-", "N/A", "\n", ",", ";;"])
def test_an_empty_cell_has_no_address_and_no_fault(text: str) -> None:
    assert read_macs(text, {"-", "n/a"}) == ([], [])


@pytest.mark.parametrize("text", ["1.02E+10", "1,02E+10", "1E+11", "1.1223E+11", "1.02e10"])
def test_digits_lost_to_scientific_notation_cannot_be_had_back(text: str) -> None:
    """Spreadsheets show a number of more than 11 digits as 1.12233E+11: six of the twelve are left."""
    assert (read(text), codes(text)) == ([], ["mac-scientific"])


def test_scientific_notation_with_all_its_digits_is_the_number_itself() -> None:
    assert (read("1.12233445566E+11"), codes("1.12233445566E+11")) == (["11:22:33:44:55:66"], [])


def test_twelve_hexadecimal_digits_with_one_e_are_an_address_and_no_number() -> None:
    assert read("11223344e566") == ["11:22:33:44:e5:66"]


@pytest.mark.parametrize(
    ("text", "mac"),
    [("1122334455", "00:11:22:33:44:55"), ("11122334455", "01:11:22:33:44:55"), ("112233445.0", "00:01:12:23:34:45")],
)
def test_leading_zeros_that_a_number_lost_are_put_back_with_a_warning(text: str, mac: str) -> None:
    assert (read(text), codes(text)) == ([mac], ["mac-zeros-lost"])


def test_twelve_digits_with_a_point_behind_are_the_address() -> None:
    assert (read("112233445566.0"), codes("112233445566.0")) == (["11:22:33:44:55:66"], [])


@pytest.mark.parametrize("text", ["12345678", "0", "1"])
def test_a_short_number_is_no_address_without_its_zeros(text: str) -> None:
    assert (read(text), codes(text)) == ([], ["mac-too-short"])


@pytest.mark.parametrize("text", ["printer", "00:00:5e:00:53", "00:00:5e:00:53:0g", "00:00:5e:00:53:0a:0b", "1.5"])
def test_what_is_no_address_is_said(text: str) -> None:
    assert (read(text), codes(text)) == ([], ["not-a-mac"])


def test_a_wrong_address_does_not_cost_its_neighbour() -> None:
    assert (read("00:00:5e:00:53:0a, printer"), codes("00:00:5e:00:53:0a, printer")) == ([A], ["not-a-mac"])


@given(st.lists(st.integers(0, 2**48 - 1), min_size=1, max_size=4), st.sampled_from([", ", ";", "\n", "/"]))
def test_addresses_written_are_addresses_read(numbers: list[int], separator: str) -> None:
    macs = [int_to_mac(number) for number in numbers]
    for spelled in (macs, [m.replace(":", "-").upper() for m in macs], [m.replace(":", "") for m in macs]):
        assert read(separator.join(spelled)) == macs


@given(st.text(max_size=80))
def test_any_text_at_all_is_addresses_or_problems(text: str) -> None:
    macs, problems = read_macs(text, set())
    assert all(len(mac) == 17 for mac in macs)
    assert all(isinstance(words, dict) for _, words in problems)
