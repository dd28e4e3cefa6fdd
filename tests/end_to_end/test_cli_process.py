"""The command as a process: pipes, terminals, full disks, Ctrl-C, an empty environment, hostile answers, start-up."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from rich.cells import cell_len
from typer.testing import CliRunner

from collectors.snapshot import Neighbour, Sighting
from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.cli.commands import app
from tests.end_to_end.command import PLAIN, TONEOUT, on_terminal, toneout
from tests.nasty import NASTY, acting_characters
from tests.reconcile.example_network import LATHE, MICROSCOPE, STRANGER, snapshot

DRIFT = {"SW-1": {"Gi1/0/1": MICROSCOPE, "Gi1/0/9": STRANGER}, "SW-2": {"Gi0/1": LATHE}}
HEAVY = ("pysnmp", "netmiko", "pandas", "numpy", "scipy", "networkx", "asyncio", "rich.console", "openpyxl")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example site with a snapshot that holds drift."""
    folder = tmp_path_factory.mktemp("cli") / "site"
    assert toneout("init", folder, cwd=folder.parent).returncode == 0
    (folder / "snapshots").mkdir()
    save_snapshot(snapshot(DRIFT), folder / "snapshots" / "latest.json")
    return folder


@pytest.mark.parametrize(
    ("arguments", "heavy"),
    [
        (["--help"], (*HEAVY, "pydantic")),
        (["--version"], (*HEAVY, "pydantic")),
        (["reconcile", "--help"], HEAVY),  # typer itself loads pydantic to know a command's options
    ],
)
def test_help_loads_nothing_heavy(arguments: list[str], heavy: tuple[str, ...]) -> None:
    script = (
        "import sys; sys.argv = ['toneout', *sys.argv[1:]]\n"
        "from reconcile.cli.main import run\n"
        "try: run()\n"
        f"except SystemExit: print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", script, *arguments], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines()[-1] == "[]"


def test_a_pipe_gets_no_escape_sequence_and_80_columns(site: Path) -> None:
    done = toneout("reconcile", cwd=site, environment={**PLAIN, "TERM": "xterm", "FORCE_COLOR": "1"})
    assert done.returncode == 1
    assert "\x1b" not in done.stdout + done.stderr
    assert max(map(cell_len, done.stdout.splitlines())) <= 80


def test_a_narrow_terminal_gets_colour_within_its_width_and_whole_identifiers(site: Path) -> None:
    code, sent = on_terminal("reconcile", cwd=site, columns=40)
    assert code == 1
    assert "\x1b[" in sent
    plain = re.sub(r"\x1b\[[0-9;]*m", "", sent)
    assert max(map(cell_len, plain.splitlines())) <= 40
    for name in (STRANGER, "Gi1/0/9", "PHONE-21", "LAB-02:1", "PP-A:3"):
        assert name in plain


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [({}, True), ({"NO_COLOR": ""}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)],
)
def test_no_colour_is_honoured_on_a_terminal(environment: dict[str, str], coloured: bool, site: Path) -> None:
    # no-color.org: when it is set to anything that is not empty
    code, sent = on_terminal("check", cwd=site, **environment)
    assert (code, "\x1b" in sent) == (0, coloured)


def test_a_wide_terminal_gets_lines_that_can_be_read(site: Path) -> None:
    _, sent = on_terminal("check", "--columns", cwd=site, columns=300)
    assert 80 < max(map(len, re.sub(r"\x1b\[[0-9;]*m", "", sent).splitlines())) <= 100


def test_help_is_right_at_40_columns(site: Path) -> None:
    code, sent = on_terminal("--help", cwd=site, columns=40)
    assert code == 0
    assert max(map(len, sent.splitlines())) <= 40


