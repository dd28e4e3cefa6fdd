"""One at a time: one run per site, one hand at its files. A lock ends with its process, however that ends."""

from __future__ import annotations

import fcntl
import os
import platform
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from reconcile.errors import LockedError

RUN_LOCK = "history.lock"
"""Held by whoever writes the history."""
EDIT_LOCK = "edit.lock"
"""Held by whoever changes the map or the waivers, from reading them until they are written."""


@contextmanager
def locked(folder: Path, name: str = RUN_LOCK) -> Iterator[None]:
    """Holds the lock of that name while its block runs. Raises LockedError that names who holds it, and OSError.

    The file stays when the lock is given back: taking it away would let two runs hold two files of one name.
    """
    path = folder / name
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    with open(descriptor, "r+", encoding="utf-8", errors="replace") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            holder = file.read(300).strip() or "another run"
            raise LockedError(str(path), f"held by {holder}", "again when that run has ended") from None
        file.truncate(0)
        file.write(f"process {os.getpid()} on {platform.node()} since {datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC\n")
        file.flush()
        yield
