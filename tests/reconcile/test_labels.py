"""Labels as PDF: read back by PDFium, their QR codes by ZXing, both independent of what wrote them."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from reconcile.errors import UsageError
from reconcile.parts.tags import POE_CAUTION, Tag
from reconcile.reports.label_stock import FLAT, PAPERS, WRAPPED, Stock
from reconcile.reports.labels import QUIET_ZONE, SMALLEST_MODULE, Printed, render
from tests.nasty import NASTY, acting_characters

MM = 72 / 25.4  # points
LARGE = Stock(label=(90.0, 60.0), printed=60.0)


def text_of(printed: Printed) -> str:
    """All text of the PDF in the order in which it was drawn; PDFium ends lines with CR LF."""
    pages = pypdfium2.PdfDocument(printed.pdf)
    return " ".join(page.get_textpage().get_text_bounded() for page in pages).replace("\r\n", " ")


def codes(printed: Printed, dots_per_inch: int = 300) -> list[tuple[int, str]]:
    """The page and text of every QR code that can be read from the printed sheets."""
    found = []
    for number, page in enumerate(pypdfium2.PdfDocument(printed.pdf)):
        picture = page.render(scale=dots_per_inch / 72, grayscale=True).to_numpy()
        found += [
            (number, code.text) for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
        ]
    return found


def inked(printed: Printed, number: int = 0) -> list[tuple[float, float, float, float]]:
    """Bounds (left, top, right, bottom; mm from the upper left corner) of everything drawn on one page."""
    page = pypdfium2.PdfDocument(printed.pdf)[number]
    height = page.get_height()
    bounds = [thing.get_bounds() for thing in page.get_objects()]
    return [(x0 / MM, (height - y1) / MM, x1 / MM, (height - y0) / MM) for x0, y0, x1, y1 in bounds]


@pytest.mark.parametrize("stock", [FLAT, WRAPPED, replace(WRAPPED, paper=PAPERS["letter"])])
def test_every_label_bears_its_text_and_a_code_of_the_same_text(stock: Stock) -> None:
    tags = [Tag(f"acc-1:Gi1/0/{n} > PP-A:{n}") for n in range(1, 30)]
    printed = render(tags, stock)
    assert not printed.remarks
    assert Counter(text for _, text in codes(printed)) == Counter(tag.text for tag in tags)
    shown = text_of(printed).replace(" ", "")
    assert all(tag.text.replace(" ", "") in shown for tag in tags)


def test_a_name_and_its_position_stay_on_one_line_where_there_is_room_for_them() -> None:
    printed = render([Tag("PP-A:10 > WL-05:2")], replace(FLAT, label=(66.0, 25.4), printed=25.4))
    assert "WL-05:2" in text_of(printed)
    assert "PP-A:10" in text_of(printed)


def test_labels_fill_a_sheet_in_rows_and_go_on_to_the_next() -> None:
    each = FLAT.columns * FLAT.rows
    printed = render([Tag(f"PP-A:{n}") for n in range(each + 1)], FLAT)
    assert printed.sheets == 2
    pages = Counter(page for page, _ in codes(printed))
    assert pages == {0: each, 1: 1}


def test_labels_that_are_gone_from_the_first_sheet_are_left_free() -> None:
    stock = replace(FLAT, used=FLAT.columns * FLAT.rows - 1)
    assert [page for page, _ in codes(render([Tag("a"), Tag("b")], stock))] == [0, 1]


@pytest.mark.parametrize(
    "stock",
    [
        FLAT,
        WRAPPED,
        replace(FLAT, paper=PAPERS["letter"], margin=(5.0, 12.7), gap=(3.0, 0.0), label=(66.0, 25.4)),
        replace(FLAT, paper=(62.0, 30.0), margin=(1.0, 1.0), label=(60.0, 28.0)),
    ],
)
def test_labels_lie_on_the_sheet_side_by_side_and_never_on_one_another(stock: Stock) -> None:
    places = [stock.corner(n) for n in range(stock.columns * stock.rows)]
    assert {page for page, _, _ in places} == {0}
    width, height = stock.label
    for _, left, top in places:
        assert left >= 0
        assert top >= 0
        assert left + width <= stock.paper[0] + 1e-6
        assert top + height <= stock.paper[1] + 1e-6
    for number, (_, x, y) in enumerate(places):
        for _, u, v in places[number + 1 :]:
            assert abs(x - u) >= width - 1e-6 or abs(y - v) >= height - 1e-6


def test_nothing_is_printed_outside_the_part_of_a_wrap_around_label_that_is_printed_on() -> None:
    tags = [Tag(f"core-{n}:TenGigabitEthernet1/0/{n} > PP-A:{n}", "to WL-07:1", POE_CAUTION) for n in range(9)]
    areas = [WRAPPED.corner(n)[1:] for n in range(9)]
    for x0, y0, x1, y1 in inked(render(tags, WRAPPED)):
        assert any(
            left <= x0 and x1 <= left + WRAPPED.label[0] and top <= y0 and y1 <= top + WRAPPED.printed
            for left, top in areas
        ), (x0, y0, x1, y1)


def test_a_shifted_print_moves_everything_by_just_that_much() -> None:
    here, there = (inked(render([Tag("PP-A:1")], replace(FLAT, shift=shift))) for shift in ((0.0, 0.0), (1.5, -2.0)))
    for one, other in zip(here, there, strict=True):
        assert [b - a for a, b in zip(one, other, strict=True)] == pytest.approx([1.5, -2.0, 1.5, -2.0], abs=0.02)


def test_a_name_stays_on_one_line_as_long_as_that_can_be_read() -> None:
    shown = pypdfium2.PdfDocument(render([Tag("core-1:Ethernet2 > acc-1:Gi1/0/24")], WRAPPED).pdf)[0]
    lines = shown.get_textpage().get_text_bounded().split("\r\n")
    assert all(any(name in line for line in lines) for name in ("Ethernet2", "Gi1/0/24"))


def test_the_caution_stands_on_the_label_and_not_in_its_code() -> None:
    printed = render([Tag("PP-A:3", "to WL-02:1", POE_CAUTION)], FLAT)
    assert POE_CAUTION in text_of(printed)
    assert "to WL-02:1" in text_of(printed)
    assert codes(printed) == [(0, "PP-A:3")]


def test_a_code_is_never_printed_smaller_than_a_telephone_can_read() -> None:
    modules = (WRAPPED.printed - 2) / SMALLEST_MODULE - 2 * QUIET_ZONE
    longest = next(n for n in range(400, 0, -1) if not render([Tag("x" * 20 + " y" * n)], WRAPPED).remarks)
    assert codes(render([Tag("x" * 20 + " y" * longest)], WRAPPED))
    assert longest < modules * modules / 16  # at most a byte per eight modules, and half of these for correction


def test_a_text_that_has_no_room_is_cut_off_on_the_label_and_told() -> None:
    printed = render([Tag("where " * 150)], WRAPPED)
    assert any("cut off" in remark for remark in printed.remarks)
    assert any("QR code" in remark for remark in printed.remarks)
    assert "…" in text_of(printed)


def test_letters_that_the_font_lacks_are_spelled_out_and_told_while_the_code_has_them() -> None:
    printed = render([Tag("水槽:1")], LARGE)
    assert r"\u6c34\u69fd:" in text_of(printed)
    assert [text for _, text in codes(printed)] == ["水槽:1"]
    assert any("--font" in remark for remark in printed.remarks)


@pytest.mark.parametrize("name", NASTY)
def test_whatever_a_map_says_becomes_harmless_text_on_a_label(name: str) -> None:
    nasty = NASTY[name]
    printed = render([Tag(nasty or " ", nasty, nasty[:200])], LARGE)
    area = (*LARGE.corner(0)[1:], *(a + b for a, b in zip(LARGE.corner(0)[1:], LARGE.label, strict=True)))
    for x0, y0, x1, y1 in inked(printed):
        assert area[0] <= x0 <= x1 <= area[2]
        assert area[1] <= y0 <= y1 <= area[3]
    assert not acting_characters(text_of(printed)) - {"\r", "\x02", "\ufffe"}  # PDFium's marks of a divided word
    assert not acting_characters("".join(text for _, text in codes(printed)))
    assert not acting_characters("".join(printed.remarks))


def test_the_same_labels_give_the_same_file() -> None:
    assert render([Tag("PP-A:1")], FLAT).pdf == render([Tag("PP-A:1")], FLAT).pdf


@pytest.mark.parametrize(
    ("stock", "says"),
    [
        (replace(FLAT, label=(300.0, 20.0)), "no room"),
        (replace(FLAT, label=(0.0, 20.0)), "size"),
        (replace(FLAT, label=(60.0, 15.0)), "prints more"),
        (replace(FLAT, margin=(-1.0, 0.0)), "size"),
        (replace(FLAT, label=(9.0, 20.0)), "8 x 4 mm"),
        (replace(FLAT, printed=5.0), "8 x 4 mm"),
        (replace(FLAT, label=(float("nan"), 20.0)), "size"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_with_what_to_try(stock: Stock, says: str) -> None:
    with pytest.raises(UsageError, match=says) as refused:
        render([Tag("a")], stock)
    assert refused.value.hint


@pytest.mark.parametrize("content", [b"", b"no font at all", b"\0\1\0\0" + b"\xff" * 60])
def test_a_font_that_is_none_is_refused_by_name(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "letters.ttf"
    path.write_bytes(content)
    with pytest.raises(UsageError, match=r"letters\.ttf"):
        render([Tag("a")], FLAT, font=path)


def test_no_label_at_all_is_one_empty_sheet() -> None:
    printed = render([], FLAT)
    assert (printed.labels, printed.sheets, inked(printed)) == (0, 1, [])
