"""Labels for cords, fixed cables and jacks as a PDF for label sheets: a text, the same text as QR code, a caution.

Flat labels go onto panels and outlets. Wrap-around labels go onto cords and cables: their upper part is printed, the
rest is wrapped over the print. Both ends of every cord and cable are labelled (TIA-606, ISO/IEC 14763-2).
QR codes follow ISO/IEC 18004, quiet zone of four modules included.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import segno
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas

from reconcile.errors import UsageError
from reconcile.parts.tags import Tag
from reconcile.reports.escape import sentence
from reconcile.reports.label_stock import PAD, Stock

SMALLEST_MODULE = 0.25
"""mm of one module of a QR code; telephones of today read it from a hand's breadth (from memory)."""

QUIET_ZONE = 4
"""Modules that stay white around a QR code (ISO/IEC 18004)."""

NARROWEST_TEXT = 12.0
"""mm beside the QR code that a text needs; where there is less, the text goes first."""

LARGEST_TEXT, SMALLEST_TEXT = 11.0, 4.5
"""Points; what does not fit at the smallest is cut off on the label, and told."""

_CAUTION_POINTS = 5.0
_MORE_POINTS = 8.0  # of the second line, where there is room for it
_WHOLE = 9.0  # points above which a line breaks at blanks alone, so that a name and its position stay together
_READABLE = 7.0  # points at which a name had better stay on one line than be larger
_AT_BLANKS, _AT_COLONS = re.compile(r"[^ ]*(?:[ ]+|$)"), re.compile(r"[^ :]*(?::|[ ]+|$)")
_LEADING = 1.15
_BODY, _BOLD = "toneout-body", "toneout-bold"


@dataclass(slots=True)
class Printed:
    """The PDF, how many labels and sheets it has, and what could not be shown as it should be."""

    pdf: bytes = b""
    labels: int = 0
    sheets: int = 0
    remarks: list[str] = field(default_factory=list)


def render(tags: Sequence[Tag], stock: Stock, *, title: str = "", font: Path | None = None) -> Printed:
    """Lays the labels out on as many sheets as they take. Raises UsageError when a label does not fit the sheet."""
    stock.check()
    _fonts(font)
    done = Printed(labels=len(tags))
    content = io.BytesIO()
    canvas = Canvas(content, pagesize=(stock.paper[0] * mm, stock.paper[1] * mm), invariant=1, pageCompression=1)
    canvas.setTitle(sentence(title) or "Labels")
    page = 0
    for number, tag in enumerate(tags):
        on, left, top = stock.corner(number)
        while page < on:
            canvas.showPage()
            page += 1
        done.remarks += _draw(canvas, tag, stock, left, stock.paper[1] - top)
    canvas.showPage()  # no label at all is an empty sheet: a PDF without pages cannot be opened
    canvas.save()
    done.pdf, done.sheets = content.getvalue(), page + 1
    return done


def _fonts(font: Path | None) -> None:
    """Registers the font for this run. Without one: that of reportlab, which has Latin letters."""
    try:
        for name, ours in ((_BODY, "Vera.ttf"), (_BOLD, "VeraBd.ttf")):
            pdfmetrics.registerFont(TTFont(name, str(font) if font else ours))
    except (TTFError, OSError) as error:
        raise UsageError(str(font or "the font"), f"cannot be used: {error}", "a TrueType file (.ttf)") from None


def _draw(canvas: Canvas, tag: Tag, stock: Stock, left: float, top: float) -> Iterator[str]:
    """One label whose upper left corner is `left` mm from the left and `top` mm from the bottom."""
    if stock.outline:
        canvas.setLineWidth(0.2)
        canvas.setDash(1, 2)
        canvas.rect(left * mm, (top - stock.label[1]) * mm, stock.label[0] * mm, stock.label[1] * mm)
        canvas.setDash()
    text = sentence(tag.text)
    height = stock.printed - 2 * PAD
    code = _code(text, height)
    if code is not None and stock.label[0] - height - 3 * PAD < NARROWEST_TEXT:
        code = None
    side = PAD + height if code else 0.0
    if code:
        _draw_code(canvas, code, left + PAD, top - PAD, height)
    else:
        yield f"{_short(text)}: no room for a readable QR code of it on this label"
    width = stock.label[0] - 2 * PAD - side
    yield from _draw_texts(canvas, tag, (left + PAD + side) * mm, (top - PAD) * mm, width * mm, height * mm)


def _code(text: str, height: float) -> tuple[tuple[int, ...], ...] | None:
    """The modules of the QR code; None when they would be too small at this height (mm)."""
    try:
        matrix = tuple(tuple(row) for row in segno.make(text, error="m", micro=False, boost_error=False).matrix)
    except (ValueError, segno.DataOverflowError):
        return None
    return matrix if height / (len(matrix) + 2 * QUIET_ZONE) >= SMALLEST_MODULE else None


def _draw_code(canvas: Canvas, matrix: tuple[tuple[int, ...], ...], left: float, top: float, height: float) -> None:
    """Draws runs of dark modules in a square of that height in mm, quiet zone included."""
    module = height / (len(matrix) + 2 * QUIET_ZONE) * mm
    x0, y0 = left * mm + QUIET_ZONE * module, top * mm - QUIET_ZONE * module
    path = canvas.beginPath()
    for y, row in enumerate(matrix):
        start = None
        for x, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                path.rect(x0 + start * module, y0 - (y + 1) * module, (x - start) * module, module)
                start = None
    canvas.drawPath(path, stroke=0, fill=1)


