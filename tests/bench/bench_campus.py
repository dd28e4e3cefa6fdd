"""How every command grows with the site: `python -m tests.bench.bench_campus`, or pytest -m bench -s -n 0.

Two sites of one making, the second with eight times as many switches, ports and devices. Told for each command is how
many times as much of the processor's time it takes there, above what starting Python and reading its libraries costs.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from collectors.snapshot import Sighting, Snapshot
from collectors.snapshot_files import save_snapshot
from tests.browser.sites import wired
from tests.worlds.maps import csv_files

pytestmark = pytest.mark.bench

TONEOUT = str(Path(sys.executable).with_name("toneout"))
SMALL, LARGE, PORTS = 125, 1000, 24
ENTRIES = 300
"""Of each forwarding table, about devices on other switches."""
GROWTH_AT_MOST = 1.6
"""Times the growth of the site: in proportion, with room for sorting and for caches that overflow."""
COMMANDS = (
    ["check"],
    ["reconcile"],
    ["trace", "ws-077-11"],
    ["trace", "sw-077:Gi1/0/1"],
    ["todo"],
    ["spare"],
    ["limits"],
    ["cords"],
    ["teardown", "sw-077"],
    ["page", "--out", "page.html"],
    ["nightly", "--snapshot", "snapshots/latest.json"],
    ["history", "sw-077:Gi1/0/9"],
)


def test_no_command_takes_more_than_its_share_of_a_larger_site() -> None:
    with tempfile.TemporaryDirectory() as folder:
        sites = [_site(Path(folder) / str(switches), switches) for switches in (SMALL, LARGE)]
        start = min(_seconds(["--help"], sites[0]) for _ in range(3))
        worst = 0.0
        for command in COMMANDS:
            small, large = (_seconds(command, site) for site in sites)
            growth = (large - start) / max(small - start, 0.1) / (LARGE / SMALL)
            worst = max(worst, growth)
            print(
                f"toneout {' '.join(command)}: {small:.2f} s, {large:.2f} s, {growth:.2f} times the growth of the site"
            )
    assert worst <= GROWTH_AT_MOST


def _site(folder: Path, switches: int) -> Path:
    patch_map, seen = wired(switches, PORTS)
    _talk(seen)
    (folder / "map").mkdir(parents=True)
    (folder / "snapshots").mkdir()
    (folder / "toneout.toml").write_text('[site]\nname = "Campus"\n\n[map]\nform = "tables"\npath = "map"\n')
    for name, text in csv_files(patch_map).items():
        (folder / "map" / name).write_text(text, "utf-8")
    save_snapshot(seen, folder / "snapshots" / "latest.json")
    return folder


def _talk(seen: Snapshot) -> None:
    """Devices all over the site have talked to one another: each switch knows some on other switches."""
    rng = random.Random(1)
    devices = [(number, row.mac) for number, switch in enumerate(seen.switches) for row in switch.sightings]
    for number, switch in enumerate(seen.switches):
        far = [one for one in rng.sample(devices, ENTRIES) if one[0] != number]
        rows = [Sighting(mac, 1, _towards(number, home), "learned", "dot1q") for home, mac in far]
        switch.sightings = [*switch.sightings, *rows]


def _towards(here: int, there: int) -> str:
    """The port of a switch that faces another one, in the tree of eight beneath each that `wired` makes."""
    while there:
        upper = (there - 1) // 8
        if upper == here:
            return f"Te1/1/{there - upper * 8}"
        there = upper
    return "Gi1/0/1"


def _seconds(command: list[str], site: Path) -> float:
    """Of the processor, for one process."""
    process = subprocess.Popen(
        [TONEOUT, *command],
        cwd=site,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "COLUMNS": "80"},
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode in (0, 1, 3), (command, process.returncode)
    return used.ru_utime + used.ru_stime


if __name__ == "__main__":
    test_no_command_takes_more_than_its_share_of_a_larger_site()
