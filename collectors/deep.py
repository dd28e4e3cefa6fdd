"""A collection in several passes: whoever speaks seldom is heard in one of them.

A forwarding table forgets an address 300 s after its last frame (IEEE 802.1Q, ageing time): one reading shows who spoke
in the last five minutes. Before a change of hardware that is too little, and readings some time apart show more.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from collectors.access import SwitchAccess
from collectors.fleet import collect_fleet
from collectors.merge import fill
from collectors.sightings import packed
from collectors.snapshot import CollectedSwitch, Sighting, Snapshot, Table

_log = logging.getLogger(__name__)

_AGAIN = frozenset({Table.FORWARDING})


async def collect_deep(
    accesses: Sequence[SwitchAccess],
    *,
    site: str,
    secrets_from: Path,
    passes: int,
    pause: float = 0.0,
    deadline: float | None = None,
    **how: Any,
) -> Snapshot:
    """Every table once, then the forwarding tables `passes` - 1 times more, `pause` seconds apart.

    `how` is passed on to `collect_fleet`. A pass that time or a person ends early adds what it has; the first pass
    alone decides what could not be read. Interrupted is the whole when any pass was.
    """
    begun = time.monotonic()
    told = await collect_fleet(accesses, site=site, secrets_from=secrets_from, deadline=deadline, **how)
    how.pop("reread", None)
    for done in range(1, passes):
        left = None if deadline is None else deadline - (time.monotonic() - begun) - pause
        if told.unfinished or (left is not None and left <= 0):
            _log.warning("the run's time was over after %d of %d passes", done, passes)
            break
        try:
            await asyncio.sleep(pause)
        except asyncio.CancelledError:
            return told.model_copy(update={"unfinished": "interrupted: between two passes"})
        more = await collect_fleet(
            accesses, site=site, secrets_from=secrets_from, deadline=left, **(how | {"want": _AGAIN})
        )
        told = joined(told, more)
    return told


def joined(first: Snapshot, more: Snapshot) -> Snapshot:
    """The first snapshot with what a later pass heard beside it."""
    later = {switch.name: switch for switch in more.switches}
    shift = (more.started - first.started).total_seconds()
    switches = [
        _both(switch, later[switch.name], shift) if switch.name in later else switch for switch in first.switches
    ]
    interrupted = more.unfinished if more.unfinished.startswith("interrupted") else ""
    return first.model_copy(
        update={"switches": switches, "finished": more.finished, "unfinished": first.unfinished or interrupted}
    )


def _both(switch: CollectedSwitch, again: CollectedSwitch, shift: float) -> CollectedSwitch:
    """The younger rows, and those older ones whose address is not among them: where it is now counts.

    A younger row without a port tells of no place, and takes none away.
    """
    report = again.report(Table.FORWARDING)
    if report.state is not switch.report(Table.FORWARDING).state:
        return switch  # read worse than before, or better by chance: the first pass stays the measure
    younger = [_later(row, shift) for row in fill(switch, again, _AGAIN).sightings]
    now, before = _by_address(younger), _by_address(switch.sightings)
    rows = [row for key in {**now, **before} for row in max(now.get(key, []), before.get(key, []), key=_tells)]
    counted = report.model_copy(update={"rows": len(rows)})
    return switch.model_copy(update={"sightings": packed(rows), "tables": {**switch.tables, Table.FORWARDING: counted}})


def _by_address(rows: Sequence[Sighting]) -> dict[tuple[str, int | None], list[Sighting]]:
    found: dict[tuple[str, int | None], list[Sighting]] = {}
    for row in rows:
        found.setdefault((row.mac, row.vlan), []).append(row)
    return found


def _tells(rows: list[Sighting]) -> tuple[bool, bool]:
    """How much the rows about one address tell: where it is, or at least that it spoke."""
    return any(row.port for row in rows), bool(rows)


def _later(row: Sighting, shift: float) -> Sighting:
    return row if row.at is None else row._replace(at=row.at + shift)
