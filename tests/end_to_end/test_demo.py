"""`toneout demo` as a newcomer runs it: eight drifts and nothing else, and a site folder that goes on working."""

from __future__ import annotations

import json
import re
import signal
import socket
import stat
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.end_to_end.command import PLAIN, TONEOUT, toneout
from tests.worlds.expected import Found, load
from tests.worlds.files import SITES
from tests.worlds.judging import counted, found_in, verdicts_in

EXPECTED = load(SITES / "saltmarsh" / "expected.toml")


class Demo(NamedTuple):
    """One finished run, and the folder that it left."""

    told: subprocess.CompletedProcess[str]
    folder: Path


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    here = tmp_path_factory.mktemp("demo")
    return Demo(toneout("demo", cwd=here), here / "saltmarsh")


def test_the_demo_runs_without_a_word_of_trouble(demo: Demo) -> None:
    assert demo.told.returncode == 0, demo.told.stderr
    assert demo.told.stderr == ""


def test_the_demo_shows_its_eight_drifts_and_nothing_else(demo: Demo) -> None:
    assert len(EXPECTED.drifts) == 8
    told = toneout("--site", demo.folder, "reconcile", "--format", "json", cwd=demo.folder.parent)
    report = json.loads(told.stdout)
    assert found_in(report) == EXPECTED.findings
    assert verdicts_in(report) == counted(dict(EXPECTED.verdicts))
    assert report["gaps"] == []
    assert told.returncode == 1


def test_every_kind_of_drift_in_the_demo_is_another_one() -> None:
    kinds = [drift.findings[0].kind for drift in EXPECTED.drifts]
    assert sorted(set(kinds)) == sorted(
        {"moved device", "dead port", "shut port", "other device", "undocumented device", "unexpected link",
         "uplink elsewhere"}
    )  # fmt: skip
    moved = [drift for drift in EXPECTED.drifts if drift.findings[0].kind == "moved device"]
    assert [len(drift.findings) for drift in moved] == [1, 2]  # one device carried away, one pair of cords crossed


def test_the_report_for_people_names_what_each_drift_is_about(demo: Demo) -> None:
    keys = set(re.findall(r"[a-z]+-[a-z]+-[0-9a-f]{8}", demo.told.stdout))
    assert len(keys) == len(EXPECTED.findings)
    for found in EXPECTED.findings:
        for word in words_of(found):
            assert word in demo.told.stdout


def words_of(found: Found) -> list[str]:
    switch, _, port = found.port.partition(":")
    return [switch, port, found.device, *found.macs]


def test_the_demo_leaves_a_site_folder_whose_map_is_clean(demo: Demo) -> None:
    checked = toneout("check", cwd=demo.folder)
    assert checked.returncode == 0, checked.stdout


def test_the_secret_of_the_demo_is_closed_to_others_and_in_no_other_file(demo: Demo) -> None:
    secret = demo.folder / "secrets" / "community"
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    word = secret.read_text().strip().encode()
    assert word
    for path in demo.folder.glob("**/*"):
        if path.is_file() and path != secret:
            assert word not in path.read_bytes(), path


def test_the_demo_never_writes_into_a_folder_that_is_there(demo: Demo) -> None:
    before = (demo.folder / "toneout.toml").read_bytes()
    again = toneout("demo", cwd=demo.folder.parent)
    assert again.returncode == 2
    assert "is there already" in again.stderr
    assert "Traceback" not in again.stderr
    assert (demo.folder / "toneout.toml").read_bytes() == before


def test_a_cord_that_is_written_down_where_it_is_leaves_the_report(demo: Demo) -> None:
    cords = demo.folder / "map" / "cords.csv"
    before = cords.read_text()
    try:
        cords.write_text(before.replace("U2,core-1:Ethernet3,", "U2,core-1:Ethernet6,"))
        told = toneout("reconcile", "--format", "json", cwd=demo.folder)
    finally:
        cords.write_text(before)
    left = [found for found in EXPECTED.findings if found.kind != "uplink elsewhere"]
    assert found_in(json.loads(told.stdout)) == left


@pytest.fixture
def simulated(demo: Demo) -> Iterator[Path]:
    """The demo's folder with `toneout simulate` running on ports that are free here."""
    path = demo.folder / "toneout.toml"
    before = path.read_text()
    ports = free_ports(before.count("snmp.port"))
    path.write_text(re.sub(r"snmp\.port = \d+", lambda _: f"snmp.port = {next(ports)}", before))
    with subprocess.Popen(
        [TONEOUT, "simulate"], cwd=demo.folder, env=PLAIN, stdout=subprocess.PIPE, encoding="utf-8"
    ) as serving:
        try:
            assert serving.stdout is not None
            for line in serving.stdout:
                if "Ctrl-C" in line:
                    break
            yield demo.folder
        finally:
            serving.send_signal(signal.SIGINT)
            assert serving.wait(30) == 0
            path.write_text(before)


def free_ports(count: int) -> Iterator[int]:
    """Ports that are free now, as far as anyone can tell."""
    sockets = [socket.socket(socket.AF_INET, socket.SOCK_DGRAM) for _ in range(count)]
    for one in sockets:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in sockets]
    for one in sockets:
        one.close()
    return iter(ports)


def test_simulate_serves_the_site_for_a_second_terminal(simulated: Path) -> None:
    told = toneout("reconcile", "--collect", "--format", "json", cwd=simulated)
    assert found_in(json.loads(told.stdout)) == EXPECTED.findings, told.stderr
    assert told.returncode == 1
