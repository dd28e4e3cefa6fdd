"""The page as a document: what it holds, what it can never do, how large it is."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable
from datetime import UTC, datetime
from functools import cache
from html.parser import HTMLParser

import pytest

from collectors.snapshot import Table, TableReport, TableState
from reconcile.locate.placement import PortRef
from reconcile.pipeline import Comparison, compare
from reconcile.reports.page import Past, page_of, render
from reconcile.reports.page.model import Mark, Night, Page
from tests.browser.sites import hostile, saltmarsh, wired
from tests.nasty import acting_characters
from tests.reconcile.handmade_network import answer, device, heard, port, site, snapshot


@cache
def demo() -> Page:
    return page_of(saltmarsh())


def mark_of(page: Page, name: str) -> Mark:
    return next(spot.mark for spot in page.spots if spot.name == name)


class Elements(HTMLParser):
    """Every element with its attributes, and the text of scripts and styles."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.inside: dict[str, str] = {}
        self._last = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))
        self._last = f"{tag} {dict(attrs).get('type') or ''}".strip()

    def handle_endtag(self, tag: str) -> None:
        self._last = ""

    def handle_data(self, data: str) -> None:
        self.inside[self._last] = self.inside.get(self._last, "") + data


def test_every_socket_of_a_front_stands_in_one_place() -> None:
    page = demo()
    drawn = [spot for holder in page.holders for group in holder.groups for row in group for spot in row]
    assert sorted(drawn) == list(range(len(page.spots)))


@pytest.mark.parametrize(
    ("name", "mark"),
    [
        ("acc-1:Gi1/0/1", Mark.OK),
        ("acc-1:Gi1/0/3", Mark.WRONG),
        ("PP-A:3", Mark.WRONG),
        ("WL-02:1", Mark.WRONG),
        ("acc-2:13", Mark.SILENT),
        ("shed-1:ge-0/0/8", Mark.NEW),
        ("core-1:Ethernet12", Mark.FREE),
        ("PP-A:10", Mark.SPARE),
        ("PP-B:12", Mark.BARE),
    ],
)
def test_a_socket_bears_the_verdict_of_its_channel_or_how_it_is_free(name: str, mark: Mark) -> None:
    """The drifts of the demo stand in fixtures/sites/saltmarsh/expected.toml."""
    assert mark_of(demo(), name) is mark


def test_a_port_of_a_switch_that_did_not_answer_is_marked_as_not_looked_at() -> None:
    patch_map = site([device("cam", "sw-b:p1", "20:47:47:00:00:01")])
    page = page_of(compare(patch_map, snapshot(answer("sw-a", [port("p1")]), failed=["sw-b"])))
    assert mark_of(page, "sw-b:p1") is Mark.UNCHECKED


def test_a_port_whose_switch_told_nothing_of_interfaces_is_not_called_free() -> None:
    unread = {Table.INTERFACES: TableReport(state=TableState.REFUSED, reason="the view hides it")}
    patch_map = site([device("cam", "sw-a:p1", "20:47:47:00:00:01")], switches="sw-a")
    page = page_of(compare(patch_map, snapshot(answer("sw-a", [], tables=unread))))
    assert mark_of(page, "sw-a:p1") is Mark.UNCHECKED


def test_every_difference_is_marked_at_its_port_and_on_the_way_to_the_outlet() -> None:
    page = demo()
    for number, finding in enumerate(page.findings):
        assert finding.spot is not None
        assert number in page.spots[finding.spot].findings
    marked = {spot.name for spot in page.spots if spot.findings}
    assert {"acc-2:5", "PP-A:19", "IM-03:1", "acc-1:Gi1/0/12", "WL-07:1"} <= marked  # im-ws-2, where it was and is


def test_every_cause_has_its_differences_and_they_know_it() -> None:
    page = demo()
    assert sorted(n for cause in page.causes for n in cause.findings) == list(range(len(page.findings)))
    assert all(number in page.causes[f.cause or 0].findings for number, f in enumerate(page.findings))


