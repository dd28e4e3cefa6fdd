"""How fast a page of 100 switches with 48 ports is: `python -m tests.bench.bench_page`, or pytest -m bench -s -n 0.

Ratios within one run of one browser: opening it against opening the page of one switch, and a keystroke in the search
box against opening the page of one switch.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from statistics import median

import pytest
from playwright.sync_api import BrowserContext, Page, sync_playwright

from reconcile.pipeline import compare
from reconcile.reports.page import render
from tests.browser.conftest import launched
from tests.browser.sites import wired

pytestmark = pytest.mark.bench

ROUNDS = 9
OPENING_AT_MOST = 8.0
"""Times the opening of the page of one switch, which is a hundredth of its size."""
KEYSTROKE_AT_MOST = 2.0
"""Times the opening of the page of one switch: what opens without a wait is typed without one."""
WORDS = "ws-077-31"


def opening(page: Page, file: Path) -> float:
    """Seconds until the page stands: parsed, its script run, its first view laid out."""
    page.goto("about:blank")
    start = time.perf_counter()
    page.goto(file.as_uri())
    page.evaluate("document.body.getBoundingClientRect().height")
    return time.perf_counter() - start


def keystroke(page: Page) -> float:
    """The slowest keystroke in seconds of typing a name, the first of which makes the index of everything."""
    script = """(words) => {
      const field = document.getElementById('find'), taken = [];
      for (let n = 1; n <= words.length; n++) {
        const start = performance.now();
        field.value = words.slice(0, n);
        field.dispatchEvent(new Event('input'));
        document.body.getBoundingClientRect();
        taken.push(performance.now() - start);
      }
      return Math.max(...taken) / 1000;
    }"""
    return float(page.evaluate(script, WORDS))


def measure(browser: BrowserContext, folder: Path) -> tuple[float, float, float]:
    """Medians in seconds: opening the small page, opening the large one, its slowest keystroke."""
    small, large = folder / "small.html", folder / "large.html"
    small.write_text(render(compare(*wired(1, 48))), "utf-8")
    large.write_text(render(compare(*wired(100, 48))), "utf-8")
    page = browser.new_page()
    rows = [(opening(page, small), opening(page, large), keystroke(page)) for _ in range(ROUNDS)]
    page.close()
    one, hundred, key = (median(column) for column in zip(*rows, strict=True))
    return one, hundred, key


def test_a_hundred_switches_open_and_are_searched_without_a_stall() -> None:
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        browser = launched(playwright, folder / "profile")
        small, large, key = measure(browser, folder)
        browser.close()
    print(f"opening one switch {small * 1000:.0f} ms, a hundred {large * 1000:.0f} ms ({large / small:.1f} times)")
    print(f"the slowest keystroke among a hundred switches {key * 1000:.0f} ms ({key / small:.2f} of that opening)")
    assert large < OPENING_AT_MOST * small
    assert key < KEYSTROKE_AT_MOST * small


if __name__ == "__main__":
    test_a_hundred_switches_open_and_are_searched_without_a_stall()
