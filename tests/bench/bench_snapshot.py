"""How long a snapshot of 21 million sightings takes to read, by what it costs to sort as many numbers:
`python -m tests.bench.bench_snapshot`, or pytest -m bench -s -n 0 tests/bench/bench_snapshot.py.

The tables are complete tables of a simulated network of 1,000 switches (`tests/reconcile/locate`), the ports and
neighbours those of its switches. Each reading is a process of its own, as it is for a user: nothing is warm but the
file. The clock is the processor's, since reading keeps one core busy; the wall's time is printed beside it.
"""

from __future__ import annotations

import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from collectors.names import int_to_mac
from collectors.sightings import SightingColumns, Texts
from collectors.snapshot import CollectedSwitch, Port, Snapshot, Table, TableReport, TableState
from collectors.snapshot_files import load_snapshot, save_snapshot
from tests.reconcile.locate.bridges import build, truth
from tests.reconcile.locate.tables import complete, fresh_on_the_way

pytestmark = pytest.mark.bench

SWITCHES = 1000
SECONDS, MEGABYTES = 2.0, 250.0
"""To read, and on disk, with 21 million sightings."""
TEXT_SWITCHES = 100
"""In the file of text that is read for comparison: 210,000 sightings, a hundredth."""

_READ = """
import sys, time
from pathlib import Path
from collectors.snapshot_files import load_snapshot
def peak():
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])
before = peak()
cpu, wall = time.process_time(), time.perf_counter()
found = load_snapshot(Path(sys.argv[1]))
cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
rows = sum(len(switch.sightings) for switch in found.switches)
print(cpu, wall, (peak() - before) / 1000, rows)
"""


def snapshot(switches: int) -> Snapshot:
    """Complete tables of a simulated network, the rows of each switch in an order of their own, as hashing has them."""
    rng = np.random.default_rng(switches)
    network = build(rng, switches, stations=20 * switches, unmanaged=switches // 5, shape="three tiers")
    real = truth(network)
    tables = fresh_on_the_way(complete(network, real), real, 0)
    port = np.hstack([tables.switch, tables.station])
    macs = np.concatenate([tables.switch_macs, tables.macs])
    names = tuple(f"GigabitEthernet1/0/{p + 1}" for p in range(int(network.port_count.max())))
    taken = datetime(2024, 5, 17, 12, tzinfo=UTC)

    def one(a: int) -> CollectedSwitch:
        x = rng.permutation(np.flatnonzero(port[a] >= 0))
        same = np.zeros(len(x), np.int8)
        rows = SightingColumns(
            macs[x],
            (x % 40 + 1).astype(np.int32),
            Texts(port[a][x].astype(np.int16), names),
            Texts(same, ("learned",)),
            Texts(same, ("dot1q",)),
            np.full(len(x), round(a * 0.137, 3)),
        )
        counters = {"in_octets": 10**9 + a, "out_octets": 10**9 - a, "in_errors": 0, "fcs_errors": 0}
        ports = [
            Port(name=n, if_index=p, if_type=6, oper="up", speed_mbps=1000, counters=counters)
            for p, n in enumerate(names[: int(network.port_count[a])])
        ]
        own = [int_to_mac(int(tables.switch_macs[a]))]
        report = {Table.FORWARDING: TableReport(state=TableState.READ, rows=len(rows))}
        return CollectedSwitch(name=f"sw{a}", started=taken, own_macs=own, ports=ports, sightings=rows, tables=report)

    return Snapshot(started=taken, finished=taken, switches=[one(a) for a in range(switches)])


def reading(path: Path) -> tuple[float, float, float, int]:
    """Seconds of the processor and of the wall, megabytes above what the program takes before it, and rows."""
    told = subprocess.run([sys.executable, "-c", _READ, str(path)], check=True, capture_output=True, text=True).stdout
    cpu, wall, megabytes, rows = told.split()
    return float(cpu), float(wall), float(megabytes), int(rows)


def sorting(rows: int) -> float:
    """Seconds of the processor that numpy.sort takes for as many numbers."""
    numbers = np.random.default_rng(0).integers(0, 1 << 48, rows)
    start = time.process_time()
    np.sort(numbers)
    return time.process_time() - start


def test_a_snapshot_of_a_large_campus_is_read_in_two_seconds(tmp_path: Path) -> None:
    path = tmp_path / "campus.parquet"
    campus = snapshot(SWITCHES)
    start = time.process_time()
    save_snapshot(campus, path)
    print(f"\nwritten in {time.process_time() - start:.1f} s")
    del campus
    size = path.stat().st_size / 1e6
    rounds = [(reading(path), sorting(21_000_000)) for _ in range(3)]
    (cpu, wall, memory, rows), sort = (min(told) for told in zip(*rounds, strict=True))
    print(f"{rows:,} rows, {size:.0f} MB on disk (at most {MEGABYTES:.0f})")
    print(f"read in {cpu:.2f} s, by the wall {wall:.2f} s (at most {SECONDS:.0f}); the sort {sort:.2f} s, ", end="")
    print(f"ratio {cpu / sort:.2f}; {memory:.0f} MB of memory, {1e6 * memory / rows:.0f} octets a row")
    assert size <= MEGABYTES
    assert cpu <= SECONDS


def test_columns_are_read_many_times_faster_than_text(tmp_path: Path) -> None:
    campus = snapshot(TEXT_SWITCHES)
    text, columns = tmp_path / "some.json", tmp_path / "some.parquet"
    for path in (text, columns):
        save_snapshot(campus, path)
    (slow, _, _, rows), (fast, _, _, _) = reading(text), reading(columns)
    print(f"\n{rows:,} rows: text {slow:.2f} s, {text.stat().st_size / 1e6:.0f} MB; ", end="")
    print(f"columns {fast:.2f} s, {columns.stat().st_size / 1e6:.1f} MB")
    assert load_snapshot(text) == load_snapshot(columns)
    assert fast < slow


if __name__ == "__main__":
    raise SystemExit(pytest.main([__file__, "-m", "bench", "-s", "-n", "0", "-q"]))
