"""One switch, asked every way that its access gives, within its time. Never raises for what a switch does."""

from __future__ import annotations

import asyncio
import logging
import time
import traceback
from collections.abc import AsyncIterator, Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from collectors.access import SwitchAccess
from collectors.contracts import Collector, Progress
from collectors.errors import CollectError
from collectors.failures import failed_as, failed_by
from collectors.merge import better, fill, lacking
from collectors.registry import Way
from collectors.sightings import packed
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table

_GRACE_SECONDS = 5.0
"""For a collector to hand over what it has when its time is up, before it is ended the hard way."""

_FIRST_SHARE = 2 / 3
"""Of the budget, for the first way where a second one waits."""

_log = logging.getLogger(__name__)

Answer = CollectedSwitch | FailedSwitch


@dataclass
class Asking:
    """What every switch of one run is asked with. Collectors are made when first needed, one per way."""

    secrets_from: Path
    want: frozenset[Table]
    makers: Mapping[Way, Callable[[], Collector]]
    progress: Progress
    zero: datetime
    """The start of the snapshot, which `at` of every row counts from."""
    _made: dict[Way, Collector] = field(default_factory=dict)

    def collector(self, way: Way) -> Collector:
        """The one collector of this run for a way."""
        if way not in self._made:
            self._made[way] = self.makers[way]()
        return self._made[way]


async def ask(access: SwitchAccess, asking: Asking) -> AsyncIterator[Answer]:
    """By SNMP first, then by SSH for the tables that SNMP lacks, where both are given. Yields the answer so far."""
    ways = ways_of(access)
    begun = time.monotonic()
    answer = await ask_one_way(access, ways[0], asking, asking.want, access.budget * (_FIRST_SHARE if ways[1:] else 1))
    for way in ways[1:]:
        want = asking.want if isinstance(answer, FailedSwitch) else lacking(answer, asking.want)
        if want:
            yield answer
            left = access.budget - (time.monotonic() - begun)
            answer = _both(answer, await ask_one_way(access, way, asking, want, max(left, 1.0)), way, want)
    yield answer.model_copy(update={"seconds": round(time.monotonic() - begun, 3)})


def ways_of(access: SwitchAccess) -> list[Way]:
    """The ways that an access gives, in the order in which they are tried."""
    given: dict[Way, object] = {"snmp": access.snmp, "ssh": access.ssh}
    return [way for way, how in given.items() if how is not None]


async def ask_one_way(access: SwitchAccess, way: Way, asking: Asking, want: frozenset[Table], seconds: float) -> Answer:
    """One way, `seconds` at most and a little grace; times of its rows count from the start of the snapshot."""
    started = datetime.now(UTC)
    asking.progress(access.name, f"asking by {way}")
    try:
        async with asyncio.timeout(seconds + _GRACE_SECONDS):
            answer = await asking.collector(way).collect(
                access.model_copy(update={"budget": seconds}),
                secrets_from=asking.secrets_from,
                want=want,
                progress=asking.progress,
            )
    except TimeoutError:
        reason = f"did not finish by {way} within its budget of {access.budget:g} s"
        return failed_as(access, started, "no answer", reason, "a larger `budget`, or look why it is so slow")
    except CollectError as error:
        return failed_by(access, started, error)
    except Exception as error:  # noqa: BLE001 - a fault in one collector costs its own switch's row, never the run
        return failed_as(access, started, "bad answer", *_fault(error, way))
    return answer if isinstance(answer, FailedSwitch) else _timed(answer, asking.zero)


def _fault(error: Exception, way: Way) -> tuple[str, str]:
    """Reason and hint for an error that no collector should let out. Its text may hold a secret: left out."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(last.filename).name}:{last.lineno}"
    _log.error("fault in the %s collector: %s at %s", way, type(error).__name__, place)
    return f"a fault of ours in the {way} collector: {type(error).__name__} at {place}", "report it with a recording"


def _both(first: Answer, second: Answer, way: Way, want: frozenset[Table]) -> Answer:
    if isinstance(second, FailedSwitch):
        told = f"{way}: {second.reason}" + (f"; try: {second.hint}" if second.hint else "")
        if isinstance(first, FailedSwitch):
            return first.model_copy(update={"reason": f"{first.reason}; {way}: {second.reason}"})
        return first.model_copy(update={"oddities": [*first.oddities, told]})
    if isinstance(first, FailedSwitch):
        oddities = [f"asked by {way} alone: {first.reason}", *second.oddities]
        return second.model_copy(update={"oddities": oddities, "started": first.started})
    return fill(first, second, better(first, second, want))


def _timed(switch: CollectedSwitch, zero: datetime) -> CollectedSwitch:
    """`at` of all rows moved to the start of the snapshot; a row without it was read by the end of its switch."""
    offset = max(0.0, (switch.started - zero).total_seconds())

    def moved(at: float | None) -> float:
        return round(offset + (switch.seconds if at is None else at), 3)

    return switch.model_copy(
        update={
            "sightings": packed([row._replace(at=moved(row.at)) for row in switch.sightings]),
            "neighbours": [row.model_copy(update={"at": moved(row.at)}) for row in switch.neighbours],
        }
    )
