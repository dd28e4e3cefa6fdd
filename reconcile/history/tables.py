"""The tables of a site's history, and the steps by which an older file becomes a current one.

Plain SQL through SQLAlchemy Core, so that a shared server can hold it one day: no type, no default and no function
that only SQLite has. Times are seconds since 1970-01-01 UTC: SQLite has no type for them, and a server's would need
its own care with zones.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Column, Connection, Float, Index, Integer, MetaData, String, Table, Text, text

metadata = MetaData()

schema = Table("schema_version", metadata, Column("version", Integer, nullable=False))

runs = Table(
    "runs",
    metadata,
    Column("run", Integer, primary_key=True, autoincrement=False),  # 1, 2, 3 ...: without a hole, so runs are counted
    Column("taken", Float, nullable=False),  # when the snapshot was finished
    Column("stored", Float, nullable=False),  # when it was written down
    Column("outcome", String(40), nullable=False),
    Column("switches_asked", Integer, nullable=False),
    Column("switches_answered", Integer, nullable=False),
    Column("stations", Integer, nullable=False),
    Column("findings", Integer, nullable=False),
    Column("gaps", Integer, nullable=False),
    Column("confirmed", Integer, nullable=False),
)

stretches = Table(
    "stretches",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("subject", Text, nullable=False),
    Column("value", Text, nullable=False),
    Column("switch", Text, nullable=False),
    Column("from_run", Integer, nullable=False),
    Column("to_run", Integer),  # the last run in which it was so; NULL while it still is
)

details = Table(
    "details",
    metadata,
    Column("key", String(80), primary_key=True),
    Column("finding", Text, nullable=False),  # its latest form as JSON, without evidence
)

Index("stretches_by_end", stretches.c.to_run)
Index("stretches_by_subject", stretches.c.subject)


def _first_form(connection: Connection) -> None:
    metadata.create_all(connection, [schema, runs, stretches, details])


def _find_who_was_at_a_port(connection: Connection) -> None:
    """Indexes for `toneout history`: without them each question reads every stretch."""
    connection.execute(text("CREATE INDEX stretches_by_value ON stretches (value)"))
    connection.execute(text("CREATE INDEX stretches_by_begin ON stretches (from_run)"))


STEPS: tuple[Callable[[Connection], None], ...] = (_first_form, _find_who_was_at_a_port)
"""Step n brings a file of version n to version n + 1. A new file takes all of them, so each is always tried."""

VERSION = len(STEPS)
