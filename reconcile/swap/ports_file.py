"""Reads the correspondence of ports that a person gave or corrected: CSV with the columns old port and new port.

`reconcile.reports.swap` writes it. Rows without a new port are left to the pairing.
"""

from __future__ import annotations

import csv
import io

from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.swap.look import Look


def read_ports(text: str, where: str, before: Look, after: Look) -> dict[PortRef, PortRef]:
    """The pairs of the rows that have both ports; further columns are not read.

    Raises UsageError that names file, row, problem and what to try.
    """
    try:
        rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))
    except csv.Error as error:
        raise UsageError(where, f"is not CSV: {error}", "the form that --ports writes") from None
    headings = [cell.strip().casefold() for cell in rows[0]] if rows else []
    if not {"old port", "new port"} <= set(headings):
        raise UsageError(where, "has no columns 'old port' and 'new port'", "the form that --ports writes")
    places = headings.index("old port"), headings.index("new port")
    found: dict[PortRef, PortRef] = {}
    for number, row in enumerate(rows[1:], 2):
        one, other = (row[at].strip() if at < len(row) else "" for at in places)
        if not one or not other:
            continue
        old, new = _port(one, before, f"{where} row {number}"), _port(other, after, f"{where} row {number}")
        if old in found:
            raise UsageError(f"{where} row {number}", f"{one} stands in an earlier row too", "one row for each port")
        found[old] = new
    return found


def _port(text: str, seen: Look, where: str) -> PortRef:
    """A port as SWITCH:PORT. Switch names may hold colons, so the known ones decide."""
    ref = next((ref for ref in seen.picture.ports if str(ref).casefold() == text.casefold()), None)
    if ref is None:
        switches = ", ".join(sorted(seen.sockets))
        raise UsageError(where, f"no switch that answered has the port {text}", f"SWITCH:PORT, one of {switches}")
    return ref
