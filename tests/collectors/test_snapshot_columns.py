"""Snapshots as columns: the same content as JSON, the same refusals, and rows that are made when they are asked for."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors.errors import SnapshotError
from collectors.names import int_to_mac
from collectors.sightings import MANY, SightingColumns
from collectors.snapshot import CollectedSwitch, FailedSwitch, Neighbour, Port, Sighting, Snapshot
from collectors.snapshot_files import load_snapshot, save_snapshot
from collectors.snapshot_parquet import _Group

NOON = datetime(2024, 5, 17, 12, 0, tzinfo=UTC)
ROWS = [
    Sighting("00:00:5e:00:53:01", 30, "Gi1/0/1", "learned", "dot1q", 1.5),
    Sighting("00:00:5e:00:53:02"),
    Sighting("00:00:5e:00:53:03", 1, "Gi1/0/2", "self", "dot1d", 0.1),
]


def saltmarsh(**rows: list[Sighting]) -> Snapshot:
    rows = rows or {"wetlab": ROWS, "boatshed": [], "bunkhouse": ROWS[:1]}
    switches = [
        CollectedSwitch(
            name=name,
            started=NOON,
            ports=[Port(name="Gi1/0/1", speed_mbps=1000)],
            neighbours=[Neighbour(port=None, system_name="外事楼")],
            sightings=some,
        )
        for name, some in rows.items()
    ]
    failed = [FailedSwitch(name="pier", started=NOON, reason="nothing came back", kind="no answer")]
    return Snapshot(started=NOON, finished=NOON, switches=switches, failed=failed)


def saved(tmp_path: Path, snapshot: Snapshot | None = None) -> Path:
    path = tmp_path / "snapshot.parquet"
    save_snapshot(snapshot or saltmarsh(), path)
    return path


def changed(tmp_path: Path, change: Callable[[pa.Table], pa.Table]) -> Path:
    """The file as somebody else's program would write it again, plain texts and all."""
    path = saved(tmp_path)
    table = pq.read_table(path)
    kinds = {"vlan": pa.int64(), "at": pa.float64()}
    plain = table.cast(pa.schema([(n, kinds.get(n, pa.string())) for n in table.column_names], table.schema.metadata))
    pq.write_table(change(plain), path)
    return path


def with_value(column: str, row: int, value: Any, kind: pa.DataType | None = None) -> Callable[[pa.Table], pa.Table]:
    def change(table: pa.Table) -> pa.Table:
        values = table[column].to_pylist()
        values[row] = value
        at = table.column_names.index(column)
        return table.set_column(at, column, pa.array(values, kind or table[column].type))

    return change


def refusal(path: Path) -> str:
    with pytest.raises(SnapshotError) as caught:
        load_snapshot(path)
    assert str(path) in str(caught.value)
    assert caught.value.hint
    return caught.value.problem


def test_the_ending_of_the_name_chooses_the_form_and_the_content_is_the_same(tmp_path: Path) -> None:
    columns, text = saved(tmp_path), tmp_path / "snapshot.json"
    save_snapshot(saltmarsh(), text)
    assert columns.read_bytes().startswith(b"PAR1")
    assert text.read_bytes().startswith(b"{")
    assert load_snapshot(columns) == load_snapshot(text) == saltmarsh()
    assert isinstance(load_snapshot(columns).switches[0].sightings, SightingColumns)


macs = st.integers(0, (1 << 48) - 1).map(int_to_mac)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
sightings = st.builds(
    Sighting,
    macs,
    st.none() | st.integers(0, (1 << 31) - 1),
    st.none() | texts,
    texts,
    texts,
    st.none() | st.floats(allow_nan=False, allow_infinity=False),
)


@settings(max_examples=60, deadline=None)
@given(rows=st.dictionaries(texts, st.lists(sightings, max_size=6), min_size=1, max_size=4))
def test_whatever_switches_say_is_the_same_through_text_and_through_columns(
    tmp_path_factory: pytest.TempPathFactory, rows: dict[str, list[Sighting]]
) -> None:
    folder = tmp_path_factory.mktemp("both")
    snapshot = saltmarsh(**rows)
    save_snapshot(snapshot, folder / "1.parquet")
    save_snapshot(load_snapshot(folder / "1.parquet"), folder / "2.json")
    save_snapshot(load_snapshot(folder / "2.json"), folder / "3.parquet")
    save_snapshot(snapshot, folder / "4.json")
    assert load_snapshot(folder / "3.parquet") == snapshot
    assert (folder / "2.json").read_bytes() == (folder / "4.json").read_bytes()


