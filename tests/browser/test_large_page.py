"""The page of 100 switches with 48 ports each, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from reconcile.pipeline import Comparison, compare
from tests.browser.conftest import Open
from tests.browser.layout import SOUND, breakage, each_view
from tests.browser.sites import wired

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(compare(*wired(100, 48)))


def test_a_device_among_thousands_is_found_while_typing(file: Path, visit: Open) -> None:
    page = visit(file)
    page.locator("#find").press_sequentially("ws-077-31")
    expect(page.locator("#hits li").first).to_contain_text("ws-077-31 device")
    page.keyboard.press("Enter")
    assert "PP-077:31" in page.locator("#card").inner_text()


def test_only_one_rack_is_drawn_at_a_time(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.locator("#rack-picks button", has_text="rack R24").click()
    expect(page.locator("#fronts .front")).to_have_count(8)
    assert page.locator(".spot[data-spot]").count() < 8 * 60


def test_many_hits_are_counted_and_the_first_are_shown(file: Path, visit: Open) -> None:
    page = visit(file)
    page.fill("#find", "workstation")
    expect(page.locator("#hits li")).to_have_count(12)
    expect(page.locator("#count")).to_contain_text("4600 found")


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_is_cut_off_and_nothing_overlaps(file: Path, visit: Open, width: int) -> None:
    page = visit(file, width=width)
    assert {view: breakage(page) for view in each_view(page)} == SOUND


def test_every_switch_of_the_network_can_be_read_in_its_drawing(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    assert page.locator("#map .switch").count() == 100
    expect(page.locator("#map .switch").first).to_be_visible()


def test_tab_passes_a_hundred_switches_and_their_links_in_a_few_steps(file: Path, visit: Open) -> None:
    page = visit(file)
    stops = "(view) => [...document.querySelectorAll(`#view-${view} *`)].filter((e) => e.tabIndex >= 0).length"
    for view in each_view(page):
        if view == "shape":
            assert page.evaluate(stops, view) == 2  # the drawing and the list of links
        elif view == "free":
            assert page.evaluate(stops, view) == page.locator("#free-list li").count()
        elif view == "racks":
            assert page.evaluate(stops, view) == 1 + page.locator("#fronts .front").count() + 2  # and two to print


def test_what_the_arrow_keys_come_to_is_in_sight(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    page.locator("#map .switch").first.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("End")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("Link sw-000 port Te1/1/8 to ")
    page.keyboard.press("ArrowRight")
    seen, frame = page.locator("#map .switch:focus").bounding_box(), page.locator("#map").bounding_box()
    assert seen
    assert frame
    assert frame["x"] <= seen["x"] <= seen["x"] + seen["width"] <= frame["x"] + frame["width"]
    assert frame["y"] <= seen["y"] <= seen["y"] + seen["height"] <= frame["y"] + frame["height"]
