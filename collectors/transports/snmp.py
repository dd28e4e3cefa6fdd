"""Asks one switch over SNMP: one UDP socket, several questions under way, time-outs and retries.

pysnmp is used beneath this door only (`snmp_usm`, `snmp_pysnmp`). Foreign errors become ours here.
"""

from __future__ import annotations

import asyncio
import random
from collections import Counter
from pathlib import Path
from typing import Any

from pydantic import SecretStr

from collectors.access import SnmpAccess, SwitchAccess, resolve_secret
from collectors.errors import BadAnswer, NoAnswer, Refused, SecretError, SwitchError
from collectors.transports import snmp_ber as ber
from collectors.transports import snmp_envelopes as envelopes
from collectors.transports.snmp_ber import Pdu, Unusual
from collectors.transports.snmp_envelopes import CommunityEnvelope, Envelope
from collectors.transports.snmp_socket import connect, heard_from_elsewhere, unreachable
from collectors.transports.snmp_v3 import User, UsmEnvelope

_BACK_OFF = 1.5
"""Each try waits this much longer than the one before, give or take a tenth so that a fleet does not beat in time."""

_CONTEXT_TRIES = 2
_CONTEXT_WAIT = 0.5
"""Tries, and seconds at least of the first, for a question in the context of one VLAN: ten times the slowest answer."""

_ONE_FRAME = 20
"""Bindings that fit into one Ethernet frame. The last try asks for no more: larger answers travel as fragments, and
some paths drop these.
"""

_RESYNCS = 3
"""Reports about engine and clock that one question may meet before we stop believing them."""

_MAX_STRAYS = 10_000
"""Datagrams that are no answers, after which none is looked at any more: reading noise costs time."""

MAX_BINDINGS = 1_000_000
"""Bindings taken from one switch in one session; a chassis with 128,000 stations has about a third of that."""

MAX_COLUMNS = 24
"""Columns asked for in one question at most."""

_LIFE = ber.oid_octets((1, 3, 6, 1, 2, 1, 1, 3))
"""sysUpTime, which every agent has."""

MAX_OCTETS = 64 * 2**20
"""Octets taken from one switch in one session."""

_REFUSALS = {
    envelopes.UNSUPPORTED_LEVEL: ("does not let this user ask at this security level", "other `auth` and `privacy`"),
    envelopes.UNKNOWN_USER: ("does not know this user", "the name as the switch spells it: `user`"),
    envelopes.WRONG_DIGEST: ("did not accept our authentication", "`auth` and what `auth_secret` refers to"),
    envelopes.CANNOT_DECRYPT: ("could not decrypt the question", "`privacy` and what `privacy_secret` refers to"),
    envelopes.NOT_IN_TIME: ("keeps refusing our idea of its clock", "whether another box has the same engine ID"),
    envelopes.UNKNOWN_CONTEXT: ("does not know this context", "`context`, or none"),
    envelopes.UNKNOWN_ENGINE: ("keeps changing its engine ID", "whether two boxes answer at this address"),
}


class OutOfTime(NoAnswer):
    """The time that this switch may cost is used up."""


