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
from collectors.tables import bridge, interfaces, plan
from collectors.tables.assembly import assemble
from collectors.tables.mib import OBJECTS, Answers, Oid
from collectors.tables.readings import Outcome, Readings
from collectors.tables.text import many
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp import SnmpSession
from collectors.transports.snmp_walk import REFUSALS, Walk, Walker

_RESERVE = 0.05
"""Share of a switch's budget that is kept to put together what was read."""

_VLANS_LOST = 3
"""VLANs without answer after which no more are tried: each costs all of its tries."""

_SURVEY_WIDTH = 24
_SHY_WIDTH = 4
"""Objects asked for in one question of the survey; and of an agent that says nothing to more."""


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
        self._vlans_lost = 0
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
        if Table.FORWARDING in self.want and bridge.shows_one_vlan_only(self.readings.answers):
            await self._read_per_vlan()
        self._conclude()

    async def _present(self, reads: Sequence[plan.Read], tables: Iterable[Table]) -> set[Oid]:
        """The rows' OIDs that the switch serves; of those that it would not tell about, all."""
        scalars = [OBJECTS[name] for table, names in plan.SCALARS.items() if table in tables for name in names]
        entries = list(dict.fromkeys(plan.entry(name) for read in reads for name in read.objects))
        asked = scalars + entries
        return await self._survey_parts(asked, _SURVEY_WIDTH)

    async def _survey_parts(self, oids: Sequence[Oid], width: int) -> set[Oid]:
        parts = [oids[at : at + width] for at in range(0, len(oids), width)]
        found = await asyncio.gather(*(self._survey_or_all(part) for part in parts))
        return set().union(*found)

    async def _survey_or_all(self, oids: Sequence[Oid]) -> set[Oid]:
        """What is served of these; where an agent says nothing even to a few at once, all of them are to be tried."""
        try:
            return await self._survey(oids)
        except SwitchError as error:
            if await self.session.alive() and len(oids) > _SHY_WIDTH:
                return await self._survey_parts(oids, _SHY_WIDTH)
            told = f"would not say which of {many(len(oids), 'object')} it has ({error.problem}): all were tried"
            self.readings.notes.append(told)
            return set(oids)

    async def _survey(self, oids: Sequence[Oid]) -> set[Oid]:
        """Asks for what comes next after each of these: scalars are kept, the others tell that there is something."""
        names = [ber.oid_octets(oid) for oid in oids]
        by_oid = {oid: name for name, oid in OBJECTS.items()}
        found: set[Oid] = set()
        for oid, name, binding in await self._next(list(oids), names):
            if binding is None:
                found.add(oid)  # refused: let the walk meet it, and report it
            elif binding.tag < ber.FIRST_EXCEPTION and binding.name.startswith(name):
                found.add(oid)
                if oid in by_oid:
                    index = ber.arcs(binding.name[len(name) :])
                    self.readings.answers[by_oid[oid]] = {index: ber.value_of(binding.tag, binding.content)}
        return found

    async def _next(self, oids: list[Oid], names: list[bytes]) -> list[tuple[Oid, bytes, ber.Binding | None]]:
        """One GETNEXT for all; where the agent cannot, without the one that it blames, or for halves."""
        answer = await self.session.ask(ber.GET_NEXT, names)
        if not answer.status and len(answer.bindings) >= len(names):
            return list(zip(oids, names, answer.bindings, strict=False))
        if len(names) == 1:
            return [(oids[0], names[0], None)] if answer.status in REFUSALS else []
        if 1 <= answer.position <= len(names) and answer.status not in (0, *REFUSALS):
            at = answer.position - 1
            return await self._next(oids[:at] + oids[at + 1 :], names[:at] + names[at + 1 :])
        half = len(names) // 2
        return await self._next(oids[:half], names[:half]) + await self._next(oids[half:], names[half:])

    async def _read(self, read: plan.Read, present: set[Oid]) -> None:
        objects = [name for name in read.objects if plan.entry(name) in present]
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
            await self.session.alive()  # a table without an answer may be the table's fault; a switch without ends all
        self.readings.answers.update(zip(objects, walk.columns, strict=True))
        self.readings.outcomes.setdefault(table, []).append(self._outcome(walk, begun))
        if walk.disorder:
            self.readings.notes.append(
                f"{many(walk.disorder, 'row')} of {objects[0]} came out of order; all were taken"
            )

    def _outcome(self, walk: Walk, begun: float) -> Outcome:
        return Outcome(walk.state, walk.reason, begun, self._seconds)

    async def _read_per_vlan(self) -> None:
        """Each VLAN's forwarding table in its own context; the first one besides 1 shows whether there are any."""
        first, *others = sorted(bridge.ethernet_vlans(self.readings.answers), key=lambda vlan: (vlan == 1, vlan))
        self.progress(self.session.where, f"reading the forwarding tables of {len(others) + 1} VLANs")
        if problem := await self._read_vlan(first):
            self.readings.per_vlan_problem = (
                f"only the table of one VLAN of {len(others) + 1} is visible; "
                f"in the context of VLAN {first} the switch gives none: {problem}"
            )
            self.readings.per_vlan.clear()
            return
        problems = [problem for problem in await asyncio.gather(*map(self._read_vlan, others)) if problem]
        if problems:
            self.readings.per_vlan_problem = (
                f"the tables of {len(problems)} VLANs of {len(others) + 1} were not read: {problems[0]}"
            )

    async def _read_vlan(self, vlan: int) -> str:
        """Reads one VLAN's bridge; returns why that failed, if it did."""
        if self._vlans_lost >= _VLANS_LOST:
            return "the switch left the contexts of other VLANs without answer"
        begun = self._seconds
        objects = (*bridge.DOT1D_OBJECTS, *bridge.BASE_OBJECTS)
        context = self.session.context_for_vlan(vlan)
        walk = await Walker(self.session, [OBJECTS[name] for name in objects], context).walk()
        if walk.state in (TableState.TIMED_OUT, TableState.REFUSED):
            self._vlans_lost += 1
            return walk.reason
        self.readings.per_vlan[vlan] = Answers(zip(objects, walk.columns, strict=True))
        self.readings.outcomes.setdefault(Table.FORWARDING, []).append(self._outcome(walk, begun))
        return ""

    def _conclude(self) -> None:
        self.readings.seconds = self._seconds
        session = self.session
        if session.retries:
            asked = many(session.requests, "question")
            self.readings.notes.append(f"{session.retries} of {asked} had to be asked again")
        for reason, count in session.strays.items():
            self.readings.notes.append(f"{many(count, 'datagram')} taken for no answer: {reason}")
