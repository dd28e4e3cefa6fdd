"""One comparison as a workbook: differences, causes, channels, spare ports and jacks, stations, what was not looked at.

Every cell is text that no spreadsheet runs: the cell type says string, and the quote prefix (SpreadsheetML
`quotePrefix`, ECMA-376 part 1, 18.8.45) keeps it text when somebody edits the cell. Numbers that people sort by are
numbers.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from openpyxl import Workbook
from openpyxl.cell.cell import Cell, MergedCell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from reconcile.capacity import Capacity
from reconcile.channels import Channel
from reconcile.findings import Finding
from reconcile.locate.placement import Placement
from reconcile.makers import maker_of
from reconcile.pipeline import Comparison
from reconcile.reports.escape import sentence
from reconcile.reports.words import evidence_line, in_order, place_words

Value = str | int | float | None

NARROWEST, WIDEST = 8, 60
"""Widths of columns, in characters; what is wider wraps."""

_MEASURED_ROWS = 500
_HEAD = Font(bold=True)
_HEAD_FILL = PatternFill("solid", fgColor="FFE7E2D3")
_TEXT = Alignment(vertical="top", wrap_text=True)


class Table(NamedTuple):
    """One sheet."""

    title: str
    columns: tuple[str, ...]
    rows: Sequence[Sequence[Value]]


def render(comparison: Comparison, free: Capacity) -> bytes:
    """The whole workbook, as the bytes of an .xlsx file."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for table in tables(comparison, free):
        _write(book.create_sheet(table.title), table)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def tables(comparison: Comparison, free: Capacity) -> list[Table]:
    """What stands in each sheet, in the order of the sheets."""
    result = comparison.result
    causes = {key: number for number, cause in enumerate(result.causes, 1) for key in cause.findings}
    return [
        Table("Differences", _DIFFERENCES, [_difference(f, causes.get(f.key)) for f in result.findings]),
        Table("Causes", _CAUSES, list(_causes(comparison))),
        Table("Channels", _CHANNELS, list(_channels(comparison))),
        Table("Spare ports", _SPARE_PORTS, list(_spare_ports(free))),
        Table("Spare jacks", _SPARE_JACKS, list(_spare_jacks(free))),
        Table("Stations", _STATIONS, list(_stations(comparison))),
        Table("Not looked at", _GAPS, [(g.switch, g.table, g.state, g.reason, g.hint) for g in result.gaps]),
    ]


_DIFFERENCES = (
    "severity", "kind", "switch", "port", "jack", "outlet", "room", "cord", "device", "addresses", "the map says",
    "seen", "now at", "what to do", "evidence", "grade", "cause", "record", "key",
)  # fmt: skip
_CAUSES = ("cause", "story", "sure", "to mind", "what to do", "could also be", "tell by", "differences")
_CHANNELS = (
    "channel", "verdict", "because", "device", "switch", "port", "jack", "outlet", "room", "cord", "path", "record",
)  # fmt: skip
_SPARE_PORTS = (
    "switch", "port", "room", "rack", "state", "because", "days without link", "or longer", "runs without link",
    "last link", "feeds PoE",
)  # fmt: skip
_SPARE_JACKS = ("outlet", "room", "jack", "cable", "length m", "occupied by")
_STATIONS = ("address", "maker", "device", "switch", "port", "grade", "candidates", "VLANs", "because")
_GAPS = ("switch", "table", "state", "why", "try")


def _difference(finding: Finding, cause: int | None) -> Sequence[Value]:
    at = finding.where
    return (
        finding.severity.value, finding.kind.value, at.switch, at.port, at.panel, at.outlet, at.room, at.cord,
        finding.device, " ".join(finding.macs), finding.documented, finding.seen,
        place_words(finding.moved_to) if finding.moved_to else "", finding.advice,
        "; ".join(map(evidence_line, finding.evidence)), finding.grade, cause, at.origin, finding.key,
    )  # fmt: skip


