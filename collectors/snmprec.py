"""The `.snmprec` recording format that snmpsim reads: one `OID|TAG|VALUE` a line.

TAG is the ASN.1 tag of the value in decimal (RFC 2578: 2 Integer32, 4 OCTET STRING, 6 OBJECT IDENTIFIER,
64 IpAddress, 65 Counter32, 66 Gauge32, 67 TimeTicks, 70 Counter64), with `x` behind it where VALUE is hex digits,
and perhaps `:NAME` of a snmpsim variation module.
"""

from __future__ import annotations

import bz2
import re
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from collectors.errors import RecordingError

Arcs = tuple[int, ...]

_OID = re.compile(rb"\.?\d+(?:\.\d+)*")


class Row(NamedTuple):
    """One variable. `value` is as written in the file: hex digits where `tag` ends in `x`."""

    oid: Arcs
    tag: str
    value: bytes

    def line(self) -> bytes:
        """The row as a line of a recording."""
        return b"%s|%s|%s\n" % (".".join(map(str, self.oid)).encode(), self.tag.encode(), self.value)


def arcs(oid: str) -> Arcs:
    """`1.3.6.1` or `.1.3.6.1` as numbers."""
    return tuple(map(int, oid.strip(".").split(".")))


def read_rows(path: Path) -> Iterator[Row]:
    """Every row in file order, comments and empty lines left out; `.bz2` is unpacked on the way.

    Raises RecordingError naming file and line.
    """
    try:
        with bz2.open(path) if path.suffix == ".bz2" else path.open("rb") as lines:
            for number, line in enumerate(lines, 1):
                if line.strip() and not line.startswith(b"#"):
                    yield _row(line, path, number)
    except OSError as error:
        raise RecordingError(str(path), f"cannot be read: {error.strerror or error}", "check the path") from None


def _row(line: bytes, path: Path, number: int) -> Row:
    oid, _, rest = line.rstrip(b"\r\n").partition(b"|")
    tag, bar, value = rest.partition(b"|")
    if not (_OID.fullmatch(oid) and tag and bar and tag.isascii()):
        raise RecordingError(f"{path}, line {number}", "is not OID|TAG|VALUE", "record the switch again")
    return Row(arcs(oid.decode()), tag.decode(), value)


def unique(rows: Iterable[Row], subtrees: Collection[Arcs] = ()) -> dict[Arcs, Row]:
    """Rows by OID, the first of repeated ones kept, and only those beneath `subtrees` where any are given."""
    kept: dict[Arcs, Row] = {}
    for row in rows:
        if not subtrees or any(row.oid[: len(subtree)] == subtree for subtree in subtrees):
            kept.setdefault(row.oid, row)
    return kept