def test_every_station_that_was_placed_points_at_its_port() -> None:
    page = page_of(compare(site(), snapshot(answer("sw-a", [port("p1")], heard(("20:47:47:00:00:01", "p1"))))))
    [station] = page.stations
    assert (station.maker, page.spots[station.spot].name) == ("Dell Inc.", "sw-a:p1")


def test_earlier_nights_are_shown_where_they_are_known() -> None:
    comparison = saltmarsh()
    nights = [Night(datetime(2026, 3, day, 2, tzinfo=UTC), mark) for day, mark in ((1, Mark.OK), (2, Mark.WRONG))]
    key = comparison.result.findings[0].key
    past = Past({PortRef("acc-1", "Gi1/0/3"): nights}, {key: datetime(2026, 3, 2, 2, tzinfo=UTC)})
    page = page_of(comparison, past)
    spot = next(spot for spot in page.spots if spot.name == "acc-1:Gi1/0/3")
    assert spot.nights == [("2026-03-01", "ok"), ("2026-03-02", "wrong")]
    assert page.findings[0].since.startswith("2026-03-0")
    assert not any(spot.nights for spot in demo().spots)


@pytest.mark.parametrize("comparison", [saltmarsh, hostile])
def test_the_policy_lets_the_browser_run_our_script_alone_and_load_nothing(
    comparison: Callable[[], Comparison],
) -> None:
    elements = Elements(render(comparison()))
    policy = next(a["content"] or "" for tag, a in elements.found if a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none';")
    for directive, inside in (("script-src", "script"), ("style-src", "style")):
        digest = base64.b64encode(hashlib.sha256(elements.inside[inside].encode()).digest()).decode()
        assert f"{directive} 'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    tags = [tag for tag, _ in elements.found]
    assert tags.count("script") == 2
    assert not {"img", "iframe", "object", "link", "base", "form"} & set(tags)


@pytest.mark.parametrize("comparison", [saltmarsh, hostile])
def test_no_attribute_of_the_page_leads_elsewhere_or_runs_anything(comparison: Callable[[], Comparison]) -> None:
    for _, attributes in Elements(render(comparison())).found:
        for name, value in attributes.items():
            assert not name.startswith("on")
            assert name not in {"src", "style", "action", "srcset"}
            assert name != "href" or (value or "").startswith("#")


def test_what_hostile_equipment_says_is_text_in_the_page_and_in_its_data() -> None:
    text = render(hostile())
    assert acting_characters(text) == set()
    elements = Elements(text)
    data = elements.inside["script application/json"]
    assert not set("<>&") & set(data)
    assert "<script>alert(1)</script>" in json.dumps(json.loads(data)["paths"])
    assert "<script>alert(1)" not in text


def test_no_word_of_the_page_is_longer_than_it_can_show() -> None:
    data = json.loads(Elements(render(hostile())).inside["script application/json"])
    texts = re.findall(r'"((?:[^"\\]|\\.)*)"', json.dumps(data, ensure_ascii=False))
    assert max(map(len, texts)) < 5_000


def test_one_rack_stays_below_400_kb() -> None:
    assert len(render(compare(*wired(4, 48))).encode()) < 400_000
    assert len(render(saltmarsh()).encode()) < 400_000


@pytest.mark.long
def test_100_switches_of_48_ports_stay_below_6_mb() -> None:
    assert len(render(compare(*wired(100, 48))).encode()) < 6_000_000


def test_a_network_that_is_as_documented_says_so_and_one_not_looked_at_does_not() -> None:
    patch_map = site([device("cam", "sw-a:p1", "20:47:47:00:00:01")], switches="sw-a")
    seen = answer("sw-a", [port("p1")], heard(("20:47:47:00:00:01", "p1")))
    assert "The network is as the map says." in render(compare(patch_map, snapshot(seen)))
    text = render(compare(patch_map, snapshot(failed=["sw-a"])))
    assert "not everything could be looked at" in text
    assert "The network is as the map says." not in text
