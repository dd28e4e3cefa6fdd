"""A page whose every word a hostile switch, neighbour or map chose, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import expect

from reconcile.pipeline import Comparison
from tests.browser.conftest import Open
from tests.browser.layout import SOUND, breakage, each_view, serious_faults
from tests.browser.sites import hostile
from tests.nasty import acting_characters


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(hostile())


def test_markup_is_shown_as_text_and_never_run(file: Path, visit: Open) -> None:
    page = visit(file)
    dialogs: list[str] = []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    page.fill("#find", "<script>alert(1)</script>")
    expect(page.locator("#hits li").first).to_contain_text("<script>alert(1)</script>")
    page.keyboard.press("Enter")
    assert "<script>alert(1)</script>" in page.locator("#card").inner_text()
    assert page.locator("script").count() == 2
    assert dialogs == []


def test_every_socket_can_be_opened_and_no_acting_character_is_in_what_it_shows(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    spots = page.locator("#fronts .spot")
    for number in range(spots.count()):
        spots.nth(number).dispatch_event("click")
        assert acting_characters(page.locator("#card").inner_text()) == set()


def test_what_the_page_says_to_a_screen_reader_is_harmless_too(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    labels = page.evaluate("[...document.querySelectorAll('[aria-label]')].map((e) => e.getAttribute('aria-label'))")
    assert acting_characters("\n".join(labels)) == set()


@pytest.mark.parametrize("width", [1280, 390])
def test_endless_names_break_no_view(file: Path, visit: Open, width: int) -> None:
    page = visit(file, width=width)
    assert {view: breakage(page) for view in each_view(page)} == SOUND


def test_axe_finds_no_serious_fault(file: Path, visit: Open) -> None:
    page = visit(file)
    assert {view: serious_faults(page) for view in each_view(page)} == SOUND


def test_it_prints_with_nothing_outside_the_paper(file: Path, visit: Open) -> None:
    document = pypdfium2.PdfDocument(visit(file, "racks").pdf(format="A4"))
    for sheet in document:
        width, height = sheet.get_size()
        for thing in sheet.get_objects():
            left, bottom, right, top = thing.get_bounds()
            assert left >= -1
            assert right <= width + 1
            assert bottom >= -1
            assert top <= height + 1
