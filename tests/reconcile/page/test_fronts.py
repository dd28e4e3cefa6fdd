"""Sockets are drawn where they are on the thing. Common practice of the trade, from memory."""

from __future__ import annotations

import pytest

from reconcile.reports.page.fronts import arrange, short_name
from tests.nasty import NASTY


def names(pattern: str, first: int, last: int) -> list[str]:
    return [pattern.format(n) for n in range(first, last + 1)]


def shown(sockets: list[str], **more: object) -> list[list[list[str]]]:
    options = {str(key): str(value) for key, value in more.items() if key != "panel"}
    groups = arrange(sockets, panel=bool(more.get("panel")), options=options)
    return [[[short_name(sockets[i]) for i in row] for row in group] for group in groups]


def test_a_switch_has_odd_ports_over_even_ones() -> None:
    [[top, bottom]] = shown(names("Gi1/0/{}", 1, 24))
    assert top == [str(n) for n in range(1, 25, 2)]
    assert bottom == [str(n) for n in range(2, 25, 2)]


def test_a_switch_that_counts_from_zero_has_zero_on_top() -> None:
    [[top, bottom]] = shown(names("ge-0/0/{}", 0, 11))
    assert (top[0], bottom[0]) == ("0", "1")


def test_a_small_switch_has_one_row() -> None:
    assert shown(names("port {}", 1, 8)) == [[[str(n) for n in range(1, 9)]]]


def test_uplinks_and_single_sockets_stand_in_groups_of_their_own() -> None:
    groups = shown([*names("Gi1/0/{}", 1, 24), *names("Te1/1/{}", 1, 4), "mgmt0"])
    assert [[len(row) for row in group] for group in groups] == [[12, 12], [4], [1]]


def test_a_panel_counts_from_left_to_right_with_24_jacks_in_a_row() -> None:
    [[top, bottom]] = shown(names("{}", 1, 48), panel=True)
    assert top == [str(n) for n in range(1, 25)]
    assert bottom == [str(n) for n in range(25, 49)]


def test_the_map_may_say_how_a_panel_is_numbered() -> None:
    [[top, bottom]] = shown(names("{}", 1, 24), panel=True, Numbering="Odd over even", rows=2)
    assert (top[:2], bottom[:2]) == (["1", "3"], ["2", "4"])
    [[top, _]] = shown(names("{}", 1, 24), panel=True, numbering="even over odd", rows=2)
    assert top[:2] == ["2", "4"]


def test_a_column_of_that_name_that_says_something_else_is_passed_over() -> None:
    assert shown(names("{}", 1, 3), panel=True, numbering="see note", rows="two") == [[["1", "2", "3"]]]


@pytest.mark.parametrize("panel", [True, False])
def test_every_socket_is_drawn_once_whatever_it_is_called(panel: bool) -> None:
    sockets = list(dict.fromkeys(NASTY.values()))
    found = [i for group in arrange(sockets, panel=panel) for row in group for i in row]
    assert sorted(found) == list(range(len(sockets)))
