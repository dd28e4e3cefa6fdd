"""The commands that need switches, on the demo site and its simulated ones: demo, simulate, collect, probe, record."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from collectors.fleet import FleetProgress
from collectors.simulator import recordings_in
from collectors.snapshot_files import load_snapshot
from reconcile.cli.commands import app
from reconcile.cli.demo import DEMO_COMMUNITY, demo_source
from reconcile.cli.progress import progress_display, progress_words
from tests.end_to_end.command import PLAIN, TONEOUT, on_terminal, toneout
from tests.worlds.expected import load
from tests.worlds.judging import found_in

EXPECTED = load(demo_source() / "expected.toml")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """What `toneout demo` left behind, and what it said."""
    folder = tmp_path_factory.mktemp("demo")
    done = toneout("demo", cwd=folder, environment={})  # as cron would: no HOME, no PATH, no TERM
    return folder / "saltmarsh", done


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


def test_the_demo_prints_its_drifts_and_what_to_try_next(
    played: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    _, done = played
    assert (done.returncode, done.stderr) == (0, "")
    assert "WHAT TO TRY NEXT" in done.stdout
    assert f"{len(EXPECTED.findings)} differences between the map and the network" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_the_demo_leaves_a_site_that_gives_the_same_report_again(
    played: tuple[Path, subprocess.CompletedProcess[str]],
) -> None:
    site, _ = played
    assert run("--site", site, "check").exit_code == 0
    again = run("--site", site, "reconcile", "--format", "json")
    assert again.exit_code == 1
    assert found_in(json.loads(again.stdout)) == EXPECTED.findings
    assert not (site / "expected.toml").exists()


def test_the_demo_keeps_its_community_to_its_owner(played: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    site, done = played
    secret = site / "secrets" / "community"
    assert secret.read_text() == DEMO_COMMUNITY + "\n"
    assert secret.stat().st_mode & 0o777 == 0o600
    assert DEMO_COMMUNITY not in done.stdout + (site / "snapshots" / "latest.json").read_text()


def test_the_commands_that_the_demo_suggests_exist(played: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    site, done = played
    suggested = re.findall(r"^  toneout (\w+) ?(\S*)", done.stdout.partition("WHAT TO TRY NEXT")[2], re.M)
    names = ["trace", "todo", "adopt", "page", "check", "limits", "spare", "reconcile", "simulate", "reconcile"]
    assert [name for name, _ in suggested] == names
    assert run("--site", site, "trace", suggested[0][1]).exit_code == 0


def test_a_second_demo_overwrites_nothing(played: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    site, _ = played
    before = sorted((path, path.stat().st_mtime_ns) for path in site.rglob("*"))
    outcome = run("demo", site)
    assert outcome.exit_code == 2
    assert "nothing was written" in outcome.stderr
    assert sorted((path, path.stat().st_mtime_ns) for path in site.rglob("*")) == before


@pytest.fixture(scope="module")
def served(
    played: tuple[Path, subprocess.CompletedProcess[str]], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Path, list[str]]]:
    """A copy of the demo site on ports of its own, with `toneout simulate` running; and what that announced."""
    site = tmp_path_factory.mktemp("served") / "saltmarsh"
    subprocess.run(["cp", "-a", played[0], site], check=True)
    settings = (site / "toneout.toml").read_text()
    (site / "toneout.toml").write_text(re.sub(r"port = \d+", lambda _: f"port = {_free_port()}", settings))
    with subprocess.Popen(
        [TONEOUT, "simulate", site], env=PLAIN, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        announced = []
        while not announced or "Ctrl-C" not in announced[-1]:
            line = process.stdout.readline()
            assert line, process.stderr and process.stderr.read()
            announced.append(line)
        yield site, announced
        process.send_signal(signal.SIGINT)
        _, complained = process.communicate(timeout=60)
    assert (process.returncode, complained) == (0, "")


def _free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_simulate_announces_every_recorded_switch_where_toneout_toml_asks_it(served: tuple[Path, list[str]]) -> None:
    site, announced = served
    text = (site / "toneout.toml").read_text()
    for switch in recordings_in(site / "recordings"):
        port = re.search(rf'name = "{switch}"\naddress = "127.0.0.1"\nsnmp.port = (\d+)', text)
        assert port
        assert f"{switch} answers at 127.0.0.1 UDP port {port.group(1)}\n" in announced


def test_simulate_in_one_terminal_and_reconcile_collect_in_another_meet(served: tuple[Path, list[str]]) -> None:
    outcome = run("--site", served[0], "--quiet", "reconcile", "--collect", "--format", "json")
    assert (outcome.exit_code, outcome.stderr) == (1, "")
    assert found_in(json.loads(outcome.stdout)) == EXPECTED.findings


def test_collect_says_what_each_switch_told_and_is_code_0(served: tuple[Path, list[str]], tmp_path: Path) -> None:
    outcome = run("--site", served[0], "collect", "--out", tmp_path / "now.json")
    assert (outcome.exit_code, outcome.stderr) == (0, "")
    assert "4 of 4 switches answered" in outcome.stdout
    assert re.search(r"acc-1\n +told +26 ports, \d+ station rows, \d neighbours", outcome.stdout)
    assert str(tmp_path / "now.json") in outcome.stdout
    assert len(load_snapshot(tmp_path / "now.json").switches) == 4


def test_progress_is_shown_on_a_terminal_only(served: tuple[Path, list[str]], tmp_path: Path) -> None:
    code, sent = on_terminal("--site", served[0], "collect", "--out", tmp_path / "a.json", cwd=tmp_path)
    assert code == 0
    assert re.search(r"\d of 4 switches", sent)
    with progress_display(quiet=True) as progress:
        assert progress is None


def test_progress_names_the_slowest_switch_once_it_takes_long_and_harmlessly() -> None:
    quick = FleetProgress(total=40, done=12, failed=0, running=4, slowest="sw-lab", slowest_seconds=1, slowest_doing="")
    assert progress_words(quick) == "12 of 40 switches"
    slow = quick._replace(failed=2, slowest="sw\x1b[2J", slowest_seconds=12.4, slowest_doing="forwarding")
    assert progress_words(slow) == r"12 of 40 switches, 2 failed; sw\x1b[2J: forwarding, 12 s"


def test_probe_tells_every_table_and_how_long_it_takes(served: tuple[Path, list[str]]) -> None:
    outcome = run("--site", served[0], "probe", "ACC-1")
    assert outcome.exit_code == 0
    assert re.search(r"SNMP works, \d+\.\d s for everything", outcome.stdout)
    assert re.search(r"forwarding +read, \d+ rows in \d+\.\d s", outcome.stdout)


def test_probe_of_a_switch_that_is_not_there_is_code_3_and_says_what_to_do(
    played: tuple[Path, subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    settings = (played[0] / "toneout.toml").read_text().replace("16102", str(_free_port()))
    (tmp_path / "secrets").mkdir()
    (tmp_path / "secrets" / "community").write_text("hush-hush\n")
    (tmp_path / "secrets" / "community").chmod(0o600)
    (tmp_path / "toneout.toml").write_text(settings)
    outcome = run("--site", tmp_path, "probe", "acc-1")
    assert outcome.exit_code == 3
    assert "SNMP does not work" in outcome.stdout
    assert "WHAT TO DO" in outcome.stdout
    assert "hush-hush" not in outcome.output


@pytest.mark.parametrize("command", [["probe", "acc-9"], ["record", "acc-9", "--out", "x"]])
def test_a_switch_that_toneout_toml_does_not_name_is_code_2(command: list[str], served: tuple[Path, list[str]]) -> None:
    outcome = run("--site", served[0], *command)
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert "acc-9: toneout.toml has no such switch; try: acc-" in outcome.stderr


def test_record_writes_scrubbed_recordings_that_can_be_served(served: tuple[Path, list[str]], tmp_path: Path) -> None:
    outcome = run("--site", served[0], "record", "acc-1", "core-1", "--out", tmp_path / "out")
    assert outcome.exit_code == 0, outcome.output
    made = recordings_in(tmp_path / "out")
    assert len(made) == 2
    written = b"".join(path.read_bytes() for path in made.values())
    for private in (b"acc-1", b"core-1", DEMO_COMMUNITY.encode()):
        assert private not in written
    assert "look through the files before you send them" in outcome.stdout


def test_simulate_says_when_a_port_is_taken(served: tuple[Path, list[str]]) -> None:
    outcome = run("simulate", served[0])
    assert outcome.exit_code == 2
    assert "cannot listen on 127.0.0.1 UDP port" in outcome.stderr


def test_trace_says_why_a_station_is_where_it_is(played: tuple[Path, subprocess.CompletedProcess[str]]) -> None:
    site, _ = played
    for _ in range(2):  # the second time the modules are loaded already
        done = run("--site", site, "trace", "00-30-DE-41-B7-09", "--why")
        assert done.exit_code == 0, done.stderr
    told = " ".join(done.stdout.split())
    # The crossed tank controller: its own switch has it on the other jack's port, and every switch towards it agrees.
    assert "certain: at acc-1:Gi1/0/4" in told
    assert "core-1 has it on Ethernet2" in told
    assert "no switch is behind acc-1:Gi1/0/4" in told
