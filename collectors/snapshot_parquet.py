"""Snapshots as columns (Apache Parquet): what takes many seconds to read as text is there in one or two.

The forwarding rows of all switches are the table, a column per field of `Sighting` and one with the switch's name;
addresses are text as in JSON, so that any reader of Parquet can join them. All else is the JSON of the snapshot
without its rows, as metadata of the file, and is checked by the same models. Rows are checked as columns: where a
distinct text is wrong, the first row that has it is named.

The only file that knows pyarrow.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from collectors.errors import SnapshotError
from collectors.names import int_to_mac
from collectors.sightings import SightingColumns, Texts, narrowest
from collectors.snapshot import CollectedSwitch, Sighting, Snapshot
from collectors.snapshot_json import COLLECT_AGAIN, read_text

_REST = b"toneout.snapshot"
"""Key of the metadata that has the snapshot without its rows."""

_GROUP = 1 << 20
"""Rows that are written, checked and held in two forms at a time; one switch is never parted."""

_TEXTS = ("switch", "mac", "port", "status", "table")
_COLUMNS = ("switch", *Sighting._fields)
_REQUIRED = ("switch", "mac")
_LARGEST = 100_000_000  # octets of metadata: a thousand switches with all their ports are a fifth of that
_LENGTH = len("00:1a:2b:3c:4d:5e")
_EXPECTED = {
    "switch": "the name of a switch of this snapshot",
    "mac": "an address such as 00:1a:2b:3c:4d:5e",
    "vlan": "a VLAN number from 0 to 2147483647, or nothing",
    "port": "a port name as text, or nothing",
    "status": "text such as learned",
    "table": "text such as dot1q",
    "at": "seconds as a number, or nothing",
}


def write_columns(snapshot: Snapshot, scratch: Path, file: str) -> None:
    """Writes the file; `file` is what errors call it. Raises SnapshotError and OSError."""
    named, times = next(iter(Counter(switch.name for switch in snapshot.switches).most_common(1)), ("", 0))
    if times > 1:
        raise SnapshotError(file, f"two switches are called {named!a}: their rows would be mixed", "two names")
    told = snapshot.model_dump(mode="json", exclude_defaults=True, exclude={"switches": {"__all__": {"sightings"}}})
    rest = json.dumps({"schema_version": snapshot.schema_version, **told}, ensure_ascii=False)
    text = pa.dictionary(pa.int32(), pa.string())
    kinds = {"vlan": pa.int32(), "at": pa.float64()}
    schema = pa.schema([(name, kinds.get(name, text)) for name in _COLUMNS], {_REST: rest.encode()})
    with pq.ParquetWriter(scratch, schema, compression="zstd", dictionary_pagesize_limit=1 << 26) as writer:
        for some in _grouped(snapshot.switches):
            writer.write_table(_table(some, schema), row_group_size=2 * _GROUP)


def _grouped(switches: Iterable[CollectedSwitch]) -> Iterator[list[CollectedSwitch]]:
    some: list[CollectedSwitch] = []
    rows = 0
    for switch in switches:
        if some and rows + len(switch.sightings) > _GROUP:
            yield some
            some, rows = [], 0
        some.append(switch)
        rows += len(switch.sightings)
    if rows:
        yield some


def _table(switches: list[CollectedSwitch], schema: pa.Schema) -> pa.Table:
    parts = [SightingColumns.of(switch.sightings) for switch in switches]
    rows = SightingColumns.joined(parts)
    owner = np.repeat(np.arange(len(parts), dtype=np.int32), [len(part) for part in parts])
    macs = pa.array(rows.mac).dictionary_encode()
    texts = {
        "switch": Texts(owner, tuple(switch.name for switch in switches)),
        "mac": Texts(macs.indices.to_numpy(), tuple(map(int_to_mac, macs.dictionary.to_pylist()))),
        **{name: getattr(rows, name) for name in ("port", "status", "table")},
    }
    columns: dict[str, pa.Array] = {name: _dictionary(column) for name, column in texts.items()}
    columns["vlan"] = pa.array(rows.vlan, mask=rows.vlan < 0)
    columns["at"] = pa.array(rows.at, mask=~np.isfinite(rows.at))
    return pa.table([columns[name] for name in schema.names], schema=schema)


def _dictionary(column: Texts) -> pa.DictionaryArray:
    codes = pa.array(column.codes.astype(np.int32), mask=column.codes < 0)
    return pa.DictionaryArray.from_arrays(codes, pa.array(column.names, pa.string()))


def read_columns(path: Path) -> Snapshot:
    """Reads the file, one group of rows after the other. Raises SnapshotError naming file, row, column, expectation."""
    try:
        with pq.ParquetFile(path, thrift_string_size_limit=_LARGEST) as file:
            metadata, schema = file.metadata, file.schema_arrow
        _check_columns(schema, path)
        snapshot = _rest(metadata, path)
        texts = [name for name in schema.names if name in _TEXTS]
        with pq.ParquetFile(path, metadata=metadata, read_dictionary=texts) as file:
            _fill(snapshot, file, path)
        return snapshot
    except MemoryError:
        raise SnapshotError(str(path), "has more rows than this machine has memory for", "a larger machine") from None
    except (pa.ArrowException, OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno is not None:
            raise SnapshotError(str(path), f"cannot be read: {error.strerror}", "a readable file") from None
        words = " ".join(str(error).split())[:200]
        problem = f"is damaged, or was cut off while it was written or copied ({words!a})"
        raise SnapshotError(str(path), problem, COLLECT_AGAIN) from None


def _rest(metadata: pq.FileMetaData, path: Path) -> Snapshot:
    told = (metadata.metadata or {}).get(_REST)
    if told is None:
        raise SnapshotError(str(path), f"is Parquet, but has no {_REST.decode()!r}: not a snapshot", COLLECT_AGAIN)
    snapshot = read_text(told, str(path))
    for number, switch in enumerate(snapshot.switches):
        if switch.sightings:
            problem = f"switches[{number}].sightings: expected among the rows of the file, not in its metadata"
            raise SnapshotError(str(path), problem, COLLECT_AGAIN)
    return snapshot


def _check_columns(schema: pa.Schema, path: Path) -> None:
    fits: dict[str, Callable[[pa.DataType], bool]] = {"vlan": pa.types.is_integer, "at": pa.types.is_floating}
    for name in _REQUIRED:
        if name not in schema.names:
            raise SnapshotError(str(path), f"column {name}: is missing", COLLECT_AGAIN)
    for column in schema:
        expected = ", ".join(_COLUMNS)
        if column.name not in _COLUMNS or schema.names.count(column.name) > 1:
            problem = f"column {column.name[:40]!a}: not one of the expected ones, each once: {expected}"
            raise SnapshotError(str(path), problem, COLLECT_AGAIN)
        if not fits.get(column.name, _is_text)(column.type):
            problem = f"column {column.name}: is {column.type}, expected {_EXPECTED[column.name]}"
            raise SnapshotError(str(path), problem, COLLECT_AGAIN)


def _is_text(kind: pa.DataType) -> bool:
    if pa.types.is_dictionary(kind):
        kind = kind.value_type
    return bool(pa.types.is_string(kind) or pa.types.is_large_string(kind))


def _fill(snapshot: Snapshot, file: pq.ParquetFile, path: Path) -> None:
    """Gives every switch its rows."""
    by_name = {switch.name: switch for switch in snapshot.switches}
    rows = file.metadata.num_rows
    mac, vlan, at = np.empty(rows, np.int64), np.empty(rows, np.int32), np.empty(rows, np.float64)
    texts: dict[str, list[Texts]] = {"port": [], "status": [], "table": []}
    places: dict[str, list[slice]] = defaultdict(list)
    first = 0
    for number in range(file.num_row_groups):
        group = _Group(file.read_row_group(number, use_threads=False), first, path)
        here = slice(first, first + len(group))
        group.addresses(mac[here])
        group.numbers(vlan[here], at[here])
        for name, absent in (("port", None), ("status", "learned"), ("table", "")):
            texts[name].append(group.texts(name, absent))
        for name, part in group.by_switch(by_name):
            places[name].append(slice(first + part.start, first + part.stop))
        first = here.stop
    port, status, table = (Texts.joined(parts) for parts in texts.values())
    whole = SightingColumns(mac, vlan, port, status, table, at)
    for name, parts in places.items():
        by_name[name].sightings = SightingColumns.joined([whole.part(part) for part in parts])


class _Group:
    """Some rows of the file, the first of which has the number `first` (from 0)."""

    def __init__(self, table: pa.Table, first: int, path: Path) -> None:
        self._table, self._first, self._path = table, first, path

    def __len__(self) -> int:
        return int(self._table.num_rows)

    def addresses(self, out: npt.NDArray[np.int64]) -> None:
        """The addresses as numbers."""
        codes, names = self.coded("mac")
        numbers, good = _address_numbers(names)
        for code in np.flatnonzero(~good).tolist():
            self._refuse_any("mac", codes == code, names[code].as_py())
        if len(codes):
            np.take(numbers, codes, out=out, mode="clip")  # the other mode makes a copy; all codes are good

    def numbers(self, vlan: npt.NDArray[np.int32], at: npt.NDArray[np.float64]) -> None:
        """VLANs and times."""
        told = self._numbers("vlan", pa.int32(), pa.int64(), -1)
        self._refuse_any("vlan", self._given("vlan") & ((told < 0) | (told >= 1 << 31)), told)
        vlan[:] = told
        when = self._numbers("at", pa.float64(), pa.float64(), np.nan)
        self._refuse_any("at", self._given("at") & ~np.isfinite(when), when)
        at[:] = when

    def texts(self, name: str, absent: str | None) -> Texts:
        """A column of texts; one that the file does not have is `absent` in all rows. Only ports may be missing."""
        if name not in self._table.column_names:
            names = () if absent is None else (absent,)
            return Texts(np.full(len(self), len(names) - 1, np.int8), names)
        codes, texts = self.coded(name, or_none=absent is None)
        return Texts(codes.astype(narrowest(len(texts)), copy=False), tuple(texts.to_pylist()))

    def by_switch(self, known: dict[str, CollectedSwitch]) -> Iterator[tuple[str, slice]]:
        """Where the rows of each switch begin and end; one whose rows are not together comes several times."""
        codes, names = self.coded("switch")
        for code, name in enumerate(names.to_pylist()):
            if name not in known:
                self._refuse_any("switch", codes == code, name)
        starts = [0, *(np.flatnonzero(codes[1:] != codes[:-1]) + 1).tolist(), len(codes)]
        for start, end in pairwise(starts if len(codes) else []):
            yield names[codes[start]].as_py(), slice(start, end)

    def _given(self, name: str) -> npt.NDArray[np.bool_] | bool:
        """Which rows have a value."""
        if name not in self._table.column_names:
            return False
        column = self._table[name]
        return np.asarray(column.is_valid()) if column.null_count else True

    def coded(self, name: str, or_none: bool = False) -> tuple[npt.NDArray[np.int32], pa.Array]:
        """A column of texts as their numbers and the distinct texts; the number -1 where a row has none."""
        column = self._table[name].unify_dictionaries().combine_chunks()
        if isinstance(column, pa.ChunkedArray):
            column = column.chunk(0) if column.num_chunks else pa.array([], pa.dictionary(pa.int32(), pa.string()))
        if column.null_count and not or_none:
            self._refuse_any(name, ~np.asarray(column.is_valid()), None)
        codes = (column.indices.fill_null(-1) if column.null_count else column.indices).to_numpy()
        if len(codes) and not (-1 if column.null_count else 0) <= codes.min() <= codes.max() < len(column.dictionary):
            raise ValueError(f"column {name} has numbers of texts that it does not have")  # Arrow does not look
        return codes, column.dictionary

    def _numbers(self, name: str, usual: pa.DataType, kind: pa.DataType, absent: float) -> npt.NDArray[Any]:
        """A column of the usual type as it is, of another one as `kind`; what does not fit that is negative then."""
        if name not in self._table.column_names:
            return np.full(len(self), absent)
        column = self._table[name]
        column = column if column.type == usual else column.cast(kind, safe=False)
        return np.asarray(column.fill_null(absent) if column.null_count else column)

    def _refuse_any(self, name: str, wrong: npt.NDArray[np.bool_] | np.bool_, value: Any) -> None:
        """Refuses the file where a row is wrong. `value` is what all these rows have, or the whole column."""
        if not isinstance(wrong, np.ndarray) or not wrong.any():
            return
        first = int(wrong.argmax())
        value = value[first].item() if isinstance(value, np.ndarray) else value
        shown = "nothing" if value is None else ascii(value[:60] if isinstance(value, str) else value)
        count = int(np.count_nonzero(wrong)) - 1
        more = f" ({count:,} more rows)" if count else ""
        problem = f"row {self._first + first + 1:,}, column {name}: is {shown}, expected {_EXPECTED[name]}{more}"
        raise SnapshotError(str(self._path), problem, COLLECT_AGAIN)


_DIGITS = [0, 1, 3, 4, 6, 7, 9, 10, 12, 13, 15, 16]  # where an address has its digits; between them are colons
_DIGIT = np.full(256, 16, np.int64)
_DIGIT[np.frombuffer(b"0123456789abcdef", np.uint8)] = np.arange(16)


def _address_numbers(texts: pa.Array) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """The numbers of addresses as `names.mac_to_int` gives them, and which of the texts are addresses."""
    good = np.asarray(pc.equal(pc.binary_length(texts), _LENGTH))
    numbers = np.zeros(len(texts), np.int64)
    octets = np.frombuffer(b"".join(texts.filter(pa.array(good)).cast(pa.binary()).to_pylist()), np.uint8)
    octets = octets.reshape(-1, _LENGTH)
    digits = _DIGIT[octets[:, _DIGITS]]
    numbers[good] = digits @ (1 << np.arange(44, -1, -4))
    good[good] = (digits < 16).all(1) & (octets[:, 2::3] == ord(":")).all(1)
    return numbers, good
