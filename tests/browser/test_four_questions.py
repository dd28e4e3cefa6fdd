"""The four questions of somebody beside the rack who never saw the page, each answered within two touches.

A touch takes a second or two, reading the answer a few more (common practice, from memory): two touches, and an answer
that stands on the first screen, are well under ten seconds.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page

from reconcile.pipeline import Comparison
from tests.browser.conftest import Open
from tests.browser.sites import saltmarsh

SIZES = [{"width": 1280, "height": 900}, {"width": 390, "height": 844}]
both = pytest.mark.parametrize("size", SIZES, ids=["desk", "phone"])


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(saltmarsh())


class Touches:
    """A finger that counts."""

    def __init__(self) -> None:
        self.made = 0

    def on(self, thing: Locator) -> None:
        self.made += 1
        thing.click()


def on_screen(page: Page, thing: Locator) -> bool:
    """True where all of it is within what the window shows without scrolling."""
    box, size = thing.bounding_box(), page.viewport_size
    return bool(box and size and box["y"] >= 0 and box["y"] + box["height"] <= size["height"])


@both
def test_where_does_this_outlet_go(file: Path, visit: Open, size: dict[str, int]) -> None:
    page, finger = visit(file, **size), Touches()
    finger.on(page.locator("#find"))
    page.keyboard.type("im-03:2")
    finger.on(page.locator("#hits li").first)
    assert finger.made == 2
    steps = page.locator("#card .steps")
    assert steps.locator(".name").all_inner_texts() == [
        "acc-2:6", "P206", "PP-A:20", "1A-A20", "IM-03:2", "no label", "im-ws-1",
    ]  # fmt: skip
    assert on_screen(page, steps.locator("li").last)


@both
def test_what_is_wrong_tonight(file: Path, visit: Open, size: dict[str, int]) -> None:
    page = visit(file, **size)
    assert on_screen(page, page.get_by_text("9, by 8 causes"))
    causes = page.locator(".cause h3")
    assert causes.count() == 8
    assert on_screen(page, causes.first)


@both
def test_which_cord_do_i_move(file: Path, visit: Open, size: dict[str, int]) -> None:
    page, finger = visit(file, **size), Touches()
    moves = page.locator(".cause", has_text="are crossed").locator("ol.do li")
    assert moves.all_inner_texts() == [
        "pull cord P103 from acc-1 port Gi1/0/4 and hold it",
        "move cord P104 from acc-1 port Gi1/0/3 to acc-1 port Gi1/0/4",
        "plug cord P103 into acc-1 port Gi1/0/3",
    ]
    assert finger.made == 0


@both
def test_which_cord_do_i_move_at_the_socket_before_me(file: Path, visit: Open, size: dict[str, int]) -> None:
    page, finger = visit(file, **size), Touches()
    finger.on(page.get_by_role("link", name="Racks"))
    finger.on(page.get_by_role("button", name="acc-1:Gi1/0/4: wrong"))
    assert finger.made == 2
    assert "pull cord P103 from acc-1 port Gi1/0/4" in page.locator("#card").inner_text()


@both
def test_which_ports_are_free(file: Path, visit: Open, size: dict[str, int]) -> None:
    page, finger = visit(file, **size), Touches()
    finger.on(page.get_by_role("link", name="Free"))
    assert finger.made == 1
    row = page.locator("#free-list li", has_text="acc-2").first
    assert row.locator("button").all_inner_texts() == ["10", "18", "19", "20", "21", "22", "23"]
    assert on_screen(page, page.locator("#free-list li").first)
