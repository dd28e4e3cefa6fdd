"""What asking over SNMP costs, as ratios in one run: `python -m tests.bench.bench_snmp`, or pytest -m bench -s -n 0.

* processor time per value, against stock pysnmp's `bulk_walk_cmd` over the same columns;
* requests, against the fewest rounds in which the same tables can be read;
* time behind a 20 ms round trip, against `snmpbulkwalk` asking for the same columns one after another.

The simulator is no use here: it answers some 7,000 values a second and would be measured in our place. The agent is
`tests.bench.responder`, in a process of its own; its processor time counts for nobody.
"""

from __future__ import annotations

import asyncio
import contextlib
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any, NamedTuple, cast

import pytest

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, Table
from collectors.snmp_collector import SnmpCollector
from collectors.tables.assembly import assemble
from collectors.tables.mib import OBJECTS, Answers
from collectors.tables.plan import READS
from collectors.transports.snmp import SnmpSession
from tests.bench.responder import responding
from tests.collectors import recorded

pytestmark = pytest.mark.bench

REPETITIONS = 50
CPU_AT_MOST = 0.35
REQUESTS_AT_MOST = 1.5
WALL_AT_MOST = 0.35
ROUND_TRIP = 0.020

LARGE = "network/wifi/ruijie-m18000"
"""A recording with far more than 20,000 values in the columns that are read."""
CAMPUS = ("cloud/arista-dcs-7150s-52-cl", "network/switch/hpe-procurve-516733-b21", "network/switch/bdcom-s5612")
"""Switches with the usual tables and some hundred stations."""
ROUNDS = 3
"""The fastest counts: what is slower was disturbed."""


class Asked(NamedTuple):
    """One collection: seconds, requests, and the answers it was made of."""

    wall: float
    cpu: float
    requests: int
    answers: Answers
    switch: CollectedSwitch

    @property
    def values(self) -> int:
        """Values in the columns asked for; what came besides is our own loss."""
        return sum(map(len, self.answers.values()))


async def ask(port: int) -> Asked:
    """Everything, from one port of this machine."""
    os.environ["TONEOUT_BENCH_COMMUNITY"] = "public"
    snmp = {"community": "env:TONEOUT_BENCH_COMMUNITY", "port": port, "repetitions": REPETITIONS, "in_flight": 4}
    access = SwitchAccess.model_validate({"name": "bench", "address": "127.0.0.1", "snmp": snmp})
    with _watching() as watched:
        wall, cpu = time.perf_counter(), time.process_time()
        switch = await SnmpCollector().collect(
            access, secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None
        )
        wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    assert isinstance(switch, CollectedSwitch), switch
    return Asked(wall, cpu, watched["session"].requests, watched["answers"], switch)


@contextlib.contextmanager
def _watching() -> Iterator[dict[str, Any]]:
    """Notes the session that is opened and the answers that are put together."""
    from collectors import snmp_collector

    watched: dict[str, Any] = {}
    opened = SnmpSession.open

    async def opening(*arguments: Any, **named: Any) -> SnmpSession:
        watched["session"] = await opened(*arguments, **named)
        return cast(SnmpSession, watched["session"])

    def assembling(*arguments: Any) -> CollectedSwitch:
        watched["answers"] = arguments[-1].answers
        return assemble(*arguments)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(SnmpSession, "open", opening)
        patch.setattr(snmp_collector, "assemble", assembling)
        yield watched


async def stock_walk(port: int, columns: list[str]) -> tuple[float, int]:
    """Processor seconds and values of pysnmp's own walks over these columns."""
    from pysnmp.hlapi.v3arch import asyncio as hlapi

    engine = hlapi.SnmpEngine()
    target = await hlapi.UdpTransportTarget.create(("127.0.0.1", port), timeout=10)
    community, context = hlapi.CommunityData("public"), hlapi.ContextData()
    cpu, values = time.process_time(), 0
    for name in columns:
        asked = hlapi.ObjectType(hlapi.ObjectIdentity(OBJECTS[name]))
        walk = hlapi.bulk_walk_cmd(
            engine, community, target, context, 0, REPETITIONS, asked, lookupMib=False, lexicographicMode=False
        )
        async for error, status, _, bindings in walk:
            assert not error
            assert not status
            values += len(bindings)
    return time.process_time() - cpu, values


def fewest_rounds(answers: Answers) -> int:
    """The scalars in one question; each table with all of its columns together, REPETITIONS rows to an answer."""
    longest = (max((len(answers[name]) for name in read.objects), default=0) for read in READS)
    return 1 + sum(math.ceil(rows / REPETITIONS) for rows in longest)


def columns_of(asked: Asked) -> list[str]:
    """The columns that have rows, tables alone."""
    return [name for read in READS for name in read.objects if asked.answers[name]]


@contextlib.contextmanager
def recordings(*names: str) -> Iterator[dict[str, int]]:
    """The lean responder with these recordings, trimmed to what is read."""
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for name in names:
            paths.append(Path(folder) / f"{name.replace('/', '-')}.snmprec")
            paths[-1].write_bytes(recorded.trim(recorded.path_of(name)))
        with responding(paths) as ports:
            yield dict(zip(names, ports, strict=True))


