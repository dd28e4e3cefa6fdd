"""The drawing of the network without a pointer, as the W3C's ARIA Authoring Practices have a composite: one stop for
Tab, arrow keys inside ("Developing a Keyboard Interface"), a visible mark of focus (WCAG 2.2, 2.4.7 and 1.4.11)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from collectors.snapshot import Neighbour
from reconcile.pipeline import Comparison, compare
from tests.browser.conftest import Open
from tests.browser.sites import saltmarsh
from tests.reconcile.handmade_network import answer, port, site, snapshot

NAME = "document.activeElement.getAttribute('aria-label')"


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(saltmarsh())


@pytest.fixture(scope="module")
def ring(written: Callable[[Comparison], Path]) -> Path:
    """Three switches, each joined to both others."""
    cords = [("sw-a:p1", "sw-b:p1"), ("sw-b:p2", "sw-c:p1"), ("sw-c:p2", "sw-a:p2")]
    ends = {end: other for cord in cords for end, other in (cord, cord[::-1])}
    answers = [
        answer(name, [port("p1"), port("p2")], neighbours=[_said(p, ends[f"{name}:{p}"]) for p in ("p1", "p2")])
        for name in ("sw-a", "sw-b", "sw-c")
    ]
    return written(compare(site(cords=cords, switches="sw-a sw-b sw-c"), snapshot(*answers)))


def _said(here: str, there: str) -> Neighbour:
    name, _, far = there.partition(":")
    return Neighbour(port=here, system_name=name, port_id=far, port_id_kind="interfaceName", chassis_id=name)


def enter(page: Page) -> None:
    """Comes into the drawing with Tab, from the way to the view."""
    page.locator("nav.views a[href='#gaps']").focus()
    page.keyboard.press("Tab")


def test_tab_comes_to_the_drawing_once_then_to_the_list_of_links_once(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    enter(page)
    assert page.evaluate(NAME) == "Switch core-1: answered"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('table').id") == "links"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#view-shape')") is None


def test_arrows_go_along_links_and_enter_opens_one_and_escape_comes_back(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    enter(page)
    page.keyboard.press("ArrowRight")
    assert page.evaluate(NAME) == "Link core-1 port Ethernet2 to acc-1 port Gi1/0/24: as documented"
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    names = {page.evaluate(NAME)}
    page.keyboard.press("ArrowDown")
    names.add(page.evaluate(NAME))
    assert names == {
        "Link core-1 port Ethernet3 to acc-2 port 24: only in the map",
        "Link core-1 port Ethernet6 to acc-2 port 24: only seen",
    }
    page.keyboard.press("ArrowRight")
    assert page.evaluate(NAME) == "Switch acc-2: answered"
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(NAME) == "Link core-1 port Ethernet6 to acc-2 port 24: only seen"  # the branch that is there
    page.keyboard.press("Enter")
    expect(page.locator("#card-title")).to_have_text("core-1 port Ethernet6 to acc-2 port 24")
    assert "move cord U2 from core-1 port Ethernet6 back" in page.locator("#card").inner_text()
    page.keyboard.press("Escape")
    assert page.evaluate(NAME) == "Link core-1 port Ethernet6 to acc-2 port 24: only seen"
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Space")
    expect(page.locator("#card-title")).to_have_text("core-1")


@pytest.mark.parametrize("drawing", ["file", "ring"])
def test_every_switch_and_every_link_is_reached_by_keys(
    drawing: str, request: pytest.FixtureRequest, visit: Open
) -> None:
    page = visit(request.getfixturevalue(drawing), "shape")
    enter(page)
    found, ways = {page.evaluate(NAME)}, [[]]
    for way in ways:
        for key in ("ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp"):
            page.locator("#map .switch").first.focus()
            for step in (*way, key):
                page.keyboard.press(step)
            if page.evaluate(NAME) not in found:
                found.add(page.evaluate(NAME))
                ways.append([*way, key])
    assert len(found) == page.locator("#map .switch, #map .link").count()
    assert all(" to " in name and name.count(" port ") == 2 for name in found if name.startswith("Link"))


def test_what_has_the_focus_is_marked_and_nothing_else_is(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    enter(page)
    colour = page.evaluate("getComputedStyle(document.documentElement).getPropertyValue('--focus')")
    assert colour
    marked = """(colour) => {
      const probe = document.body.appendChild(document.createElement('i'));
      probe.style.setProperty('color', colour);
      const wanted = getComputedStyle(probe).color;
      probe.remove();
      return [...document.querySelectorAll('#map .band, #map rect')]
        .filter((e) => getComputedStyle(e).stroke === wanted).map((e) => e.parentNode.getAttribute('aria-label'));
    }"""
    for key in ("Shift", "ArrowRight", "ArrowDown", "ArrowRight"):
        page.keyboard.press(key)
        assert page.evaluate(marked, colour) == [page.evaluate(NAME)]


def test_the_way_back_of_the_browser_is_left_to_the_browser(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    enter(page)
    page.evaluate("addEventListener('keydown', (event) => (window.taken = event.defaultPrevented))")
    page.keyboard.press("ArrowDown")
    assert page.evaluate("taken") is True  # else the page would scroll beneath
    page.keyboard.press("Alt+ArrowRight")
    assert page.evaluate("taken") is False
    assert page.evaluate(NAME) == "Switch core-1: answered"


def test_a_finger_opens_a_link_beside_its_thin_line(file: Path, visit: Open) -> None:
    page = visit(file, "shape", width=390, height=844)
    line = page.locator("#map .link", has_text="shed-1").locator(".band")
    line.scroll_into_view_if_needed()
    x, y = line.evaluate("""(path) => {
      const end = path.getPointAtLength(path.getTotalLength() - 8).matrixTransform(path.getScreenCTM());
      return [end.x, end.y];
    }""")
    page.mouse.click(x, y + 4)
    expect(page.locator("#card-title")).to_have_text("core-1 port Ethernet4 to shed-1 port ge-0/0/11")


def test_a_row_of_free_ports_is_one_stop_with_arrows_inside(file: Path, visit: Open) -> None:
    page = visit(file, "free")
    enter(page)
    assert page.evaluate(NAME) == "10, core-1:Ethernet10"
    page.keyboard.press("ArrowRight")
    assert page.evaluate(NAME) == "11, core-1:Ethernet11"
    page.keyboard.press("End")
    page.keyboard.press("Enter")
    expect(page.locator("#card-title")).to_have_text("core-1:Ethernet24")
    page.keyboard.press("Escape")
    page.keyboard.press("Tab")
    assert page.evaluate(NAME) == "10, acc-1:Gi1/0/10"
