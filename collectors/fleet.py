"""All switches of a site, many at once: bounded, within their time, each failure one row."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Coroutine, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from collectors.access import SwitchAccess
from collectors.contracts import Collector
from collectors.failures import failed_as
from collectors.merge import fill
from collectors.one_switch import Answer, Asking, ask, ask_one_way
from collectors.registry import COLLECTORS, Way
from collectors.snapshot import CollectedSwitch, FailedSwitch, Snapshot, Table
from collectors.twins import note_twins

ALL = frozenset(Table)
"""Every table there is."""

_CANCEL_SECONDS = 2.0
"""For collectors to let go; what hangs longer (a thread in a system call) is left to itself."""

_REREAD_SECONDS = 30.0


class FleetProgress(NamedTuple):
    """How far a run is, for a display. `slowest` is the switch under way longest, in seconds; empty when none is."""

    total: int
    done: int
    failed: int
    running: int
    slowest: str
    slowest_seconds: float
    slowest_doing: str


@dataclass
class _Board:
    """Who is under way since when, doing what. Tells at every change; throttling is the display's matter."""

    total: int
    tell: Callable[[FleetProgress], None] | None
    failed: int = 0
    complete: set[str] = field(default_factory=set)
    """Switches that were asked every way. One that is read again later stays complete, whatever becomes of that."""
    running: dict[str, tuple[float, str]] = field(default_factory=dict)

    def doing(self, switch: str, doing: str, /) -> None:
        since, _ = self.running.get(switch, (time.monotonic(), ""))
        self.running[switch] = since, doing
        self._tell()

    def over(self, switch: str, answer: Answer) -> None:
        self.running.pop(switch, None)
        self.complete.add(switch)
        self.failed += isinstance(answer, FailedSwitch)
        self._tell()

    @property
    def done(self) -> int:
        return len(self.complete)

    def _tell(self) -> None:
        if self.tell is not None:
            now = time.monotonic()
            idle = ("", (now, ""))
            name, (since, doing) = min(self.running.items(), key=lambda running: running[1][0], default=idle)
            self.tell(FleetProgress(self.total, self.done, self.failed, len(self.running), name, now - since, doing))


async def collect_fleet(
    accesses: Sequence[SwitchAccess],
    *,
    site: str,
    secrets_from: Path,
    want: frozenset[Table] = ALL,
    at_once: int = 16,
    deadline: float | None = None,
    reread: int = 0,
    progress: Callable[[FleetProgress], None] | None = None,
    collectors: Mapping[Way, Callable[[], Collector]] = COLLECTORS,
    made_by: str = "toneout",
) -> Snapshot:
    """Asks every switch, `at_once` of them at a time; the snapshot lists them in the order of `accesses`.

    `deadline` bounds the whole run, in seconds. When it passes, or when this task is cancelled (Ctrl-C under
    `asyncio.run`), what is complete is kept, the rest is 'not finished' and `Snapshot.unfinished` says why; the
    snapshot is returned, CancelledError is not raised.

    `reread` asks that many switches, those that heard the most stations, once more for their forwarding table at
    the end, so that the rows that matter most are the youngest.

    With `at_once=1` switches are asked one after another in the given order: the runner for repeatable tests.
    """
    started = datetime.now(UTC)
    board = _Board(len(accesses), progress)
    asking = Asking(secrets_from, want, collectors, board.doing, started)
    answers: dict[int, Answer] = {}
    turns = asyncio.Semaphore(at_once)

    async def in_turn(number: int, access: SwitchAccess) -> None:
        async with turns:
            async for answers[number] in ask(access, asking):
                pass
            board.over(access.name, answers[number])

    async def everything() -> None:
        async with asyncio.TaskGroup() as group:
            for number, access in enumerate(accesses):
                group.create_task(in_turn(number, access))
        for number in _most_heard(answers, reread):
            answers[number] = await _read_again(accesses[number], answers[number], asking)

    ended_early = await _until(everything(), deadline)
    for number, access in enumerate(accesses):
        answers[number] = _ended(answers.get(number), access, board, started, ended_early)
    ordered = [answers[number] for number in range(len(accesses))]
    missed = len(accesses) - board.done
    return Snapshot(
        site=site,
        made_by=made_by,
        started=started,
        finished=datetime.now(UTC),
        switches=note_twins([answer for answer in ordered if isinstance(answer, CollectedSwitch)]),
        failed=[answer for answer in ordered if isinstance(answer, FailedSwitch)],
        unfinished=f"{ended_early}: {missed} of {len(accesses)} switches were not read to the end" if missed else "",
    )


def _ended(answer: Answer | None, access: SwitchAccess, board: _Board, started: datetime, reason: str) -> Answer:
    """What a run that may have ended early has of one switch. A first way that answered is kept."""
    if answer is None:
        return failed_as(access, started, "not finished", reason, "run again with more time")
    if access.name not in board.complete and isinstance(answer, CollectedSwitch):
        return answer.model_copy(update={"oddities": [*answer.oddities, f"not asked every way: {reason}"]})
    return answer


async def _until(work: Coroutine[None, None, None], deadline: float | None) -> str:
    """Runs `work` to its end, or until `deadline` seconds or a cancellation end it; says which of these, else ''."""
    task = asyncio.ensure_future(work)
    reason = ""
    try:
        done, _ = await asyncio.wait([task], timeout=deadline)
        if not done:
            reason = f"the run's time of {deadline:g} s was over"
    except asyncio.CancelledError:
        current = asyncio.current_task()
        assert current is not None
        current.uncancel()
        reason = "interrupted"
    if not task.done():
        task.cancel()
        await asyncio.wait([task], timeout=_CANCEL_SECONDS)
    if task.done() and not task.cancelled():
        task.result()
    return reason


def _most_heard(answers: Mapping[int, Answer], count: int) -> list[int]:
    heard = {number: len(answer.sightings) for number, answer in answers.items() if isinstance(answer, CollectedSwitch)}
    return sorted((number for number in heard if heard[number]), key=lambda number: -heard[number])[:count]


async def _read_again(access: SwitchAccess, before: Answer, asking: Asking) -> Answer:
    """The switch with a younger forwarding table, asked the way that supplied it; as it was when that fails."""
    assert isinstance(before, CollectedSwitch)
    report = before.report(Table.FORWARDING)
    way: Way = "ssh" if report.source.startswith("ssh") else "snmp"
    table = frozenset({Table.FORWARDING})
    again = await ask_one_way(access, way, asking, table, min(access.budget, _REREAD_SECONDS))
    if isinstance(again, FailedSwitch) or again.report(Table.FORWARDING).state is not report.state:
        return before
    return fill(before, again, table)
