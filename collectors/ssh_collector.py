"""Asks one switch over SSH: the platform's commands one after another, each answer read, all of them put together."""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal, NamedTuple, Protocol

from collectors import platforms
from collectors.access import SwitchAccess, resolve_secret
from collectors.contracts import Progress
from collectors.errors import BadAnswer, CollectError, NoAnswer, Refused, SecretError, SwitchError, Unreachable
from collectors.platforms.answers import MAX_REASON, rejection, unread_stations
from collectors.platforms.assemble import Told, assemble
from collectors.platforms.contract import Ask, Platform, Rows, Unreadable
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableReport, TableState
from collectors.transports import ssh

_MARGIN = 2.0
"""Seconds kept back of a switch's budget, to close the session and put the answers together."""

_KINDS: dict[type[CollectError], Literal["unreachable", "no answer", "refused", "bad answer", "secret"]] = {
    Unreachable: "unreachable",
    NoAnswer: "no answer",
    Refused: "refused",
    BadAnswer: "bad answer",
    SecretError: "secret",
}


class Shell(Protocol):
    """What is asked: a session of the transport, or a recording of one."""

    ended: str

    def ask(self, command: str) -> ssh.Answer: ...

    def close(self) -> None: ...


Connect = Callable[[ssh.Door, str, frozenset[str], float], Shell]
"""Door, driver, the fixed list, deadline by time.monotonic(); see `ssh.connect`."""


class SshCollector:
    """Implements `contracts.Collector`. netmiko waits in threads: one per switch, ended with it."""

    def __init__(self, connect: Connect = ssh.connect) -> None:
        self._connect = connect

    async def collect(
        self, access: SwitchAccess, *, secrets_from: Path, want: frozenset[Table], progress: Progress
    ) -> CollectedSwitch | FailedSwitch:
        """Asks for the wanted tables that the platform has commands for; the others are reported as not served."""
        loop = asyncio.get_running_loop()
        run = _Run(self._connect, access, secrets_from, want)
        done: asyncio.Future[CollectedSwitch | FailedSwitch] = loop.create_future()

        def tell(doing: str) -> None:
            # A run that was interrupted may have closed its loop while this switch still answers.
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(progress, access.name, doing)

        def work() -> None:
            result = run.result()
            with contextlib.suppress(RuntimeError):
                loop.call_soon_threadsafe(_settle, done, result)

        run.tell = tell

        # A daemon: a run that was interrupted must not wait for a switch that does not answer.
        threading.Thread(target=work, name=f"ssh {access.name}", daemon=True).start()
        try:
            return await done
        except asyncio.CancelledError:
            run.stop()
            raise


def _settle(done: asyncio.Future[CollectedSwitch | FailedSwitch], result: CollectedSwitch | FailedSwitch) -> None:
    if not done.done():
        done.set_result(result)


class _Reading(NamedTuple):
    """One command's answer, judged."""

    report: TableReport
    rows: Rows | None