def _draw_texts(canvas: Canvas, tag: Tag, x: float, top: float, width: float, height: float) -> Iterator[str]:
    """Caution at the foot, the text above it as large as it fits, the second line between. All in points."""
    foot = top - height
    if tag.caution:
        lines = _wrap(sentence(tag.caution), _CAUTION_POINTS, width)
        taken = _tall(lines, _CAUTION_POINTS) + 2
        canvas.setLineWidth(0.5)
        canvas.line(x, foot + taken - 0.5, x + width, foot + taken - 0.5)
        _lines(canvas, lines, _BOLD, _CAUTION_POINTS, x, foot + taken - 2)
        foot += taken
    words = _printable(sentence(tag.text))
    more = _printable(sentence(tag.more))
    if words != sentence(tag.text) or more != sentence(tag.more):
        yield f"{_short(tag.text)}: the font lacks some of its letters, they are spelled out; give --font FILE"
    rest = top - foot - (SMALLEST_TEXT + 1) * _LEADING * bool(more)
    points, lines = _fit(words, width, rest)
    if _tall(lines, points) > rest + 0.01:
        lines = lines[: max(int(rest // (points * _LEADING)), 1)]
        lines[-1] = _cut(lines[-1], _BOLD, points, width)
        yield f"{_short(tag.text)}: too long for this label; it is cut off there"
    _lines(canvas, lines, _BOLD, points, x, top)
    if more:
        below = top - _tall(lines, points)
        size = _second(more, width, below - foot)
        _lines(canvas, [_cut(more, _BODY, size, width, sure=False)], _BODY, size, x, below)


def _lines(canvas: Canvas, lines: Sequence[str], font: str, points: float, x: float, top: float) -> None:
    canvas.setFont(font, points)
    for number, line in enumerate(lines, 1):
        canvas.drawString(x, top - number * points * _LEADING + 0.25 * points, line)


def _second(more: str, width: float, height: float) -> float:
    """Points for the second line: as large as the label has room for, and not below the smallest."""
    points = min(_MORE_POINTS, height / _LEADING)
    while points > SMALLEST_TEXT + 1 and _wide(more, _BODY, points) > width:
        points -= 0.5
    return max(points, SMALLEST_TEXT + 1)


def _fit(text: str, width: float, height: float) -> tuple[float, list[str]]:
    """The largest size at which the text fits, with its lines. Names stay whole as long as that is readable."""
    sizes = [LARGEST_TEXT - step / 2 for step in range(int((LARGEST_TEXT - SMALLEST_TEXT) * 2) + 1)]
    for breaks, least in ((_AT_BLANKS, _WHOLE), (_AT_COLONS, _READABLE)):
        for points in (size for size in sizes if size >= least):
            lines = _wrap(text, points, width, breaks)
            whole = all(_wide(one.rstrip(), _BOLD, points) <= width for one in breaks.findall(text))
            if whole and _tall(lines, points) <= height:
                return points, lines
    for points in sizes:
        lines = _wrap(text, points, width)
        if _tall(lines, points) <= height:
            return points, lines
    return SMALLEST_TEXT, _wrap(text, SMALLEST_TEXT, width)


def _tall(lines: Sequence[str], points: float) -> float:
    return len(lines) * points * _LEADING


def _wrap(text: str, points: float, width: float, breaks: re.Pattern[str] = _AT_COLONS) -> list[str]:
    """Lines in bold type, which end after a piece that `breaks` finds: after blanks, or also after the colon between
    a name and its position. A piece that is wider than the label breaks wherever it has to."""
    lines = [""]
    for piece in breaks.findall(text):
        if lines[-1] and _wide((lines[-1] + piece).rstrip(), _BOLD, points) > width:
            lines.append("")
        if _wide(piece.rstrip(), _BOLD, points) <= width:
            lines[-1] += piece
            continue
        for character in piece:
            if lines[-1] and _wide(lines[-1] + character, _BOLD, points) > width:
                lines.append("")
            lines[-1] += character
    return [line.strip() for line in lines]


def _cut(text: str, font: str, points: float, width: float, *, sure: bool = True) -> str:
    """The beginning that fits, with an ellipsis; the whole where it fits and is not `sure` to be cut."""
    if not sure and _wide(text, font, points) <= width:
        return text
    while text and _wide(text + "…", font, points) > width:
        text = text[:-1]
    return text + "…"


def _wide(text: str, font: str, points: float) -> float:
    return float(pdfmetrics.stringWidth(text, font, points))


def _printable(text: str) -> str:
    r"""The text with letters that the font lacks spelled out, `\u7814`: nothing is left out unseen."""
    return "".join(letter if _has(letter) else f"\\u{ord(letter):04x}" for letter in text)


def _has(letter: str) -> bool:
    fonts = (pdfmetrics.getFont(name) for name in (_BODY, _BOLD))
    return all(isinstance(font, TTFont) and ord(letter) in font.face.charToGlyph for font in fonts)


def _short(text: str) -> str:
    shown = sentence(text)
    return shown if len(shown) <= 40 else shown[:39] + "…"
