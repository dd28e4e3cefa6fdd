"""Records what a real switch answers, scrubbed, so that the simulator can replay it and a stranger may see it.

Exactly the objects that our collectors read are walked, nothing else. What a recording holds instead of addresses,
names, serial numbers and places is described in `scrub`; communities and users were never part of an answer.
"""

from __future__ import annotations

import asyncio
import os
import re
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from collectors import snmprec
from collectors.access import SwitchAccess
from collectors.contracts import Progress
from collectors.errors import RecordingError, SwitchError
from collectors.scrub import Scrubber
from collectors.scrub_snmp import Rewriter, Variable
from collectors.tables.mib import OBJECTS
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp import SnmpSession

_PER_VLAN = ("dot1dBasePortIfIndex", "dot1dTpFdbPort", "dot1dTpFdbStatus", "dot1dStpPortState")
"""Objects that some switches show for one VLAN at a time, in a context of its own."""

_PLAIN = re.compile(rb"[!-~](?:[ -~]*[!-~])?")
"""Text that needs no hex in a recording."""


@dataclass
class Recording:
    """What was written: files, the number of rows, and what is missing and why."""

    files: list[Path] = field(default_factory=list)
    rows: int = 0
    missing: list[str] = field(default_factory=list)


async def record(
    access: SwitchAccess,
    out: Path,
    *,
    secrets_from: Path,
    scrubber: Scrubber | None = None,
    progress: Progress = lambda switch, doing: None,
) -> Recording:
    """Records one switch into the folder `out`, under a name that gives nothing away: `switch-1.snmprec`.

    One `scrubber` for several switches keeps them consistent: a neighbour is called what its own recording is
    called. Raises SwitchError or SecretError when the switch does not answer at all, RecordingError when nothing
    can be written. What stops half-way is in `missing`.
    """
    if access.snmp is None:
        raise RecordingError(access.name, "has no `snmp` to be recorded by", "give it SNMP access")
    scrubber = scrubber or Scrubber()
    recording = Recording()
    deadline = asyncio.get_running_loop().time() + access.budget
    async with await SnmpSession.open(access, secrets_from=secrets_from, deadline=deadline) as session:
        walk = _Walk(session, recording, progress)
        await session.ask(ber.GET_NEXT, [ber.oid_octets(OBJECTS["sysDescr"])])  # raises where nobody answers
        main = await walk.objects(OBJECTS)
        contexts = await walk.vlan_contexts(main)
    name = scrubber.word("switch", access.name)
    _write(out / f"{name}.snmprec", Rewriter(scrubber, main), recording)
    for vlan, variables in contexts.items():
        if variables:
            _write(out / f"{name}@{vlan}.snmprec", Rewriter(scrubber, variables), recording)
    return recording


@dataclass
class _Walk:
    """Reads variables as they come, tag and all."""

    session: SnmpSession
    recording: Recording
    progress: Progress

    async def objects(self, names: Iterable[str], context: str = "") -> list[Variable]:
        """All rows of these objects, in the order of their OIDs."""
        self.progress(self.session.where, f"recording{context and f' VLAN context {context}'}")
        columns = await asyncio.gather(*(self._column(name, context) for name in names))
        return [variable for column in columns for variable in column]

    async def vlan_contexts(self, main: Sequence[Variable]) -> dict[int, list[Variable]]:
        """The bridge of each VLAN, of switches that keep one per VLAN (Cisco) and show it in a context of its own."""
        found = {variable.name for variable in main}
        vlans = {variable.instance[-1] for variable in main if variable.name == "vtpVlanState" and variable.instance}
        views: dict[int, list[Variable]] = {}
        for vlan in sorted(vlans) if "dot1qTpFdbPort" not in found else ():
            context = self.session.context_for_vlan(vlan)
            try:
                await self.session.ask(ber.GET_NEXT, [ber.oid_octets(OBJECTS["dot1dTpFdbPort"])], context=context)
            except SwitchError as error:
                self._miss("the bridge of each VLAN", context, error.problem)
                break
            views[vlan] = await self.objects(_PER_VLAN, context)
        return views

    async def _column(self, name: str, context: str) -> list[Variable]:
        prefix = ber.oid_octets(OBJECTS[name])
        rows: dict[bytes, Variable] = {}
        at = prefix
        try:
            while at:
                at = self._take(await self._next(at, context), prefix, name, rows)
                if at and self.session.exhausted:
                    self._miss(name, context, self.session.exhausted)
                    break
        except SwitchError as error:
            self._miss(name, context, error.problem)
        return list(rows.values())

    async def _next(self, at: bytes, context: str) -> ber.Pdu:
        if self.session.version == "1":
            return await self.session.ask(ber.GET_NEXT, [at], context=context)
        return await self.session.ask(ber.GET_BULK, [at], self.session.repetitions, context)

    @staticmethod
    def _take(answer: ber.Pdu, prefix: bytes, name: str, rows: dict[bytes, Variable]) -> bytes:
        """Takes what belongs to the object; where to go on, or nothing at its end. An OID that returns is an end."""
        at = b""
        for oid, tag, content in answer.bindings if not answer.status else ():
            if tag >= ber.FIRST_EXCEPTION or not oid.startswith(prefix) or oid in rows:
                return b""
            rows[oid] = Variable(name, ber.arcs(oid[len(prefix) :]), tag, content)
            at = oid
        return at

    def _miss(self, name: str, context: str, why: str) -> None:
        self.recording.missing.append(f"{name}{context and f' in VLAN context {context}'}: {why}")


def _write(path: Path, rewriter: Rewriter, recording: Recording) -> None:
    """Writes one file, whole or not at all."""
    rows = {(row := _row(variable)).oid: row for variable in rewriter.variables()}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".recording-", delete=False) as file:
            file.writelines(rows[oid].line() for oid in sorted(rows))
        os.replace(file.name, path)
    except OSError as error:
        raise RecordingError(str(path), f"cannot be written: {error.strerror}", "another folder") from None
    recording.files.append(path)
    recording.rows += len(rows)
    if rewriter.left_out:
        recording.missing.append(f"{rewriter.left_out} rows whose index could not be scrubbed")


def _row(variable: Variable) -> snmprec.Row:
    oid = (*OBJECTS[variable.name], *variable.instance)
    value = ber.value_of(variable.tag, variable.content)
    if isinstance(value, int):
        return snmprec.Row(oid, str(variable.tag), str(value).encode())
    if isinstance(value, tuple):
        return snmprec.Row(oid, str(variable.tag), ".".join(map(str, value)).encode())
    octets = value or b""
    plain = bool(_PLAIN.fullmatch(octets)) and variable.tag == ber.OCTETS
    return snmprec.Row(
        oid, f"{variable.tag}" if plain else f"{variable.tag}x", octets if plain else octets.hex().encode()
    )
