"""SNMP agents on loopback, small enough to misbehave in any way: one honest one, and liars that differ in one thing.

Not the simulator: that one answers properly. These run in the test's own event loop.
"""

from __future__ import annotations

import asyncio
import contextlib
from bisect import bisect_right
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import cast

from collectors.tables.mib import OBJECTS
from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Binding, Oid, tlv

COUNTER64, GAUGE32, TIME_TICKS = 0x46, 0x42, 0x43

Rows = dict[Oid, tuple[int, bytes]]


@dataclass(frozen=True)
class Question:
    """A request as it came."""

    version: int
    kind: int
    request_id: int
    names: list[Oid]
    non_repeaters: int
    repetitions: int


def number(value: int, tag: int = ber.INTEGER) -> tuple[int, bytes]:
    """A value of a row: a number."""
    return tag, value.to_bytes(value.bit_length() // 8 + 1, "big", signed=True)


def octets(value: str | bytes) -> tuple[int, bytes]:
    """A value of a row: octets."""
    return ber.OCTETS, value.encode() if isinstance(value, str) else value


def read_question(data: bytes) -> Question:
    """The request in a message of version 1 or 2c."""
    at, _ = ber.header(data, 0, ber.SEQUENCE)
    version, at = ber.read_integer(data, at)
    _, at = ber.read_octets(data, at)
    pdu = ber.read_pdu(data, at)
    names = [ber.oid_arcs(binding.name) for binding in pdu.bindings]
    return Question(version, pdu.kind, pdu.request_id, names, pdu.status, pdu.position)


def message(version: int, request_id: int, bindings: Iterable[Binding], status: int = 0, position: int = 0) -> bytes:
    """A response."""
    listed = b"".join(
        tlv(ber.SEQUENCE, tlv(ber.OBJECT_ID, name) + tlv(tag, content)) for name, tag, content in bindings
    )
    pdu = ber.integer(request_id) + ber.integer(status) + ber.integer(position) + tlv(ber.SEQUENCE, listed)
    head = ber.integer(version) + tlv(ber.OCTETS, b"public")
    return tlv(ber.SEQUENCE, head + tlv(ber.RESPONSE, pdu))


class Agent(asyncio.DatagramProtocol):
    """Answers GETNEXT and GETBULK from sorted rows, as RFC 3416 says. Liars override one of its methods."""

    max_octets = 65_000
    """Octets of the largest answer; bindings that do not fit are left out (RFC 3416 section 4.2.3)."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        self.names = sorted(rows)
        self.questions = 0
        self.transport: asyncio.DatagramTransport | None = None

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast(asyncio.DatagramTransport, transport)

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        self.questions += 1
        for reply in self.replies(read_question(data)):
            self.send(reply, addr)

    def send(self, reply: bytes, addr: tuple[str, int]) -> None:
        """Hands one datagram to the network."""
        assert self.transport is not None
        self.transport.sendto(reply, addr)

    def replies(self, question: Question) -> Iterator[bytes]:
        """The datagrams that answer a question."""
        yield message(question.version, question.request_id, self.bindings(question))

    def bindings(self, question: Question) -> list[Binding]:
        """What a GETNEXT or GETBULK is answered with."""
        rounds = max(question.repetitions, 1) if question.kind == ber.GET_BULK else 1
        found: list[Binding] = []
        room = self.max_octets
        at = list(question.names)
        for _ in range(rounds):
            for column, name in enumerate(at):
                binding, at[column] = self.step(name)
                room -= len(binding.name) + len(binding.content) + 8
                if room < 0:
                    return found
                found.append(binding)
        return found

    def step(self, name: Oid) -> tuple[Binding, Oid]:
        """The binding after a name, and the name to go on from."""
        later = self.after(name)
        if later is None:
            return Binding(ber.oid_octets(name), ber.END_OF_MIB_VIEW, b""), name
        return Binding(ber.oid_octets(later), *self.value(later)), later

    def after(self, name: Oid) -> Oid | None:
        """The name that comes after a name, None at the end."""
        place = bisect_right(self.names, name)
        return self.names[place] if place < len(self.names) else None

    def value(self, name: Oid) -> tuple[int, bytes]:
        """The value of a name."""
        return self.rows[name]


@contextlib.asynccontextmanager
async def serving(agent: asyncio.DatagramProtocol, host: str = "127.0.0.1") -> AsyncIterator[int]:
    """The agent on a free port, whose number this gives."""
    transport, _ = await asyncio.get_running_loop().create_datagram_endpoint(lambda: agent, local_addr=(host, 0))
    try:
        yield transport.get_extra_info("sockname")[1]
    finally:
        transport.close()


STATIONS = 40


def wet_lab(stations: int = STATIONS) -> Rows:
    """A small switch: four ports, a forwarding table with that many stations, one neighbour, two ARP rows."""
    rows: Rows = {}

    def put(name: str, values: dict[tuple[int, ...], tuple[int, bytes]]) -> None:
        rows.update({OBJECTS[name] + index: value for index, value in values.items()})

    put("sysDescr", {(0,): octets("wet lab switch")})
    put("sysUpTime", {(0,): number(4711, TIME_TICKS)})
    put("sysName", {(0,): octets("wetlab-sw1")})
    ports = [(n,) for n in range(1, 5)]
    put("ifDescr", {port: octets(f"GigabitEthernet1/0/{port[0]}") for port in ports})
    put("ifName", {port: octets(f"Gi1/0/{port[0]}") for port in ports})
    put("ifType", dict.fromkeys(ports, number(6)))
    put("ifOperStatus", dict.fromkeys(ports, number(1)))
    put("ifHighSpeed", dict.fromkeys(ports, number(1000, GAUGE32)))
    put("ifHCInOctets", dict.fromkeys(ports, number(2**40, COUNTER64)))
    put("dot1dBasePortIfIndex", {port: number(port[0]) for port in ports})
    put("dot1qVlanFdbId", {(0, 30): number(30)})
    macs = [(30, 0, 0, 94, 0, n // 256, n % 256) for n in range(stations)]
    put("dot1qTpFdbPort", {mac: number(1 + mac[-1] % 4) for mac in macs})
    put("dot1qTpFdbStatus", dict.fromkeys(macs, number(3)))
    put("lldpLocPortId", {port: octets(f"Gi1/0/{port[0]}") for port in ports})
    put("lldpRemChassisIdSubtype", {(0, 4, 1): number(4)})
    put("lldpRemChassisId", {(0, 4, 1): octets(b"\0\0\x5e\0\x53\x44")})
    put("lldpRemPortIdSubtype", {(0, 4, 1): number(5)})
    put("lldpRemPortId", {(0, 4, 1): octets("Gi0/1")})
    put("ipNetToMediaPhysAddress", {(1, 192, 0, 2, n): octets(b"\0\0\x5e\0\x53" + bytes([n])) for n in (1, 2)})
    return rows


FORWARDING = OBJECTS["dot1qTpFdbPort"][:-1]
"""The table in which the liars lie, so that the others can be seen to be kept."""


def in_forwarding(name: Oid) -> bool:
    """True for a name of that table."""
    return name[: len(FORWARDING)] == FORWARDING


def asks_forwarding(question: Question) -> bool:
    """True for a walk through that table; not for the survey, which asks for many tables at once."""
    return question.kind != ber.GET_NEXT and any(map(in_forwarding, question.names))


class Looping(Agent):
    """After the sixth row it starts again with the first."""

    def after(self, name: Oid) -> Oid | None:
        later = super().after(name)
        if in_forwarding(name) and len(name) > len(FORWARDING) + 1 and name[-1] == 5:
            return next(known for known in self.names if known[: len(FORWARDING) + 1] == name[: len(FORWARDING) + 1])
        return later


class Repeating(Agent):
    """After the sixth row it says the sixth row for ever."""

    def after(self, name: Oid) -> Oid | None:
        return (
            name if in_forwarding(name) and len(name) > len(FORWARDING) + 1 and name[-1] == 5 else super().after(name)
        )


class Backwards(Agent):
    """Its rows come in falling order."""

    def after(self, name: Oid) -> Oid | None:
        if not in_forwarding(name):
            return super().after(name)
        prefix = name[: len(FORWARDING) + 1]
        rows = [known for known in reversed(self.names) if known[: len(prefix)] == prefix]
        later = rows[rows.index(name) + 1 :] if name in rows else rows
        return later[0] if later else super().after(rows[0] if rows else name)


class Endless(Agent):
    """Its table never ends: there is always one more address."""

    def after(self, name: Oid) -> Oid | None:
        if not in_forwarding(name) or len(name) <= len(FORWARDING) + 1:
            return super().after(name)
        count = int.from_bytes(bytes(name[-4:]), "big") + 1
        return name[:-4] + tuple(count.to_bytes(4, "big"))

    def value(self, name: Oid) -> tuple[int, bytes]:
        return number(3) if in_forwarding(name) else super().value(name)


class OnlyForTheTable(Agent):
    """Lies in the answers to walks of the forwarding table alone."""

    def replies(self, question: Question) -> Iterator[bytes]:
        return self.lies(question) if asks_forwarding(question) else super().replies(question)

    def lies(self, question: Question) -> Iterator[bytes]:
        """The datagrams that come instead."""
        raise NotImplementedError


class OtherRequestId(OnlyForTheTable):
    """Answers to a question that nobody asked."""

    def lies(self, question: Question) -> Iterator[bytes]:
        yield message(question.version, question.request_id ^ 0x5555, self.bindings(question))


class Garbage(OnlyForTheTable):
    """Sends noise that begins like a message."""

    def lies(self, question: Question) -> Iterator[bytes]:
        good = message(question.version, question.request_id, self.bindings(question))
        yield b""
        yield b"\x30\x84\xff\xff\xff\xff"
        yield good[: len(good) // 2]
        yield good[:-3] + b"\xff\xff\xff"
        yield bytes(reversed(good))
        yield b"\x30\x80" + good[2:] + b"\0\0"


class Silent(OnlyForTheTable):
    """Says nothing about the table."""

    def lies(self, question: Question) -> Iterator[bytes]:
        yield from ()


class Failing(OnlyForTheTable):
    """Answers with an error-status."""

    def __init__(self, rows: Rows, status: int, position: int = 0) -> None:
        super().__init__(rows)
        self.status, self.position = status, position

    def lies(self, question: Question) -> Iterator[bytes]:
        yield message(question.version, question.request_id, [], self.status, self.position)


class TooBig(Agent):
    """Answers tooBig to whatever needs more than a few bindings, as RFC 1905 allowed."""

    def __init__(self, rows: Rows, most: int) -> None:
        super().__init__(rows)
        self.most = most

    def replies(self, question: Question) -> Iterator[bytes]:
        if len(question.names) * max(question.repetitions, 1) > self.most:
            yield message(question.version, question.request_id, [], 1)
        else:
            yield from super().replies(question)


class Huge(OnlyForTheTable):
    """Fills the largest datagram there is: values of sixty thousand octets."""

    def lies(self, question: Question) -> Iterator[bytes]:
        name = ber.oid_octets((*question.names[0], self.questions))
        yield message(question.version, question.request_id, [Binding(name, ber.OCTETS, b"x" * 65_000)] * 1)


class WrongTypes(Agent):
    """Octets where numbers belong and numbers where octets belong, in every table."""

    def value(self, name: Oid) -> tuple[int, bytes]:
        tag, content = super().value(name)
        if tag == ber.OCTETS:
            return number(7)
        return (ber.NULL, b"") if name[-1] % 2 else octets(content)


class OneRowAtATime(Agent):
    """One row of the forwarding table to an answer, each after a pause."""

    def __init__(self, rows: Rows, pause: float) -> None:
        super().__init__(rows)
        self.pause = pause

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        question = read_question(data)
        if not asks_forwarding(question):
            super().datagram_received(data, addr)
            return
        reply = message(question.version, question.request_id, self.bindings(question)[: len(question.names)])
        asyncio.get_running_loop().call_later(self.pause, self.send, reply, addr)


class StopsInTheMiddle(Agent):
    """Falls silent after some questions, for good."""

    def __init__(self, rows: Rows, after_questions: int) -> None:
        super().__init__(rows)
        self.left = after_questions

    def replies(self, question: Question) -> Iterator[bytes]:
        self.left -= 1
        return super().replies(question) if self.left >= 0 else iter(())


class Twice(Agent):
    """Says everything twice."""

    def replies(self, question: Question) -> Iterator[bytes]:
        for reply in super().replies(question):
            yield reply
            yield reply


class FromElsewhere(Agent):
    """Answers from another socket than the one that was asked."""

    elsewhere: Callable[[bytes, tuple[str, int]], None]

    def send(self, reply: bytes, addr: tuple[str, int]) -> None:
        self.elsewhere(reply, addr)


class Lossy(Agent):
    """Loses every n-th answer."""

    def __init__(self, rows: Rows, every: int) -> None:
        super().__init__(rows)
        self.every = every

    def replies(self, question: Question) -> Iterator[bytes]:
        return iter(()) if self.questions % self.every == 0 else super().replies(question)


class Shy(Agent):
    """Says nothing to a question about more than a few objects."""

    def replies(self, question: Question) -> Iterator[bytes]:
        return super().replies(question) if len(question.names) <= 6 else iter(())


class DropsFragments(Agent):
    """Stands behind a path on which answers larger than one frame are lost."""

    def send(self, reply: bytes, addr: tuple[str, int]) -> None:
        if len(reply) <= 1400:
            super().send(reply, addr)