class _Run:
    """Asking one switch once, in a thread of its own."""

    def __init__(self, connect: Connect, access: SwitchAccess, secrets_from: Path, want: frozenset[Table]) -> None:
        self._connect = connect
        self._access = access
        self._secrets_from = secrets_from
        self._want = want
        self._started = datetime.now(UTC)
        self._clock = time.monotonic()
        self._answers: dict[str, ssh.Answer] = {}
        self._shell: Shell | None = None
        self._stopped = False
        self.tell: Callable[[str], None] = lambda doing: None

    def stop(self) -> None:
        """Ends a read that is under way."""
        self._stopped = True
        if self._shell is not None:
            self._shell.close()

    def result(self) -> CollectedSwitch | FailedSwitch:
        """All that is wanted, or why nothing was had."""
        try:
            return self._collect()
        except CollectError as error:
            return self._failed(error)
        except Exception as error:  # noqa: BLE001  # a flaw of ours costs this switch its row, never the run
            return self._failed(BadAnswer(self._access.name, f"could not be asked ({type(error).__name__})"))

    def _failed(self, error: CollectError) -> FailedSwitch:
        kind = next((kind for ours, kind in _KINDS.items() if isinstance(error, ours)), "bad answer")
        return FailedSwitch(
            name=self._access.name,
            address=self._access.address,
            started=self._started,
            seconds=time.monotonic() - self._clock,
            reason=error.problem,
            kind=kind,
            hint=error.hint,
        )

    def _collect(self) -> CollectedSwitch | FailedSwitch:
        platform = self._platform()
        self.tell("logging in")
        deadline = self._clock + self._access.budget - min(_MARGIN, self._access.budget / 10)
        allowed = platform.commands | frozenset(platform.preparation)
        self._shell = shell = self._connect(self._door(platform), platform.driver, allowed, deadline)
        try:
            if self._stopped:
                raise NoAnswer(self._access.name, "the run was ended")
            told, reports = self._ask_all(platform, shell)
            ended = shell.ended
        finally:
            shell.close()
        if not told and ended:
            raise NoAnswer(self._access.name, ended, "raise `budget` or `timeout`; look at the switch's own log")
        switch = assemble(platform, told, self._access.name, self._started)
        switch.address = self._access.address
        switch.seconds = time.monotonic() - self._clock
        switch.tables = reports
        return switch

    def _platform(self) -> Platform:
        wanted = self._access.ssh.platform if self._access.ssh else ""
        found = platforms.platform(wanted)
        if found is None:
            hint = "`platform` may be " + ", ".join(platforms.NAMES)
            raise SwitchError(self._access.name, f"no SSH platform is called {wanted!r}", hint)
        return found

    def _door(self, platform: Platform) -> ssh.Door:
        access = self._access.ssh
        assert access is not None
        base = self._secrets_from
        return ssh.Door(
            where=self._access.name,
            address=self._access.address,
            access=access,
            base=base,
            login_again=platform.login_again,
            secret=resolve_secret(access.secret, base) if access.secret else None,
            jump_secret=resolve_secret(access.jump_secret, base) if access.jump_secret else None,
        )

    def _ask_all(self, platform: Platform, shell: Shell) -> tuple[list[Told], dict[Table, TableReport]]:
        needed = {table for ask in platform.asks if ask.table in self._want for table in ask.needs}
        told: list[Told] = []
        reports: dict[Table, TableReport] = {}
        for ask in platform.asks:
            if ask.table not in self._want | needed:
                continue
            self.tell(str(ask.table))
            began = time.monotonic()
            reading = self._ask(ask, platform, shell)
            report = reading.report.model_copy(update={"seconds": time.monotonic() - began})
            if reading.rows is not None:
                command = report.source.partition(": ")[2]
                told.append(Told(reading.rows, command, at=time.monotonic() - self._clock))
            if ask.table in self._want and not (ask.table in reports and reports[ask.table].whole):
                reports[ask.table] = report
        for table in self._want - reports.keys():
            reason = f"no command of platform {platform.name} is known to tell this"
            reports[table] = TableReport(state=TableState.NOT_SERVED, reason=reason)
        return told, reports

    def _ask(self, ask: Ask, platform: Platform, shell: Shell) -> _Reading:
        """The answer to the first command of this ask that the switch serves; else what it said to the first one."""
        first: _Reading | None = None
        at: Ask | None = ask
        while at is not None:
            reading = self._read(at, f"ssh {platform.name}: {at.command}", shell)
            if reading.report.state not in (TableState.NOT_SERVED, TableState.REFUSED):
                return reading
            first = first or reading
            at = at.instead
        assert first is not None
        return first

    def _read(self, ask: Ask, source: str, shell: Shell) -> _Reading:
        answer = self._said(ask.command, shell)
        try:
            rows = ask.read(answer.text)
            if ask.then and ask.then.lacks(rows):
                rows = ask.then.complete(rows, ask.then.read(self._said(ask.then.command, shell).text))
        except Unreadable as error:
            return _Reading(_not_read(answer, str(error), source), None)
        except Exception as error:  # noqa: BLE001  # a flaw of a reader costs its table, never the switch
            return _Reading(_not_read(answer, f"reading it failed ({type(error).__name__})", source), None)
        count = rows.count(ask.table)
        if ask.table is Table.FORWARDING:
            rows.partial = rows.partial or unread_stations(answer.text, rows.seen)
        partial = rows.partial or ("text of unknown origin came before the answer" if answer.stale else "")
        state = TableState.READ if count else TableState.EMPTY
        if answer.missing:
            state = TableState.CUT_SHORT if count else _unfinished(answer)
        report = TableReport(state=state, rows=count, reason=answer.missing, partial=partial, source=source)
        return _Reading(report, rows)

    def _said(self, command: str, shell: Shell) -> ssh.Answer:
        """The answer to a command, sent once however many tables it tells of."""
        if command not in self._answers:
            self._answers[command] = shell.ask(command)
        return self._answers[command]


def _not_read(answer: ssh.Answer, why: str, source: str) -> TableReport:
    if answer.missing:
        return TableReport(state=_unfinished(answer), reason=answer.missing, source=source)
    no = rejection(answer.text)
    if no:
        return TableReport(state=no.state, reason=no.reason, source=source)
    reason = f"answered in a form that is not known: {why}"[:MAX_REASON]
    return TableReport(state=TableState.NOT_SERVED, reason=reason, source=source)


def _unfinished(answer: ssh.Answer) -> TableState:
    return TableState.TIMED_OUT if answer.timed_out else TableState.CUT_SHORT
