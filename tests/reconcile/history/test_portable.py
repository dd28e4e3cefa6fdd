"""The history's SQL is no one database's: every statement that a night runs is one that PostgreSQL has too.

SQLAlchemy's own PostgreSQL dialect is the judge of what it can say; no server is asked.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.dialects import postgresql
from sqlalchemy.engine import Engine
from sqlalchemy.schema import CreateIndex, CreateTable

from reconcile.history.facts import FactKind
from reconcile.history.night import Patience, live_through
from reconcile.history.paces import paces_of
from reconcile.history.recall import recalled
from reconcile.history.store import reading, writing
from reconcile.history.tables import STEPS, metadata
from reconcile.pipeline import compare
from tests.reconcile.handmade import finding
from tests.reconcile.handmade_network import TAKEN, answer, device, heard, port, site, snapshot
from tests.reconcile.history.making import FIRST, NIGHT, ports, store

_OF_SQLITE_ALONE = re.compile(r"\b(PRAGMA|ROWID|AUTOINCREMENT|GLOB|INSERT OR|REPLACE INTO|strftime|julianday)\b", re.I)


def statements(folder: Path) -> tuple[list[Any], list[str]]:
    """What a life of a few nights executes: SQLAlchemy's own constructs, and text that goes to the driver as it is."""
    built: list[Any] = []
    sent: list[str] = []

    def note(_: object, clause: Any, *__: object) -> None:
        built.append(clause)

    def note_text(_: object, __: object, text: str, *___: object) -> None:
        sent.append(text)

    event.listen(Engine, "before_execute", note)
    event.listen(Engine, "before_cursor_execute", note_text)
    try:
        everything(folder)
    finally:
        event.remove(Engine, "before_execute", note)
        event.remove(Engine, "before_cursor_execute", note_text)
    return built, sent


def everything(folder: Path) -> None:
    """Every function of the book once."""
    pump = "00:30:de:00:00:01"
    patch_map = site([device("pump", "sw-a:1", pump)])
    seen = snapshot(answer("sw-a", [port("1")], heard((pump, "1"))))
    with writing(folder) as book:
        live_through(compare(patch_map, seen), book, patience=Patience(), accept=lambda r, _: r, now=TAKEN)
        book.keep_details([finding()])
        book.keep_details([finding(seen="otherwise")])
    store(folder, 40, ports(a="link down"))
    with reading(folder) as book:
        assert book is not None
        book.changed_since(1)
        book.findings()
        book.all_of(FactKind.GAP)
        recalled(book, seen.model_copy(update={"finished": FIRST + 50 * NIGHT}))
        paces_of(book, seen)
    with writing(folder) as book:
        book.prune(NIGHT, FIRST + 60 * NIGHT)


def test_every_statement_of_a_night_can_be_said_to_postgresql(tmp_path: Path) -> None:
    built, _ = statements(tmp_path)
    kinds = {type(clause).__name__ for clause in built}
    assert {"Select", "Insert", "Update", "Delete"} <= kinds
    for clause in built:
        if isinstance(clause, sa.sql.ClauseElement) and not isinstance(clause, sa.TextClause):
            compiled = str(clause.compile(dialect=postgresql.dialect()))
            assert not _OF_SQLITE_ALONE.search(compiled), compiled


def test_text_that_is_written_by_hand_is_standard_sql(tmp_path: Path) -> None:
    built, _ = statements(tmp_path)
    by_hand = [str(clause) for clause in built if isinstance(clause, sa.TextClause)]
    assert by_hand
    for text in by_hand:
        assert re.fullmatch(r"CREATE INDEX \w+ ON \w+ \(\w+\)", text), text


def test_what_is_of_sqlite_alone_stands_in_the_two_places_that_open_and_shrink_the_file(tmp_path: Path) -> None:
    _, sent = statements(tmp_path)
    own = {text for text in sent if _OF_SQLITE_ALONE.search(text) or text.startswith(("BEGIN", "VACUUM"))}
    # SQLAlchemy's own look at which tables there are is a PRAGMA on SQLite, and another thing elsewhere.
    assert {text for text in own if not text.startswith("PRAGMA")} == {"BEGIN", "BEGIN IMMEDIATE"}
    assert all(re.match(r"PRAGMA (main|temp)\.table_(x)?info", text) for text in own if text.startswith("PRAGMA"))


def test_the_tables_can_be_made_in_postgresql() -> None:
    for table in metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=postgresql.dialect()))
        for index in table.indexes:
            assert "CREATE INDEX" in str(CreateIndex(index).compile(dialect=postgresql.dialect()))
    assert len(STEPS) >= 2
