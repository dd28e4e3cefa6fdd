"""Asks one switch over SNMP: what it serves, then all of its tables, several at a time."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from collectors.access import SwitchAccess
from collectors.contracts import Progress
from collectors.errors import CollectError, SwitchError
from collectors.failures import failed_by
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState
from collectors.tables import interfaces, plan
from collectors.tables.assembly import assemble
from collectors.tables.mib import OBJECTS, Oid
from collectors.tables.readings import Outcome, Readings
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp import SnmpSession
from collectors.transports.snmp_walk import Walk, Walker

_RESERVE = 0.05
"""Share of a switch's budget that is kept to put together what was read."""

_SURVEY_WIDTH = 24
"""Objects asked for in one question of the survey."""


class SnmpCollector:
    """Implements `contracts.Collector` for SNMP versions 1, 2c and 3."""

    async def collect(
        self, access: SwitchAccess, *, secrets_from: Path, want: frozenset[Table], progress: Progress
    ) -> CollectedSwitch | FailedSwitch:
        """One switch, or the reason why it told nothing. Never raises for what a switch does."""
        started = datetime.now(UTC)
        deadline = asyncio.get_running_loop().time() + access.budget * (1 - _RESERVE)
        try:
            async with await SnmpSession.open(access, secrets_from=secrets_from, deadline=deadline) as session:
                reading = _Reading(session, want, progress)
                await reading.read()
        except CollectError as error:
            return failed_by(access, started, error)
        return assemble(access, started, want, reading.readings)


@dataclass
class _Reading:
    """The reading of one switch."""

    session: SnmpSession
    want: frozenset[Table]
    progress: Progress
    readings: Readings = field(init=False)

    def __post_init__(self) -> None:
        self._begun = asyncio.get_running_loop().time()
        self._doubt = asyncio.Lock()
        self.readings = Readings(source=f"snmp {self.session.version}")

    @property
    def _seconds(self) -> float:
        return asyncio.get_running_loop().time() - self._begun

    async def read(self) -> None:
        """All that is wanted. Raises SwitchError only when the switch does not answer the first question."""
        self.progress(self.session.where, "asking who it is")
        await self._survey([OBJECTS[name] for name in interfaces.SYSTEM_OBJECTS])
        tables = plan.needed(self.want)
        reads = [read for read in plan.READS if read.table in tables]
        present = await self._present(reads, tables)
        await asyncio.gather(*(self._read(read, present) for read in reads))
        self._conclude()

    async def _present(self, reads: Sequence[plan.Read], tables: Iterable[Table]) -> set[Oid] | None:
        """The rows' OIDs that the switch serves; None when it would not tell."""
        scalars = [OBJECTS[name] for table, names in plan.SCALARS.items() if table in tables for name in names]
        entries = list(dict.fromkeys(plan.entry(name) for read in reads for name in read.objects))
        asked = scalars + entries
        parts = [asked[at : at + _SURVEY_WIDTH] for at in range(0, len(asked), _SURVEY_WIDTH)]
        try:
            found = await asyncio.gather(*(self._survey(part) for part in parts))
        except SwitchError as error:
            self.readings.notes.append(f"would not say what it serves ({error.problem}); every table was tried")
            return None
        return set().union(*found)

    async def _survey(self, oids: Sequence[Oid]) -> set[Oid]:
        """Asks for what comes next after each of these: scalars are kept, the others tell that there is something."""
        names = [ber.oid_octets(oid) for oid in oids]
        by_oid = {oid: name for name, oid in OBJECTS.items()}
        found: set[Oid] = set()
        for oid, name, binding in await self._next(list(oids), names):
            if binding.tag < ber.FIRST_EXCEPTION and binding.name.startswith(name):
                found.add(oid)
                if oid in by_oid:
                    index = ber.arcs(binding.name[len(name) :])
                    self.readings.answers[by_oid[oid]] = {index: ber.value_of(binding.tag, binding.content)}
        return found

    async def _next(self, oids: list[Oid], names: list[bytes]) -> list[tuple[Oid, bytes, ber.Binding]]:
        """One GETNEXT for all; where the agent cannot, without the one that it blames, or for halves."""
        answer = await self.session.ask(ber.GET_NEXT, names)
        if not answer.status and len(answer.bindings) >= len(names):
            return list(zip(oids, names, answer.bindings, strict=False))
        if len(names) == 1:
            return []
        if 1 <= answer.position <= len(names) and answer.status:
            at = answer.position - 1
            return await self._next(oids[:at] + oids[at + 1 :], names[:at] + names[at + 1 :])
        half = len(names) // 2
        return await self._next(oids[:half], names[:half]) + await self._next(oids[half:], names[half:])

    async def _read(self, read: plan.Read, present: set[Oid] | None) -> None:
        objects = [name for name in read.objects if present is None or plan.entry(name) in present]
        if not objects:
            return
        self.progress(self.session.where, f"reading {read.table}")
        await self._walk(read.table, objects)
        if read.table is Table.INTERFACES and interfaces.lacks_large_counters(self.readings.answers):
            await self._walk(read.table, list(interfaces.SMALL_COUNTERS))

    async def _walk(self, table: Table, objects: list[str]) -> None:
        begun = self._seconds
        walk = await Walker(self.session, [OBJECTS[name] for name in objects]).walk()
        if walk.state is TableState.TIMED_OUT:
            await self._ask_for_life()
        self.readings.answers.update(zip(objects, walk.columns, strict=True))
        self.readings.outcomes.setdefault(table, []).append(self._outcome(walk, begun))

    def _outcome(self, walk: Walk, begun: float) -> Outcome:
        return Outcome(walk.state, walk.reason, begun, self._seconds)

    async def _ask_for_life(self) -> None:
        """A table without an answer may be the table's fault; a switch without one ends the reading."""
        async with self._doubt:
            if self.session.silent:
                return
            try:
                await self.session.ask(ber.GET_NEXT, [ber.oid_octets(OBJECTS["sysUpTime"])])
            except SwitchError as error:
                self.session.silent = f"the switch stopped answering: {error.problem}"

    def _conclude(self) -> None:
        self.readings.seconds = self._seconds
        session = self.session
        if session.retries:
            self.readings.notes.append(f"{session.retries} of {session.requests} questions had to be asked again")
        for reason, count in session.strays.items():
            self.readings.notes.append(f"{count} datagrams were no answers: {reason}")
