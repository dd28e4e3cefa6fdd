"""The demo's page in a real browser: what somebody beside the rack does with it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from PIL import ImageChops
from playwright.sync_api import Page, expect

from reconcile.pipeline import Comparison, compare
from tests.browser.conftest import Open
from tests.browser.layout import SOUND, VIEWS, breakage, each_view, serious_faults
from tests.browser.sites import saltmarsh
from tests.reconcile.handmade_network import answer, device, port, site, snapshot

PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def file(written: Callable[[Comparison], Path]) -> Path:
    return written(saltmarsh())


def card(page: Page) -> str:
    return page.locator("#card").inner_text()


def find(page: Page, words: str) -> None:
    page.fill("#find", words)
    page.keyboard.press("Enter")


def test_what_is_wrong_is_told_first_with_what_to_do(file: Path, visit: Open) -> None:
    page = visit(file)
    expect(page.locator("#view-wrong .cause")).to_have_count(8)
    crossed = page.locator(".cause", has_text="wl-tank-1 and wl-printer-1 are crossed")
    expect(crossed.locator("ol.do li")).to_have_count(3)
    expect(crossed.locator("ol.do li").first).to_contain_text("pull cord P103")
    expect(crossed.locator("ol.do li").first).to_be_visible()


def test_where_an_outlet_goes_is_answered_by_typing_its_name(file: Path, visit: Open) -> None:
    page = visit(file)
    find(page, "wl-05:1")
    kinds = page.locator("#card .steps .kind").all_inner_texts()
    assert kinds == ["port", "cord", "jack", "fixed cable", "outlet", "cord", "device"]
    assert page.locator("#card .steps .name").all_inner_texts()[:4] == ["acc-1:Gi1/0/9", "P109", "PP-A:9", "1A-A09"]
    assert "confirmed" in card(page)


@pytest.mark.parametrize("spelling", ["00:30:DE:41:B7:09", "0030.de41.b709", "00-30-de-41-b7-09", "de41b7",
                                      "0:30:de:41:b7:9", "0030DE41B709", "0030de-41b709", "b7:09"])  # fmt: skip
def test_an_address_is_found_in_any_spelling(file: Path, visit: Open, spelling: str) -> None:
    page = visit(file)
    find(page, spelling)
    expect(page.locator("#card-title")).to_have_text("wl-tank-1")
    page.get_by_role("button", name="Seen at acc-1:Gi1/0/4").click()
    assert "crossed" in card(page)


@pytest.mark.parametrize(
    ("words", "kind"),
    [("im-ws", "device"), ("raspberry", "address"), ("wl-0", "outlet"), ("boat shed", "room"), ("p103", "cord"),
     ("pp-a:3", "jack"), ("acc-2 port 17", "port"), ("1A-A0", "fixed cable"), ("acc-1", "switch")],
)  # fmt: skip
def test_everything_that_has_a_name_is_found_while_typing(file: Path, visit: Open, words: str, kind: str) -> None:
    page = visit(file)
    page.locator("#find").press_sequentially(words)
    expect(page.locator("#hits li").first).to_contain_text(f"{kind}")


def test_a_link_of_the_drawing_opens_its_channel(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    page.locator("#links").get_by_role("button", name="core-1 port Ethernet2 to acc-1 port Gi1/0/24").click()
    assert "As documented." in card(page)
    assert page.locator("#card .steps .name").all_inner_texts() == ["core-1:Ethernet2", "U1", "acc-1:Gi1/0/24"]
    page.locator("#links").get_by_role("button", name="core-1 port Ethernet6 to acc-2 port 24").click()
    assert "Only seen." in card(page)
    assert "move cord U2 from core-1 port Ethernet6 back" in card(page)


def test_a_link_that_the_map_has_at_both_ends_is_told_once(file: Path, visit: Open) -> None:
    page = visit(file)
    find(page, "core-1:Ethernet2")
    assert page.locator("#card .steps").count() == 1


def test_all_that_the_map_has_at_one_port_is_told(written: Callable[[Comparison], Path], visit: Open) -> None:
    twice = [
        device(name, "sw-a:p1", mac) for name, mac in (("cam", "20:47:47:00:00:01"), ("pump", "20:47:47:00:00:02"))
    ]
    page = visit(written(compare(site(twice, switches="sw-a"), snapshot(answer("sw-a", [port("p1")])))))
    find(page, "sw-a:p1")
    assert "cannot be followed" in card(page)
    assert {"cam", "pump"} <= set(page.locator("#card .steps .name").all_inner_texts())


def test_a_switch_of_the_drawing_tells_its_links_and_leads_to_its_rack(file: Path, visit: Open) -> None:
    page = visit(file, "shape")
    page.locator("#map .switch", has_text="acc-2").click()
    assert page.locator("#card .links button").count() == 2
    page.get_by_role("button", name="Show in its rack").click()
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("acc-2:1:")


def test_turning_to_a_view_leaves_the_search_box_on_the_screen(file: Path, visit: Open) -> None:
    for view in VIEWS:
        page = visit(file, view)
        assert page.evaluate("scrollY") == 0, view


def test_words_that_nothing_is_called_are_told_so(file: Path, visit: Open) -> None:
    page = visit(file)
    page.fill("#find", "no such thing")
    expect(page.locator("#hits")).to_be_hidden()
    expect(page.locator("#count")).to_contain_text("nothing")


def test_a_touched_port_shows_its_whole_channel_and_marks_it_on_both_fronts(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.get_by_role("button", name="acc-2:5: wrong").first.click()
    text = card(page)
    assert all(word in text for word in ("P205", "PP-A:19", "1A-A19", "IM-03:1", "im-ws-2", "Moved device", "Evidence"))
    assert "carry im-ws-2 back to outlet IM-03:1" in text
    assert text.index("IM-03:1") < text.index("Moved device")  # first where it goes, then what is wrong with it
    marked = page.locator("#view-racks .spot.chosen")
    names = [marked.nth(n).get_attribute("aria-label") or "" for n in range(marked.count())]
    assert [name.partition(": ")[0] for name in names] == ["PP-A:19", "acc-2:5"]


def test_two_differences_of_one_cause_tell_its_story_once(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.get_by_role("button", name="acc-1:Gi1/0/3: wrong").first.click()
    assert card(page).count("pull cord P103") == 1
    assert "the same as above" in card(page)


def test_a_difference_leads_to_where_the_device_is_now(file: Path, visit: Open) -> None:
    page = visit(file)
    page.get_by_role("button", name="Show moved device: im-ws-2").click()
    page.get_by_role("button", name="Show where it is now: acc-1:Gi1/0/12").click()
    expect(page.locator("#card-title")).to_have_text("Port acc-1:Gi1/0/12")
    page.get_by_role("button", name="Show in its rack").click()
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("acc-1:Gi1/0/12")


def test_free_ports_and_jacks_are_listed(file: Path, visit: Open) -> None:
    page = visit(file, "free")
    row = page.locator("#free-list li", has_text="acc-2").first
    assert row.locator("button").all_inner_texts() == ["10", "18", "19", "20", "21", "22", "23"]
    assert "WL-05:2" in page.locator("#free-list").inner_text()


def test_the_keyboard_alone_reaches_a_channel_and_comes_back(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.locator("#rack-picks button[aria-pressed=true]").focus()
    page.keyboard.press("Tab")
    focused = "document.activeElement.getAttribute('aria-label')"
    while not str(page.evaluate(focused)).startswith("PP-A:1:"):
        page.keyboard.press("Tab")
    for key, name in (("ArrowRight", "PP-A:2"), ("ArrowRight", "PP-A:3"), ("ArrowLeft", "PP-A:2")):
        page.keyboard.press(key)
        assert str(page.evaluate(focused)).startswith(f"{name}:")
    page.keyboard.press("Enter")
    expect(page.locator("#card-title")).to_have_text("Jack PP-A:2")
    assert page.evaluate("document.activeElement.id") == "card"
    page.keyboard.press("Escape")
    assert str(page.evaluate(focused)).startswith("PP-A:2:")


def test_the_keyboard_alone_finds_something(file: Path, visit: Open) -> None:
    page = visit(file)
    page.keyboard.press("/")
    page.keyboard.type("wl-02")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    active = page.locator("#find").get_attribute("aria-activedescendant")
    expect(page.locator(f"#{active}")).to_have_attribute("aria-selected", "true")
    page.keyboard.press("Enter")
    expect(page.locator("#card-title")).to_have_text("Outlet WL-02:1")


def test_a_closed_card_on_a_phone_gives_the_place_back(file: Path, visit: Open) -> None:
    page = visit(file, "racks", **PHONE)
    expect(page.locator("#card")).to_be_hidden()
    page.get_by_role("button", name="PP-A:3: wrong").first.click()
    expect(page.locator("#card")).to_be_visible()
    page.get_by_role("button", name="Close").click()
    expect(page.locator("#card")).to_be_hidden()


def test_turning_to_another_view_on_a_phone_takes_the_card_away(file: Path, visit: Open) -> None:
    page = visit(file, "racks", **PHONE)
    page.get_by_role("button", name="PP-A:3: wrong").first.click()
    page.locator("nav.views a[href='#free']").click()
    expect(page.locator("#card")).to_be_hidden()
    expect(page.locator("#free-list")).to_be_visible()


@pytest.mark.parametrize("size", [{"width": 1280, "height": 900}, PHONE, {"width": 320, "height": 640}])
def test_nothing_is_cut_off_and_nothing_overlaps(file: Path, visit: Open, size: dict[str, int]) -> None:
    page = visit(file, **size)
    assert {view: breakage(page) for view in each_view(page)} == SOUND


@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_no_serious_fault(file: Path, visit: Open, dark: bool) -> None:
    page = visit(file, dark=dark)
    find(page, "wl-tank-1")
    assert {view: serious_faults(page) for view in each_view(page)} == SOUND


def test_axe_sees_a_fault_that_is_there(file: Path, visit: Open) -> None:
    page = visit(file)
    page.evaluate("document.querySelector('label[for=find]').remove()")
    assert any(fault.startswith("label") for fault in serious_faults(page))


def test_a_fault_of_the_layout_that_is_there_is_seen(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    page.evaluate("document.querySelector('.spot .no').setAttribute('x', '53')")
    page.evaluate("document.querySelector('#view-racks h2').style.translate = '800px'")
    faults = "\n".join(breakage(page))
    assert "leaves the page" in faults
    assert "lies over" in faults


def test_axe_finds_no_serious_fault_in_an_open_list_on_a_phone(file: Path, visit: Open) -> None:
    page = visit(file, **PHONE)
    page.fill("#find", "wl-0")
    assert serious_faults(page) == []


@pytest.mark.parametrize(("paper", "points"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_a_rack_prints_as_a_schedule_on_both_papers(
    file: Path, visit: Open, paper: str, points: tuple[int, int]
) -> None:
    page = visit(file, "racks")
    page.locator("#rack-picks button", has_text="boat shed").click()
    document = pypdfium2.PdfDocument(page.pdf(format=paper))
    text = "\n".join(sheet.get_textpage().get_text_bounded() for sheet in document)
    assert document[0].get_size() == pytest.approx(points, abs=1)
    assert "boat shed, rack R2" in text
    assert "Find a device" not in text
    for words in ("PP-S", "P304", "shed-1:ge-0/0/3", "1B-S04", "BS-02:2", "bs-tide-1", "dead port", "silent"):
        assert words in text
    assert "rack R1" not in text


@pytest.mark.parametrize(
    ("rack", "row"),
    [
        ("comms room", ["23", "U3", "core-1:Ethernet4", "B1", "PP-S:11", "shed-1:ge-0/0/11"]),  # a tie to another rack
        ("comms room", ["1", "S001", "hv-1", "T1", "PP-T:1", "core-1:Ethernet5"]),  # seen from its far end
        ("comms room", ["3", "P103", "PP-A:3", "1A-A03", "WL-02:1", "wl-tank-1"]),  # of the switch
        ("boat shed", ["12", "", "", "B2", "PP-B:24", ""]),  # spare
    ],
)
def test_a_row_of_the_schedule_has_the_cord_in_the_socket_and_the_cable_behind_it(
    file: Path, visit: Open, rack: str, row: list[str]
) -> None:
    page = visit(file, "racks")
    page.locator("#rack-picks button", has_text=rack).click()
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    rows = page.evaluate(
        "[...document.querySelectorAll('#sheet tr')].map((r) => [...r.cells].map((c) => c.textContent))"
    )
    assert row in [cells[:6] for cells in rows]


def test_all_racks_print_when_no_rack_was_chosen(file: Path, visit: Open) -> None:
    document = pypdfium2.PdfDocument(visit(file, "rooms").pdf(format="A4"))
    text = "\n".join(sheet.get_textpage().get_text_bounded() for sheet in document)
    assert "rack R1" in text
    assert "rack R2" in text


def test_the_printed_schedule_needs_no_colour(file: Path, visit: Open) -> None:
    page = visit(file, "racks")
    document = pypdfium2.PdfDocument(page.pdf(format="A4"))
    picture = document[0].render(scale=1).to_pil().convert("RGB")
    red, green, blue = picture.split()
    for one, other in ((red, green), (green, blue)):
        assert ImageChops.difference(one, other).getextrema()[1] <= 8
