"""The rows of a forwarding table as columns: what takes gigabytes as objects takes megabytes as numbers.

A campus has tens of millions of rows. `SightingColumns` stands wherever a list of `Sighting` stands and makes the
rows one by one when somebody asks; who works with columns takes the arrays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, overload

import numpy as np
import numpy.typing as npt

from collectors.names import int_to_mac, mac_to_int
from collectors.snapshot import CheckedRows, Sighting

MANY = 10_000
"""Rows of one switch from which on they are worth keeping as columns."""

_AT_ONCE = 4096  # rows that are made into objects at a time

Numbers = npt.NDArray[np.signedinteger[Any]]


@dataclass(frozen=True, slots=True)
class Texts:
    """A column of texts: `names[codes[k]]` is the k-th one, and the code -1 stands for None."""

    codes: Numbers
    names: tuple[str, ...]

    @classmethod
    def of(cls, texts: Iterable[str | None]) -> Texts:
        """Numbers the texts in the order in which they appear."""
        number: dict[str, int] = {}
        codes = [-1 if text is None else number.setdefault(text, len(number)) for text in texts]
        return cls(np.array(codes, narrowest(len(number))), tuple(number))

    @classmethod
    def joined(cls, parts: Sequence[Texts]) -> Texts:
        """Several columns one after the other. Parts that share their names are translated once."""
        number: dict[str, int] = {}
        known: dict[int, list[int]] = {}
        for part in parts:
            if id(part.names) not in known:
                known[id(part.names)] = [number.setdefault(name, len(number)) for name in part.names]
        kind = narrowest(len(number))
        new_code = {key: np.array([*codes, -1], kind) for key, codes in known.items()}
        codes = np.empty(sum(len(part.codes) for part in parts), kind)
        first = 0
        for part in parts:
            last = first + len(part.codes)
            same = known[id(part.names)] == list(range(len(part.names)))
            codes[first:last] = part.codes if same else new_code[id(part.names)][part.codes]
            first = last
        return cls(codes, tuple(number))

    def part(self, rows: slice) -> Texts:
        """Some rows in a row; a view."""
        return Texts(self.codes[rows], self.names)

    def tolist(self) -> list[Any]:
        """The texts and Nones."""
        names = np.array([*self.names, None], object)
        told: list[Any] = names[self.codes].tolist()
        return told

    def code(self, text: str) -> int:
        """The code of a text; one that no row has where it is not among the names."""
        return self.names.index(text) if text in self.names else len(self.names)


def narrowest(names: int) -> type[np.signedinteger[Any]]:
    """The narrowest type for the codes of so many names."""
    return np.int8 if names < 1 << 7 else np.int16 if names < 1 << 15 else np.int32


class SightingColumns(CheckedRows):
    """Rows that were checked. `vlan` is -1 and `at` NaN where the row has None; `mac` as `names.mac_to_int`."""

    __slots__ = ("_first", "_whole", "at", "mac", "port", "status", "table", "vlan")

    def __init__(
        self,
        mac: npt.NDArray[np.int64],
        vlan: npt.NDArray[np.int32],
        port: Texts,
        status: Texts,
        table: Texts,
        at: npt.NDArray[np.float64],
    ) -> None:
        self.mac, self.vlan, self.port, self.status, self.table, self.at = mac, vlan, port, status, table, at
        self._whole, self._first = self, 0  # what this is a part of, and from which row on

    @classmethod
    def of(cls, rows: Sequence[Sighting]) -> SightingColumns:
        """The columns of some rows; the very same where they are columns already."""
        if isinstance(rows, SightingColumns):
            return rows
        macs, vlans, ports, states, tables, times = zip(*rows, strict=True) if rows else ((),) * 6
        return cls(
            np.fromiter(map(mac_to_int, macs), np.int64, len(rows)),
            np.array([-1 if vlan is None else vlan for vlan in vlans], np.int32),
            Texts.of(ports),
            Texts.of(states),
            Texts.of(tables),
            np.array([np.nan if at is None else at for at in times], np.float64),
        )

    @classmethod
    def joined(cls, parts: Sequence[SightingColumns]) -> SightingColumns:
        """The rows of several, at least one, one after the other; no copy where they are the parts of one in order."""
        first = parts[0]
        ends = np.cumsum([first._first, *(len(part) for part in parts)]).tolist()
        if all(part._whole is first._whole and part._first == end for part, end in zip(parts, ends, strict=False)):
            return first._whole.part(slice(ends[0], ends[-1]))
        port, status, table = (
            Texts.joined([getattr(part, column) for part in parts]) for column in ("port", "status", "table")
        )
        mac, vlan, at = (np.concatenate([getattr(part, column) for part in parts]) for column in ("mac", "vlan", "at"))
        return cls(mac, vlan, port, status, table, at)

    def part(self, rows: slice) -> SightingColumns:
        """Some rows; views of the same arrays."""
        port, status, table = (texts.part(rows) for texts in (self.port, self.status, self.table))
        part = SightingColumns(self.mac[rows], self.vlan[rows], port, status, table, self.at[rows])
        first, _, step = rows.indices(len(self))
        if step == 1:  # others are no stretch of the whole, and stand for themselves
            part._whole, part._first = self._whole, self._first + first
        return part

    def where(self, mac: str | None = None, port: str | None = None) -> list[Sighting]:
        """The rows about one address, or of one port, without making any other."""
        wanted = np.ones(len(self), bool)
        if mac is not None:
            wanted &= self.mac == mac_to_int(mac)
        if port is not None:
            wanted &= self.port.codes == self.port.code(port)
        return [row for k in np.flatnonzero(wanted).tolist() for row in self.part(slice(k, k + 1))]

    def __len__(self) -> int:
        return len(self.mac)

    @overload
    def __getitem__(self, index: int) -> Sighting: ...
    @overload
    def __getitem__(self, index: slice) -> SightingColumns: ...
    def __getitem__(self, index: int | slice) -> Sighting | SightingColumns:
        if isinstance(index, slice):
            return self.part(index)
        k = range(len(self))[index]
        return next(iter(self.part(slice(k, k + 1))))

    def __iter__(self) -> Iterator[Sighting]:
        for first in range(0, len(self), _AT_ONCE):
            some = self.part(slice(first, first + _AT_ONCE))
            yield from map(
                Sighting,
                map(int_to_mac, some.mac.tolist()),
                (None if vlan < 0 else vlan for vlan in some.vlan.tolist()),
                some.port.tolist(),
                some.status.tolist(),
                some.table.tolist(),
                (at if at == at else None for at in some.at.tolist()),
            )

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Sequence) or len(self) != len(other):
            return False
        return self is other or all(one == two for one, two in zip(self, other, strict=True))

    __hash__ = None  # type: ignore[assignment] # equal to lists, which have none either

    def __repr__(self) -> str:
        return f"<{len(self)} sightings as columns>"


def packed(rows: Sequence[Sighting]) -> Sequence[Sighting]:
    """The same rows, as columns where they are many."""
    return SightingColumns.of(rows) if len(rows) >= MANY else rows
