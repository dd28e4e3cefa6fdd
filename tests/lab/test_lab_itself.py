"""The lab leaves nothing behind, whatever happens to it."""

from __future__ import annotations

import contextlib
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.lab.namespaces import clear_leftovers, run
from tests.lab.network import Network, missing

pytestmark = [pytest.mark.lab, pytest.mark.skipif(bool(missing()), reason=missing())]

CRASHING = """
import sys
from tests.lab.network import Network
with Network() as network:
    network.add_switch("sw", ports=1)
    print(network.namespaces.folder.name, *(daemon.pid for daemon in network.nodes["sw"].daemons), flush=True)
    sys.stdin.read()
"""


def namespaces(tag: str) -> list[str]:
    return [line for line in run("ip", "netns", "list").splitlines() if line.startswith(tag)]


def alive(pid: str) -> bool:
    """A zombie that nobody has asked for yet (state Z, proc(5)) is not."""
    stat = Path(f"/proc/{pid}/stat")
    return stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "Z"


def test_a_network_is_gone_after_an_error_inside_it() -> None:
    with contextlib.suppress(ZeroDivisionError), Network() as network:
        network.add_switch("sw", ports=1)
        tag, pids = network.namespaces.folder.name, [str(daemon.pid) for daemon in network.nodes["sw"].daemons]
        assert namespaces(tag)
        assert len(pids) == 3  # snmpd, sshd, lldpd
        raise ZeroDivisionError
    assert not namespaces(tag)
    assert not any(map(alive, pids))
    assert not (Path(tempfile.gettempdir()) / tag).exists()


def test_what_a_killed_run_left_is_cleared_by_the_next_one_and_living_runs_are_left_alone() -> None:
    root = Path(__file__).parents[2]
    command = [sys.executable, "-c", CRASHING]
    with subprocess.Popen(command, cwd=root, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        tag, *pids = process.stdout.readline().split()
        clear_leftovers()
        assert namespaces(tag)
        assert all(map(alive, pids))
        process.send_signal(signal.SIGKILL)
    assert namespaces(tag)
    clear_leftovers()
    assert not namespaces(tag)
    assert not any(map(alive, pids))
    assert not (Path(tempfile.gettempdir()) / tag).exists()
