"""The history file: whole runs or none, older files, newer files, forgetting."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa

from reconcile.errors import HistoryError, UsageError
from reconcile.history.facts import FactKind
from reconcile.history.store import compact, history_of, reading, writing
from reconcile.history.tables import STEPS, VERSION, schema
from tests.reconcile.handmade import finding
from tests.reconcile.history.making import FIRST, NIGHT, ports, result, store

ROOT = Path(__file__).parents[3]


def states(folder: Path) -> list[tuple[str, str, int, int | None]]:
    with reading(folder) as book:
        assert book is not None
        subjects = [f"sw:{name}" for name in "abc"]
        found = book.stretches(FactKind.PORT, subjects)
    return [(s.key.subject, s.fact.value, s.from_run, s.to_run) for s in found]


def test_what_stays_as_it_is_stays_one_row(tmp_path: Path) -> None:
    for night in range(5):
        store(tmp_path, night, ports(a="link up", b="link down" if night < 3 else "link up"))
    assert states(tmp_path) == [
        ("sw:a", "link up", 1, None), ("sw:b", "link down", 1, 3), ("sw:b", "link up", 4, None),
    ]  # fmt: skip


def test_a_site_without_a_history_has_none_and_asking_makes_none(tmp_path: Path) -> None:
    with reading(tmp_path) as book:
        assert book is None
    assert not history_of(tmp_path).exists()


def test_a_run_that_fails_leaves_no_trace(tmp_path: Path) -> None:
    store(tmp_path, 0, ports(a="link up"))

    def broken() -> None:
        with writing(tmp_path) as book:
            book.remember(book.begin_run(result(1), "", FIRST), (FactKind.PORT,), ports(a="link down"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()
    assert states(tmp_path) == [("sw:a", "link up", 1, None)]
    with reading(tmp_path) as book:
        assert book is not None
        assert [run.number for run in book.runs()] == [1]


def test_a_snapshot_that_is_no_newer_than_the_last_run_is_refused(tmp_path: Path) -> None:
    store(tmp_path, 1, ports(a="link up"))
    for night in (0, 1):
        with pytest.raises(UsageError, match="stands in the history already"):
            store(tmp_path, night, ports(a="link down"))


def test_a_file_of_the_first_form_opens_and_keeps_what_it_has(tmp_path: Path) -> None:
    engine = sa.create_engine(f"sqlite:///{history_of(tmp_path)}")
    with engine.begin() as connection:
        STEPS[0](connection)
        connection.execute(sa.insert(schema).values(version=1))
        connection.exec_driver_sql(
            "INSERT INTO runs VALUES (1, 1772331300.0, 1772331300.0, 'nothing new', 1,1,1,0,0,0)"
        )
        connection.exec_driver_sql("INSERT INTO stretches VALUES (1, 'port', 'sw:a', 'link up', 'sw', 1, NULL)")
    engine.dispose()
    assert states(tmp_path) == [("sw:a", "link up", 1, None)]
    assert store(tmp_path, 3, ports(a="link down")) == 2
    with sqlite3.connect(history_of(tmp_path)) as plain:
        assert plain.execute("SELECT version FROM schema_version").fetchall() == [(VERSION,)]
        indexes = {name for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'index'")}
    assert {"stretches_by_value", "stretches_by_begin"} <= indexes


def test_the_nights_that_an_older_program_wrote_down_are_told_and_continued(tmp_path: Path) -> None:
    with sqlite3.connect(history_of(tmp_path)) as plain:
        plain.executescript((ROOT / "fixtures" / "history" / "first-form.sql").read_text("utf-8"))
        rows = plain.execute("SELECT count(*) FROM stretches").fetchone()
    plain.close()
    with reading(tmp_path) as book:
        assert book is not None
        assert [run.outcome for run in book.runs()] == ["nothing new", "nothing new", "1 new", "nothing new"]
        (dead,) = book.findings().values()
        assert (dead.device, dead.kind.value) == ("scope", "dead port")
        life = book.stretches(FactKind.PORT, {f"{dead.where.switch}:{dead.where.port}"})
        assert [(s.fact.value, s.from_run, s.to_run) for s in life] == [
            ("link up, 1000 Mbit/s", 1, 2), ("link down", 3, None),
        ]  # fmt: skip
        assert (len([s for kind in FactKind for s in book.all_of(kind)]),) == rows
    assert store(tmp_path, 60, ports(a="link up")) == 5


def test_a_file_of_a_newer_program_is_left_alone(tmp_path: Path) -> None:
    store(tmp_path, 0, ports(a="link up"))
    with sqlite3.connect(history_of(tmp_path)) as plain:
        plain.execute("UPDATE schema_version SET version = ?", (VERSION + 1,))
    before = history_of(tmp_path).read_bytes()
    with pytest.raises(HistoryError, match="newer toneout"), reading(tmp_path):
        pass
    assert history_of(tmp_path).read_bytes() == before


def test_a_file_that_is_no_history_is_told_in_words(tmp_path: Path) -> None:
    history_of(tmp_path).write_bytes(b"tide table " * 200)
    with pytest.raises(HistoryError, match="not a database; try: move it away"), reading(tmp_path):
        pass


def test_forgetting_keeps_what_still_is_so_and_counts_on(tmp_path: Path) -> None:
    for night in range(10):
        store(tmp_path, night, ports(a="link up", b=f"link {night % 2}", c="x" if night < 9 else "y"))
    with writing(tmp_path) as book:
        assert book.prune(timedelta(days=3), FIRST + 9 * NIGHT) == (5, 6)  # run 1 stays: a and c began in it
        assert [run.number for run in book.runs()] == [1, 7, 8, 9, 10]
    compact(tmp_path)
    assert ("sw:a", "link up", 1, None) in states(tmp_path)
    assert store(tmp_path, 20, ports(a="link up")) == 11


def test_forgetting_everything_keeps_the_last_run(tmp_path: Path) -> None:
    for night in range(3):
        store(tmp_path, night, ports(a=f"link {night}"))
    with writing(tmp_path) as book:
        book.prune(timedelta(0), FIRST + 400 * NIGHT)
        assert [run.number for run in book.runs()] == [3]
    assert states(tmp_path) == [("sw:a", "link 2", 3, None)]


def test_a_finding_is_kept_in_its_latest_form_only(tmp_path: Path) -> None:
    with writing(tmp_path) as book:
        book.keep_details([finding(seen="no link")])
        book.keep_details([finding(seen="the module is missing"), finding("dead-port-00000002")])
        kept = book.findings()
    assert kept["dead-port-00000001"].seen == "the module is missing"
    assert len(kept) == 2


STORING = """
import os, sys
from pathlib import Path
from tests.reconcile.history.making import ports, store
for line in sys.stdin:  # one fork for each folder: importing takes longer than all the rest
    child = os.fork()
    if not child:
        for night in range(1, 10_000):
            store(Path(line.strip()), night, ports(**{f"p{n}": f"{night}" for n in range(300)}))
            print(night, flush=True)
    print("process", child, flush=True)
    os.waitpid(child, 0)
    print("ended", flush=True)
