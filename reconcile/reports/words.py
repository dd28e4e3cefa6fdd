"""The words that several reports share: a place, a row of evidence, a time, a count; and the order of ports."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from reconcile.findings import Evidence, Finding, Place

_DIGITS = re.compile(r"(\d{1,18})")  # bounded: int() refuses thousands of digits


def place_words(place: Place) -> str:
    """`sw-wet port Gi1/0/7, panel P1:7, outlet WL-04, cord C-107, wet lab`; whatever is known of it."""
    port = f" port {place.port}" if place.port else ""
    parts = (
        f"{place.switch}{port}".strip(),
        f"panel {place.panel}" if place.panel else "",
        f"outlet {place.outlet}" if place.outlet else "",
        f"cord {place.cord}" if place.cord else "",
        place.room,
    )
    return ", ".join(part for part in parts if part) or "nowhere in the map"


def evidence_line(row: Evidence) -> str:
    """`sw-wet port Gi1/0/7, forwarding: 00:11:22:33:44:55 in VLAN 10`."""
    port = f" port {row.port}" if row.port else ""
    table = f", {row.table}" if row.table else ""
    return f"{row.switch}{port}{table}: {row.says}"


def history_words(finding: Finding) -> str:
    """`2026-03-01 02:15 UTC, 5 runs; no link was ever seen at this port`; '' where the history knows nothing."""
    if finding.since is None:
        return ""
    runs = f", {counted(finding.runs, 'run')}" if finding.runs else ""
    flaps = f"; it comes and goes, {finding.flaps} times of late" if finding.flaps else ""
    never = "; no link was ever seen at this port" if finding.port_was_up is False else ""
    return f"{at_time(finding.since)}{runs}{flaps}{never}"


def counted(number: int, one: str, many: str = "") -> str:
    """`1 switch`, `3 switches`: `many` where adding an s is not enough."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def at_time(moment: datetime) -> str:
    """A time as the clock on the wall here shows it, to the minute."""
    return moment.astimezone().strftime("%Y-%m-%d %H:%M %Z").strip()


def age(passed: timedelta) -> str:
    """`just now`, `3 minutes ago`, `30 hours ago`, `12 days ago`: rounded down."""
    seconds = passed.total_seconds()
    for unit, length in (("day", 86_400), ("hour", 3_600), ("minute", 60)):
        if seconds >= 2 * length:
            return f"{seconds // length:.0f} {unit}s ago"
    return "just now"


def in_order(name: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key that puts Gi1/0/2 before Gi1/0/10."""
    pieces = _DIGITS.split(name.casefold())
    return tuple((1, int(piece), "") if piece.isdecimal() else (0, 0, piece) for piece in pieces)
