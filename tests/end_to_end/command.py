"""Runs the real command as people do: as a process of its own, in a pipe or on a terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
from collections.abc import Mapping
from pathlib import Path

TONEOUT = Path(sys.executable).with_name("toneout")
"""What pip installed beside the interpreter that runs the tests."""

PLAIN = {"PATH": "/usr/bin:/bin", "LANG": "C.UTF-8", "TZ": "UTC"}
_SECONDS = 120


def toneout(
    *arguments: str | Path, cwd: Path, environment: Mapping[str, str] = PLAIN
) -> subprocess.CompletedProcess[str]:
    """The finished process, its output as text."""
    return subprocess.run(
        [TONEOUT, *arguments],
        cwd=cwd,
        env=dict(environment),
        capture_output=True,
        encoding="utf-8",
        stdin=subprocess.DEVNULL,
        timeout=_SECONDS,
        check=False,
    )


def on_terminal(*arguments: str | Path, cwd: Path, columns: int = 80, **environment: str) -> tuple[int, str]:
    """Exit code and everything that a terminal of that width was sent."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    settings = {**PLAIN, "TERM": "xterm-256color", **environment}
    with subprocess.Popen(
        [TONEOUT, *arguments], cwd=cwd, env=settings, stdin=theirs, stdout=theirs, stderr=theirs
    ) as process:
        os.close(theirs)
        sent = b"".join(iter(lambda: _read(ours), b""))
        code = process.wait(_SECONDS)
    os.close(ours)
    return code, sent.decode("utf-8").replace("\r\n", "\n")


def _read(descriptor: int) -> bytes:
    try:
        return os.read(descriptor, 65536)
    except OSError:  # Linux says EIO when the other side is gone
        return b""
