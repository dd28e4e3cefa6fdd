"""The history file of a site: opened, brought up to date, read, and written a whole run at a time.

A run is one transaction. SQLite keeps it whole or takes it back when the file is next opened, whenever the process
was killed (sqlite.org, "Atomic Commit In SQLite").
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import sqlalchemy as sa
from sqlalchemy import Connection, Engine, event
from sqlalchemy.exc import DatabaseError

from reconcile.errors import HistoryError, UsageError
from reconcile.findings import Finding, Verdict
from reconcile.history.facts import LINK_UP, Fact, FactKind, Key
from reconcile.history.stretches import Change, Stretch, difference
from reconcile.history.tables import STEPS, VERSION, details, runs, schema, stretches
from reconcile.result import Result

HISTORY_FILE = "history.sqlite"
_WAIT = 30.0
"""Seconds to wait for another process that is just writing."""
_AT_ONCE = 500
"""Values per IN (...); SQLite before 3.32 takes 999 parameters."""


class Run(NamedTuple):
    """One run as it was written down."""

    number: int
    taken: datetime
    stored: datetime
    outcome: str
    switches_asked: int
    switches_answered: int
    stations: int
    findings: int
    gaps: int
    confirmed: int


def history_of(folder: Path) -> Path:
    """Where the history of a site is."""
    return folder / HISTORY_FILE


@contextmanager
def reading(folder: Path) -> Iterator[Book | None]:
    """The history as it stands, or None where there is none yet. Raises HistoryError."""
    if not history_of(folder).is_file():
        yield None
        return
    with _opened(history_of(folder), writes=False) as connection:
        yield Book(connection)


@contextmanager
def writing(folder: Path) -> Iterator[Book]:
    """The history for one run: everything written in the block stays, or, when it raises, nothing."""
    with _opened(history_of(folder), writes=True) as connection:
        yield Book(connection)


@contextmanager
def _opened(path: Path, *, writes: bool) -> Iterator[Connection]:
    engine = _engine(path)
    try:
        _bring_up_to_date(engine, path)
        with engine.connect().execution_options(writes=writes) as connection, connection.begin():
            yield connection
    except DatabaseError as error:
        raise HistoryError(str(path), f"cannot be used: {error.orig}", _hint(str(error.orig))) from None
    finally:
        engine.dispose()


def _hint(problem: str) -> str:
    if "not a database" in problem or "malformed" in problem:
        return "move it away; the next nightly run begins a new one"
    if "full" in problem:
        return "free some space"
    return "a site folder that you may write to, on a disk of this machine"


def _engine(path: Path) -> Engine:
    engine = sa.create_engine(sa.URL.create("sqlite", database=str(path)), connect_args={"timeout": _WAIT})

    @event.listens_for(engine, "connect")
    def _plain(connection: object, _: object) -> None:
        # Python's sqlite3 begins transactions by itself, too late for reads and never for tables; SQLAlchemy's
        # documentation ("Serializable isolation") turns that off and says BEGIN itself.
        connection.isolation_level = None  # type: ignore[attr-defined]  # the driver's own connection

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _bring_up_to_date(engine: Engine, path: Path) -> None:
    with engine.connect() as connection, connection.begin():
        if _version(connection) == VERSION:
            return
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        version = _version(connection)
        if version > VERSION:
            raise HistoryError(str(path), "was written by a newer toneout", "pip install --upgrade toneout")
        for step in STEPS[version:]:
            step(connection)
        connection.execute(sa.delete(schema))
        connection.execute(sa.insert(schema).values(version=VERSION))


def _version(connection: Connection) -> int:
    if not sa.inspect(connection).has_table(schema.name):
        return 0
    return connection.execute(sa.select(schema.c.version)).scalar() or 0


class Book:
    """One transaction on the history. Everything that is asked and written goes through here."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def runs(self, last: int | None = None) -> list[Run]:
        """Runs, oldest first; the `last` of them only."""
        rows = self._connection.execute(sa.select(runs).order_by(runs.c.run.desc()).limit(last))
        return [_run(row) for row in rows][::-1]

    def last_run(self) -> Run | None:
        """The latest run."""
        return next(iter(self.runs(1)), None)

    def standing(self, *kinds: FactKind) -> dict[Key, Stretch]:
        """What is so now."""
        query = sa.select(stretches).where(stretches.c.to_run.is_(None))
        if kinds:
            query = query.where(stretches.c.kind.in_([kind.value for kind in kinds]))
        return {stretch.key: stretch for stretch in map(_stretch, self._connection.execute(query))}

    def stretches(
        self, kind: FactKind, subjects: Collection[str] | None = None, *, values: Collection[str] | None = None
    ) -> list[Stretch]:
        """Stretches of these subjects, or with these values, oldest first."""
        column, wanted = (stretches.c.value, values) if values is not None else (stretches.c.subject, subjects or ())
        found: list[Stretch] = []
        for some in _portions(wanted):
            query = sa.select(stretches).where(stretches.c.kind == kind.value, column.in_(some))
            found += map(_stretch, self._connection.execute(query))
        return sorted(found, key=lambda s: (s.from_run, s.number))

    def values(self, kind: FactKind) -> list[tuple[str, str]]:
        """Every subject with every value that it ever had, each pair once."""
        query = sa.select(stretches.c.subject, stretches.c.value).where(stretches.c.kind == kind.value).distinct()
        return [(row.subject, row.value) for row in self._connection.execute(query)]

    def all_of(self, kind: FactKind) -> list[Stretch]:
        """Every stretch of one kind: for kinds that have few."""
        query = sa.select(stretches).where(stretches.c.kind == kind.value)
        return [_stretch(row) for row in self._connection.execute(query)]

    def links(self, last_run: int) -> dict[str, tuple[int, int | None]]:
        """For each port the first run that saw it, and the last one up to `last_run` that saw it with a link."""
        until = sa.func.coalesce(stretches.c.to_run, last_run)
        last_up = sa.func.max(sa.case((stretches.c.value.startswith(LINK_UP), until)))
        query = (
            sa.select(stretches.c.subject, sa.func.min(stretches.c.from_run), last_up)
            .where(stretches.c.kind == FactKind.PORT.value, stretches.c.from_run <= last_run)
            .group_by(stretches.c.subject)
        )
        rows = map(tuple, self._connection.execute(query))
        return {port: (first, None if up is None else min(up, last_run)) for port, first, up in rows}

    def changed_since(self, run: int) -> list[Stretch]:
        """Stretches that began in this run or later, or were so for the last time in the run before it or later."""
        query = sa.select(stretches).where((stretches.c.from_run >= run) | (stretches.c.to_run >= run - 1))
        return sorted(map(_stretch, self._connection.execute(query)), key=lambda s: (s.from_run, s.number))

    def findings(self, keys: Collection[str] | None = None) -> dict[str, Finding]:
        """The latest form of findings, those of today and of former days."""
        if keys is None:
            return {row.key: _finding(row.finding) for row in self._connection.execute(sa.select(details))}
        found = {}
        for some in _portions(keys):
            for row in self._connection.execute(sa.select(details).where(details.c.key.in_(some))):
                found[row.key] = _finding(row.finding)
        return found

    def begin_run(self, result: Result, outcome: str, now: datetime) -> int:
        """Enters the run; its number. Raises UsageError for a snapshot that is no newer than the run before."""
        before = self.last_run()
        if before and result.taken <= before.taken:
            problem = f"was taken at {result.taken:%Y-%m-%d %H:%M:%S}, and a run of {before.taken:%Y-%m-%d %H:%M:%S}"
            raise UsageError("snapshot", f"{problem} stands in the history already", "a newer snapshot")
        number = before.number + 1 if before else 1
        row = Run(
            number, result.taken, now, outcome, result.switches_asked, result.switches_answered, result.stations_seen,
            len(result.findings), len(result.gaps), result.count(Verdict.CONFIRMED),
        )  # fmt: skip
        values = row._asdict() | {"taken": row.taken.timestamp(), "stored": row.stored.timestamp()}
        values["run"] = values.pop("number")
        self._connection.execute(sa.insert(runs).values(values))
        return number

    def remember(
        self,
        run: int,
        kinds: Collection[FactKind],
        seen: Mapping[Key, Fact],
        may_end: Callable[[Key, Fact], bool] = lambda *_: True,
    ) -> Change:
        """Writes what this run changes in facts of these kinds."""
        change = difference(self.standing(*kinds), seen, may_end)
        for some in _portions([s.number for s in change.ended]):
            ended = sa.update(stretches).where(stretches.c.number.in_(some)).values(to_run=run - 1)
            self._connection.execute(ended)
        rows = [
            {"kind": key.kind.value, "subject": key.subject, "value": fact.value, "switch": fact.switch,
             "from_run": run, "to_run": None}
            for key, fact in change.begun
        ]  # fmt: skip
        if rows:
            self._connection.execute(sa.insert(stretches), rows)
        return change

    def keep_details(self, findings: Iterable[Finding]) -> None:
        """Keeps the latest form of each, once; what has not changed is not written again."""
        plain = {f.key: _plain(f) for f in findings}
        stored = {
            row.key: row.finding
            for some in _portions(plain)
            for row in self._connection.execute(sa.select(details).where(details.c.key.in_(some)))
        }
        new = [{"key": key, "finding": text} for key, text in plain.items() if key not in stored]
        if new:
            self._connection.execute(sa.insert(details), new)
        for key, text in plain.items():
            if key in stored and stored[key] != text:
                self._connection.execute(sa.update(details).where(details.c.key == key).values(finding=text))

    def outcome(self, run: int, words: str) -> None:
        """How the run ended, in a word or two."""
        self._connection.execute(sa.update(runs).where(runs.c.run == run).values(outcome=words))

    def prune(self, older_than: timedelta, now: datetime) -> tuple[int, int]:
        """Forgets runs taken before that, and stretches that ended before; how many of each.

        What still is so stays, with the run that it began in. The last run always stays: numbers count on from it.
        """
        before = (now - older_than).timestamp()
        gone = sa.select(sa.func.max(runs.c.run)).where(runs.c.taken < before)
        last_old = self._connection.execute(gone).scalar()
        last = self.last_run()
        if last_old is None or last is None:
            return 0, 0
        cut = min(last_old, last.number - 1)
        closed = self._connection.execute(sa.delete(stretches).where(stretches.c.to_run <= cut)).rowcount
        begins = sa.select(stretches.c.from_run).where(stretches.c.from_run <= cut)
        old = sa.delete(runs).where(runs.c.run <= cut, runs.c.run.not_in(begins))
        dropped = self._connection.execute(old).rowcount
        kept = sa.select(stretches.c.subject).where(stretches.c.kind == FactKind.FINDING.value)
        self._connection.execute(sa.delete(details).where(details.c.key.not_in(kept)))
        return dropped, closed


