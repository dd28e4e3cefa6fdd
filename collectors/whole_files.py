"""Files written whole or not at all: made beside their place and renamed into it, so that nobody ever sees half of one.

Part of the side that knows no patch map because snapshots are written here too; everybody may use it.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def scratch_beside(target: Path) -> Iterator[Path]:
    """Where to make what is to become `target`; what is still there at the end is removed."""
    scratch = target.with_name(f".{target.name[:200]}.{os.getpid()}.part")
    try:
        yield scratch
    finally:
        scratch.unlink(missing_ok=True)


def write_synced(path: Path, octets: bytes) -> None:
    """Writes a file, and waits until the disk has it: a rename must not overtake its content. Raises OSError."""
    with path.open("wb") as file:
        file.write(octets)
        file.flush()
        os.fsync(file.fileno())


def replace_file(target: Path, octets: bytes, *, mode_of: Path | None = None) -> None:
    """Puts a new file in the place of another, with the mode of `mode_of`. Raises OSError; then nothing has changed."""
    with scratch_beside(target) as scratch:
        write_synced(scratch, octets)
        if mode_of is not None:
            shutil.copymode(mode_of, scratch)
        scratch.replace(target)
