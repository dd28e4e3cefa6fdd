"""Records what a real switch answers, scrubbed, so that it can be replayed, and sent to a stranger.

Nothing is asked that our collectors do not ask. What a recording holds instead of addresses, names, serial numbers
and places is described in `scrub`; communities, users and passwords were never part of an answer.
"""

from __future__ import annotations

import json
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from collectors.access import SwitchAccess
from collectors.contracts import Progress
from collectors.errors import CollectError, RecordingError, SwitchError
from collectors.scrub import Scrubber
from collectors.transports.recording_snmp import variables_of
from collectors.transports.recording_ssh import session_of


@dataclass
class Recording:
    """What was written: files, the number of SNMP rows in them, and what is missing and why."""

    files: list[Path] = field(default_factory=list)
    rows: int = 0
    missing: list[str] = field(default_factory=list)


async def record(
    access: SwitchAccess,
    out: Path,
    *,
    secrets_from: Path,
    scrubber: Scrubber | None = None,
    progress: Progress = lambda switch, doing: None,
) -> Recording:
    """Records one switch, every way that it is asked, into the folder `out` and under a name that gives nothing away.

    SNMP gives `switch-1.snmprec`, which the simulator serves, with `switch-1@20.snmprec` beside it where VLAN 20 has
    a view of its own; SSH gives `switch-1.ssh.json`, for `recording_ssh.replay`. One `scrubber` for several switches
    keeps them consistent: a neighbour is called what its own recording is called.

    Raises SwitchError or SecretError when no way leads to an answer, RecordingError when nothing can be written.
    """
    scrubber = scrubber or Scrubber()
    name = scrubber.word("switch", access.name)
    recording = Recording()
    missing = recording.missing
    failures: list[CollectError] = []
    if access.snmp is not None:
        try:
            by_suffix = await variables_of(access, secrets_from, scrubber, missing, progress)
            for suffix, rows in by_suffix.items():
                _write(out / f"{name}{suffix}.snmprec", b"".join(row.line() for row in rows), recording)
                recording.rows += len(rows)
        except SwitchError as error:
            failures.append(error)
    if access.ssh is not None:
        try:
            session = await session_of(access, secrets_from, scrubber, missing, progress)
            _write(out / f"{name}.ssh.json", json.dumps(session, indent=1, ensure_ascii=False).encode(), recording)
        except SwitchError as error:
            failures.append(error)
    if failures and not recording.files:
        raise failures[0]
    missing += [str(error) for error in failures]
    return recording


def _write(path: Path, content: bytes, recording: Recording) -> None:
    """Writes one file, whole or not at all."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".recording-", delete=False) as file:
            file.write(content)
        os.replace(file.name, path)
    except OSError as error:
        raise RecordingError(str(path), f"cannot be written: {error.strerror}", "another folder") from None
    recording.files.append(path)