def compact(folder: Path) -> None:
    """Gives the space of what was forgotten back to the disk. Raises HistoryError."""
    path = history_of(folder)
    engine = _engine(path)
    try:
        engine.raw_connection().cursor().execute("VACUUM")  # SQLite's own, and never inside a transaction
    except sqlite3.DatabaseError as error:
        raise HistoryError(str(path), f"cannot be made smaller: {error}", _hint(str(error))) from None
    finally:
        engine.dispose()


def _portions(values: Iterable[object]) -> Iterator[list[object]]:
    rest = list(values)
    for at in range(0, len(rest), _AT_ONCE):
        yield rest[at : at + _AT_ONCE]


def _run(row: sa.Row[Any]) -> Run:
    number, taken, stored, *others = tuple(row)
    return Run(number, datetime.fromtimestamp(taken, UTC), datetime.fromtimestamp(stored, UTC), *others)


def _stretch(row: sa.Row[Any]) -> Stretch:
    number, kind, subject, value, switch, from_run, to_run = tuple(row)
    return Stretch(number, Key(FactKind(kind), subject), Fact(value, switch), from_run, to_run)


def _plain(finding: Finding) -> str:
    """Without evidence and without what the history itself adds: both change from night to night."""
    return json.dumps(finding.model_dump(mode="json", exclude={"evidence", "since", "runs", "port_was_up", "flaps"}))


def _finding(text: str) -> Finding:
    return Finding.model_validate_json(text)
