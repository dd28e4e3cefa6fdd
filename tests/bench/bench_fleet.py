"""200 switches of 48 ports collected at once: memory, time against processor time, and no time-outs of our making.

    python -m tests.bench.bench_fleet [SWITCHES]

prints one line per way of running it. Ratios are of one run on one machine; nothing here depends on its speed.
"""

from __future__ import annotations

import asyncio
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import pytest

from collectors.access import SnmpAccess, SwitchAccess
from collectors.fleet import collect_fleet
from collectors.snapshot import TableState
from tests.bench.responder import responding

SWITCHES = 200
PORTS = 48
STATIONS = 3 * PORTS  # two a port, and half as many again behind the uplink
MOST_MEGABYTES = 400
MOST_WALL_PER_CPU = 1.5


class Measured(NamedTuple):
    """One run. Seconds, and mebibytes of resident memory at the peak."""

    at_once: int
    wall: float
    cpu: float
    waited: float
    """Seconds in which it could run and other processes of the machine had the cores (proc(5), schedstat)."""
    megabytes: float
    stations: int
    neighbours: int
    failed: int
    timed_out: int
    asked_again: int

    @property
    def wall_per_cpu(self) -> float:
        """1 is a collector that never waits for its switches."""
        return (self.wall - self.waited) / self.cpu


