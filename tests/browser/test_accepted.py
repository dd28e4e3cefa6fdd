"""Differences that somebody accepted until a date: marked as such where they are, and not counted as wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from reconcile.pipeline import Comparison
from tests.browser.conftest import Open
from tests.browser.layout import SOUND, breakage, each_view, serious_faults
from tests.browser.sites import REASON, accepted, saltmarsh


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(accepted("im-ws-2", "bs-tide-1"))


def test_they_are_listed_below_what_is_wrong_with_reason_and_date_and_not_counted(file: Path, visit: Open) -> None:
    page = visit(file)
    expect(page.locator("#view-wrong .cause")).to_have_count(6)
    assert page.get_by_text("7, by 6 causes; 2 accepted").is_visible()
    expect(page.locator("nav.views a").first).to_have_text("What is wrong (6)")
    expect(page.get_by_role("heading", name="Accepted for now (2)")).to_be_visible()
    row = page.locator("ul.accepted li", has_text="im-ws-2")
    assert f"Accepted until 2027-03-31: {REASON}" in row.inner_text()
    row.get_by_role("button").click()
    text = page.locator("#card").inner_text()
    assert "Moved device (accepted until 2027-03-31)" in text
    assert REASON in text
    assert "IM-03:1" in text
    assert "carry im-ws-2 back" not in text


def test_their_sockets_bear_a_mark_of_their_own(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.get_by_role("button", name="acc-2:5: waived, accepted difference").click()
    text = page.locator("#card").inner_text()
    assert "differs from the map, and was accepted until a date" in text
    page.get_by_role("button", name="acc-1:Gi1/0/3: wrong, difference").first.click()
    assert REASON not in page.locator("#card").inner_text()
    picked = page.locator("#rack-picks button", has_text="boat shed")
    expect(picked).to_have_text("boat shed, rack R2 (1 wrong)")  # bs-tide-1 is the other one there
    picked.click()
    expect(page.get_by_role("button", name="shed-1:ge-0/0/3: silent, accepted difference")).to_be_visible()
    assert "a difference that was accepted" in page.locator("#legend").inner_text()


def test_a_site_without_any_shows_no_key_for_them(written: Callable[[Comparison], Path], visit: Open) -> None:
    page = visit(written(saltmarsh()), "racks")
    assert "waived" not in page.locator("#legend").inner_text()
    assert page.get_by_text("accepted").count() == 0


def test_where_all_is_accepted_nothing_is_wrong(written: Callable[[Comparison], Path], visit: Open) -> None:
    every = [finding.device for finding in saltmarsh().result.findings]
    page = visit(written(accepted(*every)))
    assert page.get_by_text("The network is as the map says, but for what was accepted.").is_visible()
    assert page.get_by_text("none; 9 accepted").is_visible()
    page.locator("nav.views a[href='#racks']").click()
    assert page.locator(".spot[data-spot].m-wrong").count() == 0
    assert page.locator(".flag:not(.accepted)").count() == 1  # the one of the key


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_is_cut_off_and_axe_finds_no_serious_fault(file: Path, visit: Open, width: int) -> None:
    page = visit(file, width=width)
    assert {view: breakage(page) + serious_faults(page) for view in each_view(page)} == SOUND
