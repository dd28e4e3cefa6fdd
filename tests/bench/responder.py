"""A lean SNMPv2c agent for measuring: many switches in one process, answers put together from ready-made octets.

snmpsim decodes, looks up and encodes each binding in Python objects and manages some 7,000 bindings a second; a
collector measured against it would wait for it nine tenths of the time. This one joins octets.

    python -m tests.bench.responder RECORDING...

binds a free loopback port for each recording, prints the ports on one line, and answers until its input closes.
"""

from __future__ import annotations

import selectors
import socket
import subprocess
import sys
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from collectors import snmprec
from collectors.transports import snmp_ber as ber

_LARGEST = 60_000  # octets of bindings in one answer; a UDP datagram holds 65,507


class Agent:
    """The rows of one recording, ready to be sent."""

    def __init__(self, path: Path) -> None:
        rows = snmprec.unique(snmprec.read_rows(path))
        self._oids = sorted(rows)
        self._names = [ber.oid_octets(oid) for oid in self._oids]
        self._ready = [_binding(rows[oid], name) for oid, name in zip(self._oids, self._names, strict=True)]
        self._place = {name: place for place, name in enumerate(self._names)}

    def answer(self, request: bytes) -> bytes:
        """GET, GETNEXT or GETBULK, version 2c, any community."""
        start, _ = ber.header(request, 0, ber.SEQUENCE)
        _, at = ber.read_integer(request, start)
        _, at = ber.read_octets(request, at)
        pdu = ber.read_pdu(request, at)
        names = [binding.name for binding in pdu.bindings]
        if pdu.kind == ber.GET:
            bindings = [self._exactly(name) for name in names]
        else:
            bindings = self._after(names, pdu.position if pdu.kind == ber.GET_BULK else 1)
        body = ber.integer(pdu.request_id) + ber.integer(0) + ber.integer(0)
        response = ber.tlv(ber.RESPONSE, body + ber.tlv(ber.SEQUENCE, b"".join(bindings)))
        return ber.tlv(ber.SEQUENCE, request[start:at] + response)

    def _exactly(self, name: bytes) -> bytes:
        place = self._place.get(name)
        return _none(name, ber.NO_SUCH_INSTANCE) if place is None else self._ready[place]

    def _after(self, names: Sequence[bytes], repetitions: int) -> list[bytes]:
        """Row by row, as RFC 3416 section 4.2.3 orders them; cut where the answer grows too large."""
        places = [self._next(name) for name in names]
        last = len(self._ready)
        found: list[bytes] = []
        size = 0
        for row in range(repetitions):
            for place, name in zip(places, names, strict=True):
                there = place + row
                binding = self._ready[there] if there < last else _none(name, ber.END_OF_MIB_VIEW)
                found.append(binding)
                size += len(binding)
            if size > _LARGEST:
                break
        return found

    def _next(self, name: bytes) -> int:
        place = self._place.get(name)
        return bisect_right(self._oids, ber.oid_arcs(name)) if place is None else place + 1


def _binding(row: snmprec.Row, name: bytes) -> bytes:
    tag, octets = int(row.tag.removesuffix("x")), row.value
    if row.tag.endswith("x"):
        octets = bytes.fromhex(octets.decode())
    elif tag == ber.OBJECT_ID:
        octets = ber.oid_octets(snmprec.arcs(octets.decode()))
    elif tag != ber.OCTETS:
        octets = ber.integer(int(octets))[2:]
    return ber.tlv(ber.SEQUENCE, ber.tlv(ber.OBJECT_ID, name) + ber.tlv(tag, octets))


def _none(name: bytes, exception: int) -> bytes:
    return ber.tlv(ber.SEQUENCE, ber.tlv(ber.OBJECT_ID, name) + bytes((exception, 0)))


@contextmanager
def responding(recordings: Sequence[Path]) -> Iterator[list[int]]:
    """Runs the responder in a process of its own while the block lasts; the port of each recording."""
    command = [sys.executable, "-m", "tests.bench.responder", *map(str, recordings)]
    root = Path(__file__).parents[2]
    with subprocess.Popen(command, cwd=root, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        yield [int(port) for port in process.stdout.readline().split()]
        process.stdin.close()


def main() -> None:
    """Serves until standard input closes."""
    waiting = selectors.DefaultSelector()
    for path in sys.argv[1:]:
        listening = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        listening.bind(("127.0.0.1", 0))
        waiting.register(listening, selectors.EVENT_READ, Agent(Path(path)))
        print(listening.getsockname()[1], end=" ")
    print(flush=True)
    waiting.register(sys.stdin, selectors.EVENT_READ, None)
    while True:
        for key, _ in waiting.select():
            if key.data is None:
                return
            assert isinstance(key.fileobj, socket.socket)
            request, asker = key.fileobj.recvfrom(65535)
            key.fileobj.sendto(key.data.answer(request), asker)


if __name__ == "__main__":
    main()
