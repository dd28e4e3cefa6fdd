"""One run per site at a time."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from reconcile.errors import LockedError
from reconcile.lock import RUN_LOCK, locked

HOLDING = """
import sys, time
from pathlib import Path
from reconcile.lock import locked
with locked(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_the_second_says_which_process_holds_the_lock_where_and_since_when(tmp_path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", HOLDING, tmp_path], stdout=subprocess.PIPE) as holder:
        try:
            assert holder.stdout is not None
            holder.stdout.readline()
            words = (
                rf"held by process {holder.pid} on {socket.gethostname()} since \d{{4}}-\d\d-\d\d \d\d:\d\d:\d\d UTC"
            )
            with pytest.raises(LockedError, match=words), locked(tmp_path):
                pass
        finally:
            holder.send_signal(signal.SIGKILL)
    with locked(tmp_path):  # the lock of a killed process is no lock
        assert str(os.getpid()) in (tmp_path / RUN_LOCK).read_text()


def test_the_lock_is_given_back_whatever_happens(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), locked(tmp_path):
        raise ZeroDivisionError
    with locked(tmp_path):
        pass