def test_columns_are_read_by_any_reader_of_parquet(tmp_path: Path) -> None:
    table = pq.read_table(saved(tmp_path)).to_pylist()
    assert table[0] == {"switch": "wetlab", **ROWS[0]._asdict()}
    assert table[1] == {"switch": "wetlab", **ROWS[1]._asdict()}
    assert table[3] == {"switch": "bunkhouse", **ROWS[0]._asdict()}


def test_rows_in_any_order_and_columns_at_their_default_are_read(tmp_path: Path) -> None:
    mixed = load_snapshot(changed(tmp_path, lambda table: table.take([3, 2, 0, 1])))
    assert mixed.switches[0].sightings == [ROWS[2], ROWS[0], ROWS[1]]
    parted = load_snapshot(changed(tmp_path, lambda table: table.take([0, 3, 1, 2])))
    assert [s.sightings for s in parted.switches] == [ROWS, [], ROWS[:1]]
    few = load_snapshot(changed(tmp_path, lambda table: table.select(["switch", "mac"])))
    assert few.switches[0].sightings == [Sighting(row.mac) for row in ROWS]
    none = load_snapshot(changed(tmp_path, lambda table: table.slice(0, 0)))
    assert none == saltmarsh(wetlab=[], boatshed=[], bunkhouse=[])


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (
            with_value("mac", 1, "00:00:5E:00:53:02"),
            "row 2, column mac: is '00:00:5E:00:53:02', expected",
        ),
        (with_value("mac", 2, "00:00:5e:00:53"), "row 3, column mac: is '00:00:5e:00:53', expected"),
        (with_value("mac", 0, "00-00-5e-00-53-01"), "row 1, column mac: is '00-00-5e-00-53-01'"),
        (with_value("mac", 0, "\u202e" * 17), "row 1, column mac: is '\\u202e"),
        (with_value("mac", 0, None), "row 1, column mac: is nothing, expected an address"),
        (with_value("vlan", 3, -1), "row 4, column vlan: is -1, expected a VLAN number from 0"),
        (with_value("vlan", 3, 1 << 40), "row 4, column vlan: is 1099511627776, expected"),
        (with_value("vlan", 0, (1 << 64) - 1, pa.uint64()), "row 1, column vlan: is"),
        (with_value("at", 0, float("inf")), "row 1, column at: is inf, expected seconds"),
        (with_value("switch", 0, "pier"), "row 1, column switch: is 'pier', expected the name of a switch"),
        (with_value("switch", 0, None), "row 1, column switch: is nothing"),
        (with_value("status", 1, None), "row 2, column status: is nothing, expected text"),
        (with_value("table", 1, None), "row 2, column table: is nothing, expected text"),
        (lambda t: t.set_column(1, "mac", pa.array(range(4))), "column mac: is int64, expected an address"),
        (lambda t: t.set_column(2, "vlan", pa.array(["1"] * 4)), "column vlan: is string, expected a VLAN number"),
        (lambda t: t.drop_columns(["mac"]), "column mac: is missing"),
        (lambda t: t.append_column("colour", pa.array(["red"] * 4)), "column 'colour': not one of the expected ones"),
        (lambda t: t.replace_schema_metadata({}), "is Parquet, but has no 'toneout.snapshot': not a snapshot"),
        (lambda t: t.replace_schema_metadata({"toneout.snapshot": "{}"}), "started: Field required"),
        (
            lambda t: t.replace_schema_metadata({"toneout.snapshot": '{"schema_version": 2}'}),
            "schema_version: 2 is later than 1",
        ),
    ],
)
def test_a_wrong_file_is_refused_with_row_column_and_what_was_expected(
    tmp_path: Path, change: Callable[[pa.Table], pa.Table], problem: str
) -> None:
    assert problem in refusal(changed(tmp_path, change))


def test_rows_in_the_metadata_are_refused_for_they_would_be_lost(tmp_path: Path) -> None:
    text = saltmarsh().model_dump_json(exclude_defaults=True)
    text = '{"schema_version": 1, ' + text.removeprefix("{")
    path = changed(tmp_path, lambda table: table.replace_schema_metadata({"toneout.snapshot": text}))
    assert refusal(path).startswith("switches[0].sightings: expected among the rows")


