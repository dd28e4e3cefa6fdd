"""Writes changed files of the map, keeps what was there before, and goes back to it.

The former `cords.csv` stays beside the new one as `cords.csv.before-20260317T214000Z-3f9c2a71`: the time of the
change in UTC, and the first digits of the SHA-256 of what was written then, so that going back can tell whether
somebody has changed the file since. All former files are kept before the first is replaced: whatever happens between
two of them, going back restores all.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from collectors.whole_files import replace_file
from reconcile.patchmap.edit.sheet import EditError

_KEPT = re.compile(r"(?P<name>.+)\.before-(?P<time>\d{8}T\d{6}Z(?:\.\d+)?)-(?P<digest>[0-9a-f]{8})")


def write(before: Mapping[Path, bytes], after: Mapping[Path, bytes], now: datetime | None = None) -> list[Path]:
    """Replaces every file of `after`; where each former one is kept. Raises EditError when one has changed meanwhile.

    Raises OSError; then nothing was replaced nor kept, or all former files are kept.
    """
    stamp = _free_stamp(after, now or datetime.now(UTC))
    for path in after:
        if path.read_bytes() != before[path]:
            raise EditError(path.name, "was changed by somebody else meanwhile; nothing was written", "run it again")
    kept = [_beside(path, stamp, content) for path, content in after.items()]
    try:
        for path, former in zip(after, kept, strict=True):
            replace_file(former, before[path], mode_of=path)
    except OSError:
        for former in kept:  # nothing was replaced: going back would find a change that never was
            former.unlink(missing_ok=True)
        raise
    for path, content in after.items():
        replace_file(_real(path), content, mode_of=path)
    return kept


def revert(folder: Path, names: set[str] | None = None) -> list[Path]:
    """Goes back by one change: every file that it wrote is again what it was, byte for byte. The files restored.

    `names` are the files of the map, where the folder holds others as well. Raises EditError when there is nothing to
    go back to, or a file was changed since.
    """
    found: dict[str, list[tuple[Path, Path, str]]] = {}
    for path in sorted(folder.iterdir()):
        kept = _KEPT.fullmatch(path.name)
        if kept and (names is None or kept["name"] in names):
            found.setdefault(kept["time"], []).append((path, folder / kept["name"], kept["digest"]))
    if not found:
        raise EditError(str(folder), "nothing was adopted here that could be taken back", "git log, where it is in git")
    last = found[max(found)]
    for former, path, digest in last:
        now = path.read_bytes() if path.is_file() else b""
        if _digest(now) != digest and now != former.read_bytes():
            what = "was changed after it was adopted: going back would lose that"
            raise EditError(path.name, what, f"compare it with {former.name} by hand")
    for former, path, _ in last:
        # written anew, not renamed: a link may lead to another file system
        replace_file(_real(path), former.read_bytes(), mode_of=former)
        former.unlink()
    return [path for _, path, _ in last]


def _free_stamp(after: Mapping[Path, bytes], now: datetime) -> str:
    """The time to the second; a second change within it gets a number, so that their order stays plain."""
    base = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    folders = {path.parent for path in after}
    taken = {kept["time"] for folder in folders for p in folder.iterdir() if (kept := _KEPT.fullmatch(p.name))}
    numbers = (f"{base}.{n:03d}" for n in range(1, 1000))
    return base if base not in taken else next(stamp for stamp in numbers if stamp not in taken)


def _beside(path: Path, stamp: str, content: bytes) -> Path:
    return path.with_name(f"{path.name}.before-{stamp}-{_digest(content)}")


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:8]


def _real(path: Path) -> Path:
    """Where a link leads: it stays a link to the file that is replaced."""
    return Path(os.path.realpath(path))