def recording(number: int) -> str:
    """Rows of a switch with PORTS ports, an uplink on the last one, and STATIONS stations, as .snmprec."""
    rows: dict[tuple[int, ...], str] = {}

    def put(oid: str, *index: int, **value: str | int) -> None:
        ((kind, said),) = value.items()
        tag = {"i": "2", "s": "4", "x": "4x", "c": "65", "g": "66", "t": "67", "l": "70"}[kind]
        rows[(*map(int, oid.split(".")), *index)] = f"{tag}|{said}"

    chassis = f"00005e53{number >> 8:02x}{number & 255:02x}"
    put("1.3.6.1.2.1.1.1", 0, s="An invented switch of 48 ports")
    put("1.3.6.1.2.1.1.3", 0, t=123456789)
    put("1.3.6.1.2.1.1.5", 0, s=f"sw-{number}")
    put("1.0.8802.1.1.2.1.3.1", 0, i=4)
    put("1.0.8802.1.1.2.1.3.2", 0, x=chassis)
    put("1.3.6.1.2.1.17.1.1", 0, x=chassis)
    put("1.3.6.1.2.1.17.7.1.4.2.1.3", 0, 10, g=10)
    for port in range(1, PORTS + 1):
        table = "1.3.6.1.2.1.2.2.1"
        for column, number_there in ((3, 6), (7, 1), (8, 1)):
            put(f"{table}.{column}", port, i=number_there)
        put(f"{table}.2", port, s=f"GigabitEthernet1/0/{port}")
        put(f"{table}.5", port, g=1_000_000_000)
        put(f"{table}.6", port, x=f"{chassis[:10]}{port:02x}")
        put(f"{table}.9", port, t=1000 + port)
        for column in (14, 20):
            put(f"{table}.{column}", port, c=0)
        extended = "1.3.6.1.2.1.31.1.1.1"
        put(f"{extended}.1", port, s=f"Gi1/0/{port}")
        put(f"{extended}.18", port, s=f"outlet {port}")
        put(f"{extended}.15", port, g=1000)
        put(f"{extended}.17", port, i=1)
        for column in (6, 10):
            put(f"{extended}.{column}", port, l=10_000_000_000 + port)
        for column in (2, 3, 8, 9, 18):
            put(f"1.3.6.1.2.1.10.7.2.1.{column}", port, c=0)
        put("1.3.6.1.2.1.10.7.2.1.19", port, i=3)
        put("1.3.6.1.2.1.17.1.4.1.2", port, i=port)
        put("1.3.6.1.2.1.17.2.15.1.3", port, i=5)
        put("1.3.6.1.2.1.17.7.1.4.5.1.1", port, g=10)
        for column in (3, 6, 7, 10):
            put(f"1.3.6.1.2.1.105.1.1.1.{column}", 1, port, i=1)
    for station in range(STATIONS):
        mac = (0, 27, 33, number & 255, number >> 8, station)
        put("1.3.6.1.2.1.17.7.1.2.2.1.2", 10, *mac, i=min(station // 2 + 1, PORTS))
        put("1.3.6.1.2.1.17.7.1.2.2.1.3", 10, *mac, i=3)
    for column, kind, value in (
        (4, "i", 4),
        (5, "x", "00005e530fff"),
        (6, "i", 5),
        (7, "s", "Te1/1/1"),
        (9, "s", "core"),
    ):
        put(f"1.0.8802.1.1.2.1.4.1.1.{column}", 0, PORTS, 1, **{kind: value})
    return "".join(f"{'.'.join(map(str, oid))}|{rows[oid]}\n" for oid in sorted(rows))


def collect(ports: list[int], at_once: int) -> Measured:
    """Collects from these ports of this machine, in this process; its peak memory is that of its whole life."""
    os.environ["TONEOUT_BENCH_COMMUNITY"] = "public"
    accesses = [
        SwitchAccess(
            name=f"sw-{number}",
            address="127.0.0.1",
            snmp=SnmpAccess(port=port, community="env:TONEOUT_BENCH_COMMUNITY"),
        )
        for number, port in enumerate(ports)
    ]
    wall, cpu, waited = time.perf_counter(), time.process_time(), waited_for_a_core()
    snapshot = asyncio.run(collect_fleet(accesses, site="bench", secrets_from=Path(), at_once=at_once))
    wall, cpu, waited = time.perf_counter() - wall, time.process_time() - cpu, waited_for_a_core() - waited
    reports = [report for switch in snapshot.switches for report in switch.tables.values()]
    return Measured(
        at_once,
        wall,
        cpu,
        waited,
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        sum(len(switch.sightings) for switch in snapshot.switches),
        sum(len(switch.neighbours) for switch in snapshot.switches),
        len(snapshot.failed),
        sum(report.state in (TableState.TIMED_OUT, TableState.CUT_SHORT) for report in reports),
        sum("asked again" in oddity for switch in snapshot.switches for oddity in switch.oddities),
    )


def waited_for_a_core() -> float:
    """Seconds since the start of this process; 0 where the kernel does not count them."""
    counts = Path("/proc/self/schedstat")
    return int(counts.read_text().split()[1]) / 1e9 if counts.exists() else 0.0


def measure(switches: int, at_once: int) -> Measured:
    """One run in a process of its own against the lean responder."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"sw-{number}.snmprec" for number in range(switches)]
        for number, path in enumerate(paths):
            path.write_text(recording(number))
        with responding(paths) as ports:
            command = [sys.executable, "-m", "tests.bench.bench_fleet", "--collect", json.dumps([ports, at_once])]
            root = Path(__file__).parents[2]
            told = subprocess.run(command, cwd=root, stdout=subprocess.PIPE, text=True, check=True).stdout
    return Measured(*json.loads(told))


@pytest.mark.bench
@pytest.mark.parametrize("at_once", [32, SWITCHES])
def test_a_large_fleet_is_bounded_by_its_own_work_alone(at_once: int) -> None:
    run = measure(SWITCHES, at_once)
    print(line(run))
    assert run.stations == SWITCHES * STATIONS
    assert run.neighbours == SWITCHES
    assert (run.failed, run.timed_out, run.asked_again) == (0, 0, 0)
    assert run.megabytes < MOST_MEGABYTES
    assert run.wall_per_cpu < MOST_WALL_PER_CPU


def line(run: Measured) -> str:
    """One run in words."""
    return (
        f"{run.at_once} at once: {run.wall:.1f} s, of them {run.cpu:.1f} s at work and {run.waited:.1f} s in wait of a "
        f"core; without that wait {run.wall_per_cpu:.2f} of the work (at most {MOST_WALL_PER_CPU}); "
        f"{run.megabytes:.0f} MB at the peak (at most {MOST_MEGABYTES}); {run.stations} stations, "
        f"{run.failed} failed, {run.timed_out} tables timed out, {run.asked_again} switches asked again"
    )


def main() -> None:
    """Prints a line per run; with --collect, does one of them and prints its numbers for the parent."""
    if sys.argv[1:2] == ["--collect"]:
        ports, at_once = json.loads(sys.argv[2])
        print(json.dumps(collect(ports, at_once)))
        return
    switches = int(sys.argv[1]) if sys.argv[1:] else SWITCHES
    for at_once in (32, switches):
        print(line(measure(switches, at_once)), flush=True)


if __name__ == "__main__":
    main()