def _causes(comparison: Comparison) -> Iterator[Sequence[Value]]:
    for number, cause in enumerate(comparison.result.causes, 1):
        undo = [f"{step}. {text}" if len(cause.undo) > 1 else text for step, text in enumerate(cause.undo, 1)]
        yield (
            number, cause.story, _yes(cause.sure), "; ".join(cause.cautions), "; ".join(undo),
            "; ".join(cause.same_in_effect), cause.decides, " ".join(cause.findings),
        )  # fmt: skip


def _channels(comparison: Comparison) -> Iterator[Sequence[Value]]:
    paths = {channel.key: _path(channel) for channel in comparison.picture.channels.resolved}
    for row in comparison.result.verdicts:
        at = row.where
        yield (
            row.channel, row.verdict.value, row.because, row.device, at.switch, at.port, at.panel, at.outlet, at.room,
            at.cord, paths.get(row.channel, ""), at.origin,
        )  # fmt: skip


def _path(channel: Channel) -> str:
    return " - ".join(sentence(step.label) or step.kind.value for step in channel.steps)


def _spare_ports(free: Capacity) -> Iterator[Sequence[Value]]:
    for port in free.ports:
        days = None if port.silent_seconds is None else round(port.silent_seconds / 86_400, 1)
        feeds = "" if port.feeds_power is None else _yes(port.feeds_power)
        longer = "yes" if port.at_least else ""
        link = f"{port.last_link.astimezone():%Y-%m-%d}" if port.last_link else ""
        runs = port.silent_runs or None
        yield (
            port.switch, port.port, port.room, port.rack, port.state, port.because, days, longer, runs, link, feeds
        )  # fmt: skip


def _spare_jacks(free: Capacity) -> Iterator[Sequence[Value]]:
    for jack in free.ready:
        yield jack.outlet, jack.room, jack.jack, jack.cable, jack.length_m, jack.occupied_by


def _stations(comparison: Comparison) -> Iterator[Sequence[Value]]:
    picture = comparison.picture
    for mac, placement in sorted(picture.located.placements.items(), key=lambda pair: _by_place(pair[1])):
        device = picture.device_of.get(mac)
        at = placement.at
        others = ", ".join(map(str, placement.candidates)) if at is None else ""
        vlans = ", ".join(map(str, placement.vlans))
        where = (at.switch, at.port) if at else ("", "")
        yield (
            mac, maker_of(mac), device.name if device else "", *where, placement.grade.value, others, vlans,
            placement.because,
        )  # fmt: skip
    for mac, reason in sorted(picture.located.unplaced.items()):
        device = picture.device_of.get(mac)
        yield mac, maker_of(mac), device.name if device else "", "", "", "not placed", "", "", reason


def _by_place(placement: Placement) -> tuple[object, ...]:
    at = placement.at
    return (at is None, in_order(at.switch) if at else (), in_order(at.port) if at else (), placement.mac)


def _yes(is_so: bool) -> str:
    return "yes" if is_so else "no"


def _write(sheet: Worksheet, table: Table) -> None:
    """Head row frozen and with filters; rows below; columns as wide as what is in them."""
    for number, heading in enumerate(table.columns, 1):
        cell = sheet.cell(1, number, heading)
        cell.font, cell.fill = _HEAD, _HEAD_FILL
    for number, row in enumerate(table.rows, 2):
        for column, value in enumerate(row, 1):
            _fill(sheet.cell(number, column), value)
    sheet.freeze_panes = "A2"
    last = get_column_letter(len(table.columns))
    sheet.auto_filter.ref = f"A1:{last}{len(table.rows) + 1}"
    for number, width in enumerate(_widths(table), 1):
        sheet.column_dimensions[get_column_letter(number)].width = width
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _fill(cell: Cell | MergedCell, value: Value) -> None:
    cell.alignment = _TEXT
    if not isinstance(value, str):
        cell.value = value
    elif value:
        cell.value = sentence(value)
        cell.data_type = "s"  # openpyxl takes text that begins with = for a formula
        cell.quotePrefix = True


def _widths(table: Table) -> Iterable[float]:
    for number, heading in enumerate(table.columns):
        longest = max((len(str(row[number] or "")) for row in table.rows[:_MEASURED_ROWS]), default=0)
        yield min(max(longest, len(heading) + 3, NARROWEST), WIDEST) + 2