"""
KILLS = 24


def test_killed_at_any_moment_a_run_is_whole_or_absent_and_none_is_lost(tmp_path: Path) -> None:
    store(tmp_path, 0, ports(**{f"p{n}": "0" for n in range(300)}))
    with subprocess.Popen(
        [sys.executable, "-c", STORING], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
    ) as storing:
        assert storing.stdin is not None
        assert storing.stdout is not None
        for kill in range(KILLS):
            folder = tmp_path / str(kill)
            folder.mkdir()
            history_of(folder).write_bytes(history_of(tmp_path).read_bytes())
            print(folder, file=storing.stdin, flush=True)
            told, child = [], 0
            while child == 0 or len(told) < kill % 3:
                line = storing.stdout.readline()
                if line.startswith("process"):
                    child = int(line.split()[1])
                else:
                    told.append(int(line))
            time.sleep(0.0015 * kill)  # some moment within the next run, or the one after
            os.kill(child, signal.SIGKILL)
            told += [int(line) for line in iter(storing.stdout.readline, "ended\n")]
            whole_or_absent(folder, max(told, default=0))
        storing.stdin.close()


DYING = """
import os, signal, sys
from pathlib import Path
from sqlalchemy import event
from sqlalchemy.engine import Engine
from tests.reconcile.history.making import ports, store

def run(folder, point):
    seen = 0
    def count(*_):
        nonlocal seen
        seen += 1
        if seen == point:
            os.kill(os.getpid(), signal.SIGKILL)
    for moment in ("before_cursor_execute", "after_cursor_execute", "commit"):
        event.listen(Engine, moment, count)
    store(folder, 1, ports(**{f"p{n}": "1" for n in range(300)}))

for line in sys.stdin:
    folder, point = line.rsplit(" ", 1)
    child = os.fork()
    if not child:
        run(Path(folder), int(point))
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


def test_killed_before_and_after_each_statement_of_a_run_the_run_is_whole_or_absent(tmp_path: Path) -> None:
    store(tmp_path, 0, ports(**{f"p{n}": "0" for n in range(300)}))
    ended: list[int] = []
    with subprocess.Popen(
        [sys.executable, "-c", DYING], cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
    ) as dying:
        assert dying.stdin is not None
        assert dying.stdout is not None
        while not ended or ended[-1]:  # until a run comes to its end before the point at which it would be killed
            folder = tmp_path / str(len(ended))
            folder.mkdir()
            history_of(folder).write_bytes(history_of(tmp_path).read_bytes())
            print(f"{folder} {len(ended) + 1}", file=dying.stdin, flush=True)
            ended.append(int(dying.stdout.readline()))
            whole_or_absent(folder, 0 if ended[-1] else 1)
        dying.stdin.close()
    assert set(ended[:-1]) == {-signal.SIGKILL}
    assert len(ended) > 15


def whole_or_absent(folder: Path, told: int) -> None:
    """Every run that was reported done is there; the last one has all its facts, and facts of no other."""
    with sqlite3.connect(history_of(folder)) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with reading(folder) as book:
        assert book is not None
        runs = [run.number for run in book.runs()]
        assert runs == list(range(1, len(runs) + 1))
        assert len(runs) >= told + 1
        standing = book.standing(FactKind.PORT)
    assert {s.fact.value for s in standing.values()} == {str(len(runs) - 1)}
    assert len(standing) == 300
    store(folder, 20_000, ports(a="link up"))