def test_an_empty_environment_is_enough(site: Path) -> None:
    script = f"cd '{site}' && '{TONEOUT}' reconcile"
    done = subprocess.run(
        ["env", "-i", "/bin/sh", "-c", script], capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
    )
    assert (done.returncode, done.stderr) == (1, "")
    assert "\x1b" not in done.stdout
    assert STRANGER in done.stdout


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_of_any_encoding_shows_the_report(encoding: str, site: Path, tmp_path: Path) -> None:
    foreign = snapshot(DRIFT, far_name="Würfel 研究")
    save_snapshot(foreign, tmp_path / "foreign.json")
    settings = {**PLAIN, "PYTHONIOENCODING": encoding}
    done = subprocess.run(
        [TONEOUT, "trace", "C-104", "--snapshot", tmp_path / "foreign.json"],
        cwd=site,
        env=settings,
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert "rfel" in done.stdout.decode(encoding)


@pytest.mark.parametrize("arguments", [["schema"], ["check"], ["--help"], ["--version"]])
def test_a_reader_that_went_away_ends_the_command_quietly(arguments: list[str], site: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [TONEOUT, *arguments], cwd=site, env=PLAIN, stdout=writing, stderr=subprocess.PIPE, check=False
    )
    os.close(writing)
    assert (done.returncode in (1, 141), done.stderr) == (True, b"")


@pytest.mark.parametrize("arguments", [["schema"], ["check"], ["--help"], ["--version"]])
def test_a_full_disk_is_one_line_and_code_2(arguments: list[str], site: Path) -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [TONEOUT, *arguments], cwd=site, env=PLAIN, stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "No space left on device" in done.stderr


def test_closed_output_is_one_line_and_code_2(site: Path) -> None:
    done = subprocess.run(
        ["/bin/sh", "-c", f"'{TONEOUT}' check >&-"], cwd=site, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)


@pytest.mark.parametrize("command", [["collect"], ["reconcile", "--collect"]])
def test_ctrl_c_while_asking_keeps_what_is_complete_and_the_snapshot_before(
    command: list[str], site: Path, tmp_path: Path
) -> None:
    shutil.copytree(site, tmp_path / "site")
    before = (tmp_path / "site" / "snapshots" / "latest.json").read_bytes()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as silent:
        silent.bind(("127.0.0.1", 0))
        silent.settimeout(60)
        settings = re.sub(r'"192\.0\.2\.\d+"', '"127.0.0.1"', (site / "toneout.toml").read_text())
        quick = f"[snmp]\nport = {silent.getsockname()[1]}\ntimeout = 50"
        (tmp_path / "site" / "toneout.toml").write_text(settings.replace("[snmp]", quick))
        asking = subprocess.Popen(
            [TONEOUT, *command],
            cwd=tmp_path / "site",
            env={**PLAIN, "TONEOUT_COMMUNITY": "hush-hush"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        request = silent.recv(65535)
        asking.send_signal(signal.SIGINT)
        printed, complained = asking.communicate(timeout=60)
    assert request.startswith(b"\x30")  # it was an SNMP message (BER SEQUENCE), which we never answered
    assert asking.returncode == 130
    assert "interrupted" in printed + complained
    assert "Traceback" not in complained
    assert (tmp_path / "site" / "snapshots" / "latest.json").read_bytes() == before
    kept = tmp_path / "site" / "snapshots" / "interrupted.json"
    assert [failed.kind for failed in load_snapshot(kept).failed] == ["not finished", "not finished"]
    assert "hush-hush" not in printed + complained + kept.read_text()


@pytest.fixture(scope="module")
def hostile(site: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A snapshot in which every port, neighbour and switch says something nasty."""
    said = snapshot(DRIFT)
    first = said.switches[0]
    lone = NASTY["lone surrogate"]
    for port, text in zip(first.ports * 3, (t[:1024] for t in NASTY.values() if t != lone), strict=False):
        port.alias = port.descr = text
        port.oper = "up"
        first.neighbours.append(
            Neighbour(port=port.name, system_name=text, port_id=text, port_description=text, system_description=text)
        )
        first.oddities.append(text)
    first.sightings.append(Sighting("00:0c:29:00:00:99", 1, "Gi1/0/12"))
    first.system.name = first.system.descr = NASTY["terminal title"]
    path = tmp_path_factory.mktemp("hostile") / "hostile.json"
    save_snapshot(said, path)
    return path


@pytest.mark.parametrize("form", ["text", "json", "csv"])
@pytest.mark.parametrize("command", [["reconcile"], ["trace", "SW-1:Gi1/0/12"], ["trace", "MICROSCOPE-1"]])
def test_nothing_that_a_switch_says_acts_on_the_terminal(
    command: list[str], form: str, site: Path, hostile: Path
) -> None:
    arguments = ["--site", str(site), *command, "--format", form, "--snapshot", str(hostile)]
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code in (0, 1), done.stderr
    assert acting_characters(done.stdout.replace("\r\n", "\n")) == set()
    if form == "json":
        json.loads(done.stdout)
    if form == "csv":
        cells = [cell for row in csv.reader(io.StringIO(done.stdout, newline="")) for cell in row]
        assert [cell for cell in cells if cell.lstrip()[:1] in {"=", "+", "-", "@", "＝"}] == []


def test_a_hostile_map_and_name_act_on_nothing(site: Path, tmp_path: Path) -> None:
    (tmp_path / "toneout.toml").write_text((site / "toneout.toml").read_text())
    (tmp_path / "map").mkdir()
    for table in (site / "map").iterdir():
        (tmp_path / "map" / table.name).write_text(table.read_text())
    devices = tmp_path / "map" / "devices.csv"
    with devices.open("a", encoding="utf-8") as file:
        rows = csv.writer(file)
        for number, text in enumerate(t for t in NASTY.values() if "\ud83d" not in t and t.strip()):
            rows.writerow([text, text, "", "", f"SW-2:Gi0/{number % 40}", text, text])
    for arguments in (["check"], ["check", "--format", "csv"], ["trace", NASTY["terminal title"]]):
        done = toneout(*arguments, cwd=tmp_path)
        assert acting_characters((done.stdout + done.stderr).replace("\r\n", "\n")) == set()
        assert "Traceback" not in done.stderr
