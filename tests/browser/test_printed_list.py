"""The list of what is wrong on paper: who prints it walks to the rack with it, and ticks off what is done."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from PIL import ImageChops
from playwright.sync_api import Page

from reconcile.pipeline import Comparison, compare
from tests.browser.conftest import Open
from tests.browser.sites import accepted, hostile, saltmarsh, wired

A4, LETTER = pytest.param("A4", (595, 842), id="A4"), pytest.param("Letter", (612, 792), id="Letter")
both_papers = pytest.mark.parametrize(("paper", "points"), [A4, LETTER])


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(saltmarsh())


@pytest.fixture(scope="module")
def long_list(written: Callable[[Comparison], Path]) -> Path:
    """Thirty causes of three movements."""
    return written(compare(*wired(30, 8)))


def sheets(page: Page, paper: str = "A4") -> list[str]:
    """The text of each printed page, with single spaces."""
    document = pypdfium2.PdfDocument(page.pdf(format=paper))
    return [" ".join(sheet.get_textpage().get_text_bounded().split()) for sheet in document]


def cells(page: Page, rows: str) -> list[list[str]]:
    """Rows of the sheet as it is put together for the printer."""
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    found: list[list[str]] = page.evaluate(
        "(rows) => [...document.querySelectorAll(rows)].map((r) => [...r.cells].map((c) => c.textContent))", rows
    )
    return found


@both_papers
def test_what_is_wrong_prints_as_the_list_that_is_looked_at(
    file: Path, visit: Open, paper: str, points: tuple[int, int]
) -> None:
    page = visit(file)
    document = pypdfium2.PdfDocument(page.pdf(format=paper))
    assert document[0].get_size() == pytest.approx(points, abs=1)
    text = " ".join(sheets(page, paper))
    for words in (
        "what is wrong, and what to do", "2026-03-17 21:40 UTC", "9, by 8 causes", "never look into a fibre",
        "1. The link to acc-2 port 24 was moved", "Mind: leave this for last and for a quiet hour",
        "2.1 pull cord P103 from acc-1 port Gi1/0/4 and hold it", "2.3 plug cord P103 into acc-1 port Gi1/0/3",
        "Tell by:", "It could also be:", "(likely, not proven)", "Done by",
    ):  # fmt: skip
        assert words in text
    for words in ("Patch schedule", "Cable goes to", "Find a device", "Show moved device", "Print this list"):
        assert words not in text


def test_every_movement_has_its_number_and_a_box_of_its_own(file: Path, visit: Open) -> None:
    page = visit(file)
    rows = cells(page, "#sheet tbody tr:not(.head)")
    causes = page.evaluate("JSON.parse(document.getElementById('data').textContent).causes")
    numbered = [
        ["", f"{n}.{m}" if len(cause["undo"]) > 1 else str(n), movement]
        for n, cause in enumerate(causes, 1)
        for m, movement in enumerate(cause["undo"], 1)
    ]
    assert rows == numbered
    assert len(rows) >= 11
    page.emulate_media(media="print")
    boxes = [box.bounding_box() for box in page.locator("#sheet .box").all()]
    assert len(boxes) == len(rows)
    assert all(box and box["width"] >= 12 and box["height"] >= 12 for box in boxes)  # CSS pixels: 3 mm, for a pencil


def test_every_other_view_prints_the_schedules(file: Path, visit: Open) -> None:
    for view in ("racks", "rooms", "free", "shape", "gaps"):
        text = " ".join(sheets(visit(file, view)))
        assert "Patch schedule" in text, view
        assert "Done by" not in text, view


def test_turning_back_to_what_is_wrong_prints_that_again(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.locator("nav.views a[href='#wrong']").click()
    text = " ".join(sheets(page))
    assert "2.1 pull cord P103" in text
    assert "Patch schedule" not in text


def test_the_button_below_the_list_prints_it(file: Path, visit: Open) -> None:
    page = visit(file)
    page.evaluate("window.print = () => { window.printed = true; }")
    page.get_by_role("button", name="Print this list").click()
    assert page.evaluate("printed") is True


@both_papers
def test_no_row_is_split_over_two_pages_and_no_cause_is_cut_from_its_movements(
    long_list: Path, visit: Open, paper: str, points: tuple[int, int]
) -> None:
    page = visit(long_list)
    found = cells(page, "#sheet tbody tr")
    pages = [re.sub(r"\W", "", text) for text in sheets(page, paper)]
    assert len(pages) > 4
    place = -1
    cause: list[int] = []
    for row in found:
        words = re.sub(r"\W", "", "".join(row[1:] or row))
        on = [number for number, text in enumerate(pages) if words in text]
        assert len(on) == 1, row
        assert on[0] >= place
        place = on[0]
        if len(row) == 1:
            cause = on
        assert on == cause, row


def test_the_head_of_the_list_stands_on_each_page_with_its_number(long_list: Path, visit: Open) -> None:
    pages = sheets(visit(long_list))
    for number, text in enumerate(pages, 1):
        assert "Done No. What to do" in text or "Done by" in text
        assert f"{number} of {len(pages)}" in text


def test_the_printed_list_needs_no_colour(file: Path, visit: Open) -> None:
    document = pypdfium2.PdfDocument(visit(file, dark=True).pdf(format="A4"))
    for sheet in document:
        picture = sheet.render(scale=1).to_pil().convert("RGB")
        red, green, blue = picture.split()
        for one, other in ((red, green), (green, blue)):
            assert ImageChops.difference(one, other).getextrema()[1] <= 8
        assert picture.getpixel((2, 2)) == (255, 255, 255)


def test_what_could_not_be_looked_at_is_told_on_the_paper_too(
    written: Callable[[Comparison], Path], visit: Open
) -> None:
    page = visit(written(hostile()))
    text = " ".join(sheets(page))
    assert "Not looked at: <script>alert(1)</script>" in text


def test_accepted_differences_stand_at_the_end_without_a_box(
    written: Callable[[Comparison], Path], visit: Open
) -> None:
    page = visit(written(accepted("im-ws-2")))
    text = " ".join(sheets(page))
    told = "Accepted until 2027-03-31: lent to the imaging room until the spring survey"
    assert text.index(told) > text.index("Done by")
    assert "carry im-ws-2 back" not in text
    assert len(cells(page, "#sheet tbody tr:not(.head)")) == page.locator("#sheet .box").count()


def test_nothing_wrong_prints_that_there_is_nothing_to_do(written: Callable[[Comparison], Path], visit: Open) -> None:
    every = [finding.device for finding in saltmarsh().result.findings]
    text = " ".join(sheets(visit(written(accepted(*every)))))
    assert "Nothing to do: no difference was seen but what was accepted." in text


def test_a_list_of_endless_names_stays_on_the_paper(written: Callable[[Comparison], Path], visit: Open) -> None:
    document = pypdfium2.PdfDocument(visit(written(hostile())).pdf(format="A4"))
    for sheet in document:
        width, height = sheet.get_size()
        for thing in sheet.get_objects():
            left, bottom, right, top = thing.get_bounds()
            assert left >= -1
            assert right <= width + 1
            assert bottom >= -1
            assert top <= height + 1