def test_a_value_costs_a_third_of_what_stock_pysnmp_spends_on_it() -> None:
    with recordings(LARGE) as ports:
        ours = min((asyncio.run(ask(ports[LARGE])) for _ in range(ROUNDS)), key=lambda asked: asked.cpu)
        columns = columns_of(ours)
        theirs, values = min(asyncio.run(stock_walk(ports[LARGE], columns)) for _ in range(ROUNDS))
    assert ours.values >= 20_000
    per_value, stock_per_value = ours.cpu / ours.values, theirs / values
    ratio = per_value / stock_per_value
    print(
        f"\nprocessor time per value: {per_value * 1e6:.1f} us of ours, rows of the snapshot included "
        f"({ours.values} values), {stock_per_value * 1e6:.1f} us of stock pysnmp ({values} values): "
        f"ratio {ratio:.2f} (at most {CPU_AT_MOST})"
    )
    assert ratio <= CPU_AT_MOST


@pytest.mark.parametrize("name", CAMPUS)
def test_requests_are_few_more_than_the_fewest(name: str) -> None:
    with recordings(name) as ports:
        asked = asyncio.run(ask(ports[name]))
    fewest = fewest_rounds(asked.answers)
    ratio = asked.requests / fewest
    print(f"\n{name}: {asked.requests} requests, fewest {fewest}: ratio {ratio:.2f} (at most {REQUESTS_AT_MOST})")
    assert ratio <= REQUESTS_AT_MOST


@pytest.mark.parametrize("name", CAMPUS)
def test_a_distant_switch_is_read_in_a_third_of_the_time(name: str) -> None:
    program = shutil.which("snmpbulkwalk")
    if program is None:
        pytest.skip("snmpbulkwalk is not installed (Debian package snmp)")
    with recordings(name) as ports:
        ours, theirs = asyncio.run(_behind_a_relay(ports[name], program))
    ratio = ours / theirs
    print(
        f"\n{name} behind {ROUND_TRIP * 1000:.0f} ms: {ours:.2f} s of ours, {theirs:.2f} s of snmpbulkwalk: "
        f"ratio {ratio:.2f} (at most {WALL_AT_MOST})"
    )
    assert ratio <= WALL_AT_MOST


async def _behind_a_relay(port: int, program: str) -> tuple[float, float]:
    async with relay(port) as delayed:
        asked = [await ask(delayed) for _ in range(ROUNDS)]
        columns = columns_of(asked[0])
        seconds = time.perf_counter()
        for column in columns:
            await _snmpbulkwalk(program, delayed, column)
        return min(one.wall for one in asked), time.perf_counter() - seconds


async def _snmpbulkwalk(program: str, port: int, column: str) -> None:
    """One column by net-snmp's walk, as many rows to an answer as ours, and no MIB files to load first."""
    oid = ".".join(map(str, OBJECTS[column]))
    options = ["-v2c", "-c", "public", f"-Cr{REPETITIONS}", "-Cc", "-On", "-t10", f"127.0.0.1:{port}", oid]
    environment = os.environ | {"MIBS": ""}
    child = await asyncio.create_subprocess_exec(program, *options, stdout=subprocess.DEVNULL, env=environment)
    assert await child.wait() == 0


@contextlib.asynccontextmanager
async def relay(port: int) -> AsyncIterator[int]:
    """A port that leads to another one, half a round trip away in each direction."""
    loop = asyncio.get_running_loop()
    front, _ = await loop.create_datagram_endpoint(lambda: _Relay(port), local_addr=("127.0.0.1", 0))
    try:
        yield front.get_extra_info("sockname")[1]
    finally:
        front.close()


class _Relay(asyncio.DatagramProtocol):
    """One socket towards the agent for each asker."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._ways: dict[tuple[str, int], asyncio.DatagramTransport] = {}

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self._front = cast(asyncio.DatagramTransport, transport)

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        loop = asyncio.get_running_loop()
        loop.call_later(ROUND_TRIP / 2, lambda: loop.create_task(self._forward(data, addr)))

    async def _forward(self, data: bytes, asker: tuple[str, int]) -> None:
        way = self._ways.get(asker)
        if way is None:
            loop = asyncio.get_running_loop()
            way, _ = await loop.create_datagram_endpoint(
                lambda: _Back(self._front, asker), remote_addr=("127.0.0.1", self._port)
            )
            self._ways[asker] = way
        way.sendto(data)


class _Back(asyncio.DatagramProtocol):
    """Carries answers back to one asker."""

    def __init__(self, front: asyncio.DatagramTransport, asker: tuple[str, int]) -> None:
        self._front, self._asker = front, asker

    def datagram_received(self, data: bytes, addr: tuple[str | Any, int]) -> None:
        asyncio.get_running_loop().call_later(ROUND_TRIP / 2, self._front.sendto, data, self._asker)


if __name__ == "__main__":
    sys.exit(pytest.main([__file__, "-m", "bench", "-s", "-n", "0", "-q"]))
