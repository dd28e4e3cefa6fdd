"""Asked by net-snmp's own tools where they are installed, and by a socket of our own for the rest."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from collectors.errors import RecordingError
from collectors.simulator import SimulatedUser, Simulator, recordings_in, serve_forever

SYS_NAME = "1.3.6.1.2.1.1.5.0"
# GET of sysName.0, SNMPv2c, community "public", encoded by hand after RFC 3416 and X.690.
GET_SYS_NAME = bytes.fromhex(
    "3026 020101 0406 7075626c6963 a019 020107 020100 020100 300e 300c 0608 2b06010201010500 0500"
)
needs_net_snmp = pytest.mark.skipif(not shutil.which("snmpwalk"), reason="net-snmp's snmpwalk is not installed")


@pytest.fixture
def recordings(tmp_path: Path) -> dict[str, Path]:
    folder = tmp_path / "a folder = with blanks"
    folder.mkdir()
    (folder / "wet-lab.snmprec").write_text(f"1.3.6.1.2.1.1.6.0|4|pier\n{SYS_NAME}|4|wet-lab\n{SYS_NAME}|4|twice\n")
    (folder / "wet-lab@20.snmprec").write_text(f"{SYS_NAME}|4|wet-lab in VLAN 20\n")
    (folder / "boat-shed.snmprec").write_text(f"# recorded by hand\n\n{SYS_NAME}|4x|626f6174\n")
    return recordings_in(folder)


def ask(endpoint: tuple[str, int], seconds: float = 5.0) -> bytes:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.settimeout(seconds)
        asking.sendto(GET_SYS_NAME, endpoint)
        return asking.recv(65535)


def walk(endpoint: tuple[str, int], *how: str) -> list[str]:
    host, port = endpoint
    command = ["snmpwalk", *how, "-Oqn", "-t2", "-r1", f"{host}:{port}", "1.3.6.1.2.1.1"]
    said = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False).stdout
    return [line for line in said.splitlines() if line.startswith(".1") and "No more variables" not in line]


@pytest.fixture
def temporary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A temporary folder of this test alone, here and in child processes."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    monkeypatch.setenv("TMPDIR", str(folder))
    return folder


def left_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_folder_gives_one_recording_per_switch_and_leaves_contexts_out(recordings: dict[str, Path]) -> None:
    assert sorted(recordings) == ["boat-shed", "wet-lab"]


def test_each_switch_answers_on_its_own_port(recordings: dict[str, Path]) -> None:
    with Simulator(recordings) as simulator:
        assert ask(simulator.endpoints["wet-lab"]).endswith(b"\x04\x07wet-lab")
        assert ask(simulator.endpoints["boat-shed"]).endswith(b"\x04\x04boat")
        assert len({port for _, port in simulator.endpoints.values()}) == 2


@needs_net_snmp
def test_rows_are_served_in_order_once_by_v1_v2c_and_v3_and_per_vlan_context(recordings: dict[str, Path]) -> None:
    user = SimulatedUser("keeper", "sha256", "tide-table-7", "aes", "kelp-forest-9")
    v3 = ["-v3", "-ukeeper", "-lauthPriv", "-aSHA-256", "-Atide-table-7", "-xAES", "-Xkelp-forest-9"]
    plain = [f'.{SYS_NAME} "wet-lab"', '.1.3.6.1.2.1.1.6.0 "pier"']
    vlan = [f'.{SYS_NAME} "wet-lab in VLAN 20"']
    with Simulator(recordings, community="tide", user=user) as simulator:
        endpoint = simulator.endpoints["wet-lab"]
        assert walk(endpoint, "-v1", "-ctide") == plain
        assert walk(endpoint, "-v2c", "-ctide") == plain
        assert walk(endpoint, *v3) == plain
        assert walk(endpoint, "-v2c", "-ctide@20") == vlan
        assert walk(endpoint, *v3, "-nvlan-20") == vlan


@needs_net_snmp
def test_a_disordered_recording_is_served_as_recorded_when_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "odd.snmprec"
    path.write_text("1.3.6.1.2.1.1.6.0|4|second\n1.3.6.1.2.1.1.4.0|4|first\n1.3.6.1.2.1.1.5.0|4|third\n")
    with Simulator({"odd": path}, keep_order=True) as simulator:
        told = [line.split('"')[1] for line in walk(simulator.endpoints["odd"], "-v2c", "-cpublic", "-Cc")]
    assert told == ["second", "first", "third"]


def test_only_the_wanted_subtrees_are_served(recordings: dict[str, Path]) -> None:
    with Simulator(recordings, subtrees=["1.3.6.1.2.1.1.6"]) as simulator:
        assert ask(simulator.endpoints["wet-lab"]).endswith(b"\x81\x00")  # noSuchInstance, RFC 3416


def test_nothing_is_left_behind_and_nothing_answers_afterwards(recordings: dict[str, Path], temporary: Path) -> None:
    with Simulator(recordings) as simulator:
        endpoint = simulator.endpoints["wet-lab"]
        assert left_in(temporary)
    assert not left_in(temporary)
    with pytest.raises((TimeoutError, ConnectionRefusedError)):
        ask(endpoint, seconds=0.2)


def test_a_recording_that_is_no_recording_is_refused_with_file_and_line(tmp_path: Path) -> None:
    path = tmp_path / "bad.snmprec"
    path.write_text(f"{SYS_NAME}|4|fine\nthis is prose\n")
    with pytest.raises(RecordingError, match=r"bad\.snmprec, line 2: is not OID\|TAG\|VALUE; try: ") as caught:
        Simulator({"bad": path}).__enter__()
    assert caught.value.hint


def test_a_missing_recording_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match=r"none\.snmprec: cannot be read: No such file"):
        Simulator({"none": tmp_path / "none.snmprec"}).__enter__()


def test_an_early_end_of_the_child_is_an_error_with_its_last_words(
    recordings: dict[str, Path], temporary: Path
) -> None:
    with pytest.raises(RecordingError, match=r"snmpsim ended early: .*privacy impossible without authentication"):
        Simulator(recordings, user=SimulatedUser("keeper", privacy="aes", privacy_key="kelp-forest")).__enter__()
    assert not left_in(temporary)


def test_a_port_in_use_is_an_error_that_names_switch_and_port(recordings: dict[str, Path]) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        with pytest.raises(RecordingError, match=f"wet-lab: cannot listen on 127.0.0.1 UDP port {port}: Address"):
            Simulator(recordings, ports={"wet-lab": port}).__enter__()


def test_a_switch_that_cannot_even_be_asked_is_an_error_that_says_where_to_look(
    recordings: dict[str, Path], temporary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collectors.simulator._any_request", lambda _: bytes(70_000))  # more than a datagram holds
    with pytest.raises(
        RecordingError, match=r"cannot be asked on 127\.0\.0\.1 UDP port \d+: Message.*loopback interface"
    ):
        Simulator(recordings).__enter__()
    assert not left_in(temporary)


def test_keys_show_neither_in_the_repr_nor_on_the_command_line(recordings: dict[str, Path]) -> None:
    user = SimulatedUser("keeper", "sha1", "tide-table-7", "des", "kelp-forest-9")
    assert "tide-table-7" not in repr(user)
    assert "kelp-forest-9" not in repr(user)
    with Simulator(recordings, user=user):
        lines = b"\n".join(_command_lines()).decode(errors="replace")
    assert "simulator_child.py" in lines
    assert "tide-table-7" not in lines


def _command_lines() -> Iterator[bytes]:
    """Of every process, whole: ps cuts them to the width of a terminal."""
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):  # it ended meanwhile
            yield path.read_bytes().replace(b"\0", b" ")


SERVING = """
import sys
from pathlib import Path
from collectors.simulator import recordings_in, serve_forever
serve_forever(recordings_in(Path(sys.argv[1])), lambda name, at: print(name, *at, flush=True))
print("ended in peace", flush=True)
"""


def serving(folder: Path, end: Callable[[subprocess.Popen[str]], None]) -> tuple[list[str], str]:
    """Starts `serve_forever` in a process of its own, ends it, and returns what it had announced and said last."""
    command = [sys.executable, "-c", SERVING, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, start_new_session=True) as process:
        assert process.stdout is not None
        announced = [process.stdout.readline() for _ in range(2)]
        end(process)
        return announced, process.stdout.read()


def test_serving_announces_every_endpoint_and_ends_in_peace_on_ctrl_c(recordings: dict[str, Path]) -> None:
    folder = recordings["wet-lab"].parent
    announced, last = serving(folder, lambda process: os.killpg(process.pid, signal.SIGINT))
    assert [line.split()[:2] for line in announced] == [["boat-shed", "127.0.0.1"], ["wet-lab", "127.0.0.1"]]
    assert last == "ended in peace\n"


def test_a_killed_parent_takes_the_simulated_switches_and_their_files_with_it(
    recordings: dict[str, Path], temporary: Path
) -> None:
    announced, _ = serving(recordings["wet-lab"].parent, lambda process: process.kill())
    assert announced
    deadline = time.monotonic() + 10
    while left_in(temporary) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not left_in(temporary)


def test_serving_reports_a_port_in_use(recordings: dict[str, Path]) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("127.0.0.1", 0))
        with pytest.raises(RecordingError, match="cannot listen"):
            serve_forever(recordings, lambda name, at: None, ports={"wet-lab": taken.getsockname()[1]})
