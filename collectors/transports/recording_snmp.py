"""Records the variables of a switch, tag and all: exactly the objects that our collectors read."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from collectors import snmprec
from collectors.access import SwitchAccess
from collectors.contracts import Progress
from collectors.errors import SwitchError
from collectors.scrub import Scrubber
from collectors.scrub_snmp import Rewriter, Variable
from collectors.tables.mib import OBJECTS
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp import SnmpSession

_PER_VLAN = ("dot1dBasePortIfIndex", "dot1dTpFdbPort", "dot1dTpFdbStatus", "dot1dStpPortState")
"""Objects that some switches show for one VLAN at a time, in a context of its own."""

_PLAIN = re.compile(rb"[!-~](?:[ -~]*[!-~])?")
"""Text that needs no hex in a recording."""


async def variables_of(
    access: SwitchAccess, secrets_from: Path, scrubber: Scrubber, missing: list[str], progress: Progress
) -> dict[str, list[snmprec.Row]]:
    """Scrubbed rows by suffix of their file: "" for the switch, "@20" for VLAN 20's own view of its bridge.

    Raises SwitchError or SecretError when the switch does not answer; what stops half-way goes into `missing`.
    """
    deadline = asyncio.get_running_loop().time() + access.budget
    async with await SnmpSession.open(access, secrets_from=secrets_from, deadline=deadline) as session:
        walk = _Walk(session, missing, progress)
        await session.ask(ber.GET_NEXT, [ber.oid_octets(OBJECTS["sysDescr"])])  # raises where nobody answers
        main = await walk.objects(OBJECTS)
        views = await walk.vlan_contexts(main)
    return {"": _rows(main, scrubber, missing)} | {
        f"@{vlan}": _rows(view, scrubber, missing) for vlan, view in views.items() if view
    }


def _rows(variables: Sequence[Variable], scrubber: Scrubber, missing: list[str]) -> list[snmprec.Row]:
    """Scrubbed, and in the order of the new OIDs."""
    rewriter = Rewriter(scrubber, variables)
    rows = {(row := _row(variable)).oid: row for variable in rewriter.variables()}
    if rewriter.left_out:
        missing.append(f"{rewriter.left_out} rows whose index could not be scrubbed")
    return [rows[oid] for oid in sorted(rows)]


@dataclass
class _Walk:
    """Reads variables as they come, tag and all."""

    session: SnmpSession
    missing: list[str]
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
        self.missing.append(f"{name}{context and f' in VLAN context {context}'}: {why}")


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
