"""Gross breakage, seen through the rectangles of what is drawn; and the faults that axe-core finds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

VIEWS = ("wrong", "racks", "rooms", "free", "shape", "gaps")
SOUND: dict[str, list[str]] = {view: [] for view in VIEWS}
"""What `each_view` should find: no fault in any."""

_CUT_OFF = """() => {
  const faults = [];
  const root = document.documentElement;
  if (root.scrollWidth > innerWidth) faults.push(`the page is ${root.scrollWidth} wide in ${innerWidth}`);
  const scrolls = (e) => e.closest('.map, .wide, .picks.many, .hits, .card');
  for (const e of document.querySelectorAll('h1, h2, h3, p, button, a, li, td, svg.block, input')) {
    const r = e.getBoundingClientRect();
    if (!r.width || !r.height || scrolls(e) || e.classList.contains('skip')) continue;
    const name = `${e.tagName} ${e.textContent.slice(0, 40)}`;
    if (r.left < -0.5 || r.right > innerWidth + 0.5) faults.push(`${name} leaves the page`);
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth && getComputedStyle(e).overflow !== 'visible')
      faults.push(`${name} is cut off`);
  }
  return faults;
}"""

_SOCKETS = """() => {
  const faults = [], rect = (e) => e.getBoundingClientRect();
  for (const block of document.querySelectorAll('svg.block')) {
    const frame = rect(block);
    if (!frame.width) continue;
    const shown = [];
    for (const spot of block.querySelectorAll('.spot')) {
      const name = spot.getAttribute('aria-label');
      const [word, box, no] = ['.word', '.case', '.no'].map((part) => rect(spot.querySelector(part)));
      if (word.left < box.left - 1 || word.right > box.right + 1) faults.push(`the word of ${name} leaves its socket`);
      for (const r of [word, no, box])
        if (r.left < frame.left - 1 || r.right > frame.right + 1
            || r.top < frame.top - 1 || r.bottom > frame.bottom + 1)
          faults.push(`${name} leaves its front`);
      for (const r of [no, box]) for (const [other, o] of shown)
        if (r.left < o.right - 1 && o.left < r.right - 1 && r.top < o.bottom - 1 && o.top < r.bottom - 1)
          faults.push(`${name} lies over ${other}`);
      shown.push([name, no], [name, box]);
    }
  }
  return faults;
}"""

_SHAPE = """() => {
  const faults = [], rect = (e) => e.getBoundingClientRect();
  const boxes = [...document.querySelectorAll('#map g.switch')];
  for (const g of boxes) {
    const frame = rect(g.querySelector('rect'));
    for (const text of g.querySelectorAll('text')) {
      const r = rect(text);
      if (r.right > frame.right || r.bottom > frame.bottom + 1) faults.push(`${text.textContent} leaves its box`);
    }
  }
  boxes.forEach((a, n) => boxes.slice(n + 1).forEach((b) => {
    const r = rect(a.querySelector('rect')), o = rect(b.querySelector('rect'));
    if (r.left < o.right && o.left < r.right && r.top < o.bottom && o.top < r.bottom)
      faults.push(`${a.textContent} lies over ${b.textContent}`);
  }));
  return faults;
}"""


def each_view(page: Page) -> Iterator[str]:
    """Turns to every view of the page, one after the other."""
    for view in VIEWS:
        page.locator(f"nav.views a[href='#{view}']").click()
        expect(page.locator(f"#view-{view}")).to_be_visible()
        yield view


def breakage(page: Page) -> list[str]:
    """What leaves the page, is cut off, or lies over something else, in the view that is shown."""
    return [fault for script in (_CUT_OFF, _SOCKETS, _SHAPE) for fault in page.evaluate(script)]


def serious_faults(page: Page) -> list[str]:
    """What axe-core calls serious or critical (its rules: WCAG 2.2 A and AA, and best practices)."""
    found: dict[str, Any] = Axe().run(page).response
    return [
        f"{fault['id']}: {node['html'][:160]}"
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
        for node in fault["nodes"][:3]
    ]