def test_two_switches_of_one_name_are_not_written_as_columns(tmp_path: Path) -> None:
    snapshot = saltmarsh()
    snapshot.switches.append(snapshot.switches[0])
    with pytest.raises(SnapshotError, match="two switches are called 'wetlab'"):
        saved(tmp_path, snapshot)
    assert not list(tmp_path.iterdir())


def test_a_damaged_or_cut_file_is_refused_or_still_a_snapshot(tmp_path: Path) -> None:
    path = saved(tmp_path)
    whole = path.read_bytes()
    chance = random.Random(5)
    for _ in range(300):
        octets = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            octets[chance.randrange(4, len(octets))] = chance.randrange(256)
        path.write_bytes(octets)
        try:
            load_snapshot(path)
        except SnapshotError as error:
            assert str(path) in str(error)  # noqa: PT017 - most, not all, are refused
    for cut in (4, 5, 100, len(whole) - 1):
        path.write_bytes(whole[:cut])
        assert "was cut off" in refusal(path)


@pytest.mark.parametrize("name", ["switch", "mac", "port", "status", "table"])
def test_a_row_whose_text_the_file_does_not_have_is_refused(name: str, tmp_path: Path) -> None:
    table = pq.read_table(saved(tmp_path))
    damaged = pa.DictionaryArray.from_arrays(pa.array([0, 0, 0, 77], pa.int32()), pa.array(["wetlab"]), safe=False)
    group = _Group(table.set_column(table.column_names.index(name), name, damaged), 0, tmp_path)
    with pytest.raises(ValueError, match=f"column {name} has numbers of texts"):
        group.coded(name)


def test_a_name_that_ends_in_parquet_may_hold_text_and_the_reverse(tmp_path: Path) -> None:
    path, text = saved(tmp_path), tmp_path / "a.json"
    save_snapshot(saltmarsh(), text)
    text.rename(tmp_path / "b.parquet")
    path.rename(tmp_path / "c.json")
    assert load_snapshot(tmp_path / "b.parquet") == load_snapshot(tmp_path / "c.json")


@settings(max_examples=40, deadline=None)
@given(rows=st.lists(sightings, max_size=8), cut=st.slices(8))
def test_columns_are_a_sequence_like_the_list_of_the_same_rows(rows: list[Sighting], cut: slice) -> None:
    columns = SightingColumns.of(rows)
    assert columns == rows
    assert rows == columns
    assert list(columns) == rows
    assert list(reversed(columns)) == rows[::-1]
    assert columns[cut] == rows[cut]
    assert [columns[k] for k in range(-len(rows), len(rows))] == rows + rows
    for row in rows:
        assert columns.where(mac=row.mac) == [x for x in rows if x.mac == row.mac]
        assert columns.where(port=row.port or "") == [x for x in rows if x.port == (row.port or "")]
    assert SightingColumns.joined([columns, SightingColumns.of(rows[::-1])]) == rows + rows[::-1]
    assert SightingColumns.joined([columns[:3], columns[3:]]) == rows
    assert SightingColumns.joined([columns[cut]]) == rows[cut]
    with pytest.raises(IndexError):
        columns[len(rows)]


def test_a_switch_answers_for_a_few_of_many_rows_in_both_forms() -> None:
    few = CollectedSwitch(name="wetlab", started=NOON, sightings=ROWS)
    columns = few.model_copy(update={"sightings": SightingColumns.of(ROWS)})
    for switch in (few, columns):
        assert switch.rows(mac=ROWS[2].mac) == [ROWS[2]]
        assert switch.rows(port="Gi1/0/1") == [ROWS[0]]
        assert switch.rows(mac=ROWS[0].mac, port="Gi1/0/2") == []


def test_many_rows_are_kept_as_columns_from_text_too(tmp_path: Path) -> None:
    many = [Sighting(int_to_mac(0x00A0_0000_0000 + k), 1, f"Gi1/0/{k % 48}", at=k / 8) for k in range(MANY)]
    path = tmp_path / "many.json"
    save_snapshot(saltmarsh(wetlab=many, pier=many[1:]), path)
    loaded = load_snapshot(path)
    assert [type(switch.sightings) for switch in loaded.switches] == [SightingColumns, list]
    assert loaded.switches[0].sightings == many
