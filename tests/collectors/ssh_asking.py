"""Asking a replayed switch as a user would who set everything up."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

from collectors.access import SshAccess, SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table
from collectors.ssh_collector import SshCollector
from tests.collectors.ssh_server import USER, Served

Result = CollectedSwitch | FailedSwitch


class Progress:
    def __init__(self) -> None:
        self.said: list[tuple[str, str]] = []

    def __call__(self, switch: str, doing: str, /) -> None:
        self.said.append((switch, doing))


def collect(
    served: Served,
    folder: Path,
    *,
    known: str | None = None,
    want: frozenset[Table] = frozenset(Table),
    budget: float = 60,
    **ssh_fields: Any,
) -> Result:
    """Asks the server as a user would who has put its key on record (or `known` instead)."""
    (folder / "known_hosts").write_text(served.known_hosts_line() if known is None else known)
    progress = Progress()
    access = access_to(served, budget=budget, **ssh_fields)
    result = asyncio.run(SshCollector().collect(access, secrets_from=folder, want=want, progress=progress))
    assert all(switch == "wet lab" for switch, _ in progress.said)
    return result


def access_to(served: Served, *, budget: float = 60, **ssh_fields: Any) -> SwitchAccess:
    """The switch as it would stand in the site's file."""
    fields = {"secret": "env:SWITCH_PASSWORD", "timeout": 5.0, "known_hosts": "known_hosts", **ssh_fields}
    return SwitchAccess(
        name="wet lab",
        address="127.0.0.1",
        budget=budget,
        ssh=SshAccess(platform=served.recording["platform"], user=USER, port=served.port, **fields),
    )


def failed(result: Result) -> FailedSwitch:
    assert isinstance(result, FailedSwitch), result
    return result


def collected(result: Result) -> CollectedSwitch:
    assert isinstance(result, CollectedSwitch), result
    return result