class SnmpSession:
    """Questions to one switch. Use as `async with await SnmpSession.open(...) as session`."""

    def __init__(self, access: SwitchAccess, snmp: SnmpAccess, envelope: Envelope, deadline: float) -> None:
        self.where = access.name
        self.version = snmp.version
        self.deadline = deadline
        self.repetitions = snmp.repetitions
        """Rows asked for in one GETBULK."""
        self.most_bindings = MAX_BINDINGS
        """Bindings asked for in one GETBULK; falls when only answers of one frame come through."""
        self.most_columns = MAX_COLUMNS
        """Columns asked for in one question; falls where an agent says nothing to a wide one."""
        self.requests = 0
        self.retries = 0
        self.bindings = 0
        self.octets = 0
        self.strays: Counter[str] = Counter()
        """What came and was no answer to a question, by reason."""
        self.silent = ""
        """Why nothing more is asked of this switch: it stopped answering."""
        self._snmp = snmp
        self._envelope = envelope
        self._pending: dict[int, _Question] = {}
        self._slots = asyncio.Semaphore(snmp.in_flight)
        self._next_id = random.randrange(1, 2**30)
        self._transport: asyncio.DatagramTransport | None = None
        self._answered = False
        self._slowest = 0.0
        self._doubt = asyncio.Lock()

    @classmethod
    async def open(cls, access: SwitchAccess, *, secrets_from: Path, deadline: float) -> SnmpSession:
        """A session with an open socket; nothing is sent yet. `deadline` is in the event loop's time.

        Raises SecretError, Unreachable.
        """
        snmp = access.snmp
        if snmp is None:
            raise ValueError(f"{access.name} has no SNMP access")
        session = cls(access, snmp, _envelope(snmp, secrets_from), deadline)
        session._transport = await connect(access.name, access.address, snmp.port, session.received, session.failed)
        return session

    async def __aenter__(self) -> SnmpSession:
        return self

    async def __aexit__(self, *_: object) -> None:
        if self._transport is not None:
            self._transport.close()

    @property
    def time_left(self) -> float:
        """Seconds until the deadline."""
        return self.deadline - asyncio.get_running_loop().time()

    @property
    def exhausted(self) -> str:
        """Why no more may be asked of this switch, or empty."""
        if self.silent:
            return self.silent
        if self.time_left <= 0:
            return "the time that this switch may cost was used up"
        if self.bindings > MAX_BINDINGS or self.octets > MAX_OCTETS:
            return f"the switch had already sent {self.bindings} values, more than one switch can have"
        return ""

    async def alive(self) -> bool:
        """Whether the switch still answers the smallest question; where not, nothing more is asked of it."""
        async with self._doubt:
            if not self.silent:
                try:
                    await self.ask(ber.GET_NEXT, [_LIFE])
                except SwitchError as error:
                    self.silent = f"the switch stopped answering: {error.problem}"
            return not self.silent

    def context_for_vlan(self, vlan: int) -> str:
        """The context to ask in for one VLAN's own view of the bridge."""
        return self._envelope.context_for_vlan(vlan)

    async def ask(self, kind: int, names: list[bytes], repetitions: int = 0, context: str = "") -> Pdu:
        """One question and its answer, whatever its error-status.

        Raises NoAnswer, OutOfTime, BadAnswer, Refused, Unreachable.
        """
        async with self._slots:
            question = _Question()
            try:
                return await self._ask(question, kind, names, repetitions, context)
            finally:
                for message_id in question.ids:
                    self._pending.pop(message_id, None)

    async def _ask(self, question: _Question, kind: int, names: list[bytes], repetitions: int, context: str) -> Pdu:
        tries = self._snmp.retries + 1
        wait = self._snmp.timeout
        if context:  # most agents have none and say nothing to one
            tries = min(tries, _CONTEXT_TRIES)
            wait = min(wait, max(_CONTEXT_WAIT, 10 * self._slowest))
        resyncs = number = 0
        while number < tries:
            if (left := self.time_left) <= 0:
                raise OutOfTime(self.where, self.exhausted, "a larger `budget`")
            rows = repetitions
            if number and number == tries - 1:
                rows = min(repetitions, max(1, _ONE_FRAME // len(names)))
            sent = asyncio.get_running_loop().time()
            self._send(question, kind, names, rows, context)
            pdu = await question.answer(min(wait * random.uniform(0.9, 1.1), left))
            if pdu is None:
                number += 1
                self.retries += not context
                wait *= _BACK_OFF
            elif pdu.kind == ber.REPORT:
                resyncs += 1
                self._heed(pdu, resyncs)
            else:
                self._answered = True
                self._slowest = max(self._slowest, asyncio.get_running_loop().time() - sent)
                if rows < repetitions:
                    self.most_bindings = _ONE_FRAME
                return pdu
        if not self._answered:
            await self._look_elsewhere(kind, names)
        raise self._silence(tries)

    async def _look_elsewhere(self, kind: int, names: list[bytes]) -> None:
        """Asks once more from a socket that hears every address: routers may answer from another of theirs.

        Such an answer is not taken (anybody could send it), but raises BadAnswer that names the address.
        """
        if self._transport is None or (self.version == "3" and self._envelope.ready):
            return
        message = self._envelope.wrap(kind, self._next_id, names, 0, "")
        wait = min(self._snmp.timeout, max(self.time_left, 0.01))
        if other := await heard_from_elsewhere(message, self._transport.get_extra_info("peername"), wait):
            problem = f"answers come from {other}, not from the address asked"
            raise BadAnswer(self.where, problem, f"`address` = {other!r}")

    def _send(self, question: _Question, kind: int, names: list[bytes], repetitions: int, context: str) -> None:
        """Every try has an id of its own, and an answer to any of them will do."""
        self._next_id = self._next_id % 0x7FFFFFFF + 1
        message = self._envelope.wrap(kind, self._next_id, names, repetitions, context)
        question.ids.append(self._next_id)
        self._pending[self._next_id] = question
        self.requests += 1
        if self._transport is not None:
            self._transport.sendto(message)

    def _heed(self, report: Pdu, resyncs: int) -> None:
        """A report about engine or clock has taught the envelope better; any other is a refusal."""
        reason = envelopes.report_of(report)
        if reason in (envelopes.UNKNOWN_ENGINE, envelopes.NOT_IN_TIME) and resyncs <= _RESYNCS:
            return
        problem, hint = _REFUSALS.get(reason, ("refused the question with an unknown report", "the switch's own log"))
        raise Refused(self.where, problem, hint)

    def _silence(self, tries: int) -> SwitchError:
        came = ""
        if self.strays:
            reason, count = self.strays.most_common(1)[0]
            came = f"{count} {'datagram' if count == 1 else 'datagrams'} taken for no answer: {reason}"
        if came and not self._answered:
            return BadAnswer(self.where, f"sent {came}", "whether this address and port belong to an SNMP agent")
        problem = f"nothing came back in {tries} {'try' if tries == 1 else 'tries'}" + (f" but {came}" if came else "")
        hint = "the address, the community and the list of managers that the switch answers"
        if self.version == "3" and self._envelope.ready:
            problem = f"answers to SNMPv3, but not to this user: {problem}"
            hint = "what `privacy_secret` refers to, `context`, and the view of this user"
        return NoAnswer(self.where, problem, hint)

    def received(self, data: bytes) -> None:
        """A datagram came; called by the event loop."""
        self.octets += len(data)
        if self.strays.total() > _MAX_STRAYS:
            return
        try:
            message_id, pdu = self._envelope.unwrap(data)
            if pdu.kind == ber.RESPONSE and pdu.request_id != message_id:
                raise Unusual("an answer with another request id")
        except Unusual as unusual:
            self._stray(str(unusual))
            return
        question = self._pending.pop(message_id, None)
        if question is None:
            self._stray("an answer to nothing that was asked, or a second one")
            return
        self.bindings += len(pdu.bindings)
        question.answered(pdu)

    def failed(self, error: OSError) -> None:
        """The network said no; called by the event loop. Later than the first answer it is left to the retries."""
        if not self._answered:
            for question in self._pending.values():
                question.failed(unreachable(self.where, error))

    def _stray(self, reason: str) -> None:
        if len(self.strays) < 20 or reason in self.strays:
            self.strays[reason] += 1


class _Question:
    """One question under way, and the tries that it has cost."""

    def __init__(self) -> None:
        self.ids: list[int] = []
        self._future: asyncio.Future[Pdu | None] | None = None

    async def answer(self, wait: float) -> Pdu | None:
        """The answer, or None after `wait` seconds without one."""
        loop = asyncio.get_running_loop()
        self._future = loop.create_future()
        timer = loop.call_later(wait, self._settle, None)
        try:
            return await self._future
        finally:
            timer.cancel()

    def answered(self, pdu: Pdu) -> None:
        self._settle(pdu)

    def failed(self, error: SwitchError) -> None:
        if self._future is not None and not self._future.done():
            self._future.set_exception(error)

    def _settle(self, pdu: Pdu | None) -> None:
        if self._future is not None and not self._future.done():
            self._future.set_result(pdu)


def _envelope(snmp: SnmpAccess, secrets_from: Path) -> Envelope:
    def secret(reference: str | None) -> Any:
        return resolve_secret(reference, secrets_from) if reference else None

    if snmp.version == "3":
        return UsmEnvelope(
            User(
                name=snmp.user or "",
                auth=snmp.auth,
                auth_secret=_long_enough(snmp.auth_secret, secret(snmp.auth_secret)),
                privacy=snmp.privacy,
                privacy_secret=_long_enough(snmp.privacy_secret, secret(snmp.privacy_secret)),
                context=snmp.context,
            )
        )
    return CommunityEnvelope(snmp.version, secret(snmp.community))


def _long_enough(reference: str | None, password: SecretStr | None) -> SecretStr | None:
    """SNMPv3 passwords have at least 8 characters (RFC 3414 section 11.2); no agent has a user with a shorter one."""
    if password is not None and len(password.get_secret_value()) < 8:
        raise SecretError(
            reference or "", "is shorter than the 8 characters that SNMPv3 asks for", "the whole password"
        )
    return password
