"""Network namespaces of Linux for the lab: made, entered, and cleared away, those of a crashed earlier run included."""

from __future__ import annotations

import contextlib
import ctypes
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

_PREFIX = "toneout"
_CLONE_NEWNET = 0x40000000  # setns(2); os.setns came with Python 3.12

T = TypeVar("T")


def run(*command: str, check: bool = True) -> str:
    """Runs a command and gives its standard output; an error shows what it said."""
    done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    if check and done.returncode:
        raise RuntimeError(f"{' '.join(command)}: {done.stderr.strip()}")
    return done.stdout


def wait_until(condition: Callable[[], T], what: str, seconds: float = 30.0) -> T:
    """The first true value of `condition`; fails naming `what` when none comes."""
    deadline = time.monotonic() + seconds
    while True:
        value = condition()
        if value:
            return value
        if time.monotonic() > deadline:
            raise TimeoutError(f"waited {seconds:g} s in vain until {what}")
        time.sleep(0.03)


class Namespaces:
    """The namespaces of one process. Their names carry its id and start time, so that leftovers are known as such."""

    def __init__(self) -> None:
        clear_leftovers()
        self._tag = _tag_of(os.getpid())
        self.folder = Path(tempfile.gettempdir()) / self._tag
        self.folder.mkdir(mode=0o755)  # lldpd and sshd reach into it after dropping their rights

    def make(self, node: str) -> None:
        """A new namespace with its loopback up, and without IPv6, whose chatter would fill forwarding tables."""
        run("ip", "netns", "add", self.name(node))
        self.inside(node, _silence_ipv6)
        self.ip(node, "link", "set", "lo", "up")

    def name(self, node: str) -> str:
        """The name by which iproute2 knows it."""
        return f"{self._tag}.{node}"

    def ip(self, node: str, *words: str, check: bool = True) -> str:
        """`ip -n NODE ...`."""
        return run("ip", "-n", self.name(node), *words, check=check)

    def command(self, node: str, words: Sequence[str]) -> list[str]:
        """The command that runs `words` inside."""
        return ["ip", "netns", "exec", self.name(node), *words]

    def inside(self, node: str, function: Callable[[], T]) -> T:
        """Calls `function` in a thread that lives inside; sockets and threads that it makes live there too."""
        outcome: list[T] = []
        trouble: list[BaseException] = []

        def call() -> None:
            try:
                _enter(Path("/run/netns") / self.name(node))
                outcome.append(function())
            except BaseException as error:  # noqa: BLE001 - carried to the calling thread and raised there
                trouble.append(error)

        thread = threading.Thread(target=call)
        thread.start()
        thread.join()
        if trouble:
            raise trouble[0]
        return outcome[0]

    def close(self) -> None:
        """Ends every process inside and removes all of it."""
        _clear(self._tag)


def clear_leftovers() -> None:
    """Removes the namespaces of runs whose process is gone."""
    tags = {name.rsplit(".", 1)[0] for name in _names()}
    tags |= {path.name for path in Path(tempfile.gettempdir()).glob(f"{_PREFIX}.*.*")}
    for tag in tags:
        _, pid, _ = tag.split(".")
        if tag != _tag_of(int(pid)):
            _clear(tag)


def _names() -> list[str]:
    """Of all namespaces that carry our prefix."""
    words = [line.split()[0] for line in run("ip", "netns", "list").splitlines() if line.strip()]
    return [word for word in words if word.startswith(f"{_PREFIX}.") and word.count(".") == 3]


def _tag_of(pid: int) -> str:
    """Process id and start time since boot (proc(5), stat field 22): a later process may have the same id."""
    try:
        after_name = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return ""
    return f"{_PREFIX}.{pid}.{after_name[19]}"


def _clear(tag: str) -> None:
    """Tolerates that another run clears the same leftovers at this moment."""
    names = [name for name in _names() if name.startswith(f"{tag}.")]
    for strength in (signal.SIGTERM, signal.SIGKILL):
        for pid in _inhabitants(names):
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, strength)
        with contextlib.suppress(TimeoutError):
            wait_until(lambda: not _inhabitants(names), "they end", 2.0)
    for name in names:
        run("ip", "netns", "del", name, check=False)
    shutil.rmtree(Path(tempfile.gettempdir()) / tag, ignore_errors=True)


def _inhabitants(names: Sequence[str]) -> list[int]:
    """Ids of the processes in these namespaces, all of which we started."""
    return [int(pid) for name in names for pid in run("ip", "netns", "pids", name, check=False).split()]


def _enter(path: Path) -> None:
    libc = ctypes.CDLL(None, use_errno=True)
    with path.open() as namespace:
        if libc.setns(namespace.fileno(), _CLONE_NEWNET):
            raise OSError(ctypes.get_errno(), f"cannot enter {path}")


def _silence_ipv6() -> None:
    for scope in ("all", "default"):
        switch = Path(f"/proc/sys/net/ipv6/conf/{scope}/disable_ipv6")
        if switch.exists():
            switch.write_text("1")
