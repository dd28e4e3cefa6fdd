"""What the history says of the speeds of ports: which are slower now than they were, and not as a habit."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from typing import NamedTuple

from collectors.snapshot import Snapshot
from reconcile.history.facts import FactKind, speed_in
from reconcile.history.rhythm import Absence, within_rhythm
from reconcile.history.store import Book, Run
from reconcile.history.stretches import Stretch
from reconcile.limits.pace import Paces, PartOfDay, Ran, part_of
from reconcile.locate.placement import PortRef


class Spell(NamedTuple):
    """One speed, Mbit/s, from one run to another, as the runs of one part of the day saw it. `runs` are their count."""

    speed_mbps: int
    first: Run
    last: Run
    runs: int


def paces_of(book: Book, snapshot: Snapshot, before: Snapshot | None = None) -> Paces:
    """Holds the speeds of a snapshot against those of earlier runs at its part of the day.

    `before` is what rules would ask instead: of ports that it shows faster, the history is asked too.
    """
    part = part_of(snapshot.finished)
    runs = [run for run in book.runs() if run.taken < snapshot.finished and part_of(run.taken) is part]
    speeds = _speeds(snapshot)
    once_faster = _once_faster(speeds, [*book.values(FactKind.PORT), *_values(before)])
    lives = _by_subject(book.stretches(FactKind.PORT, {str(port) for port in once_faster}))
    known, faster = set(), {}
    for port in once_faster:
        spells = spells_of(lives[str(port)], runs)
        if spells:
            known.add(port)
            was = fallen_from(spells, speeds[port], snapshot.finished)
            if was is not None:
                faster[port] = was
    return Paces(frozenset(known), _with_stations(faster, part, book))


def spells_of(life: Sequence[Stretch], runs: Sequence[Run]) -> list[Spell]:
    """The speeds of one port in these runs, oldest first. Runs without a link are left out, like all other runs."""
    numbers = [run.number for run in runs]
    found: list[Spell] = []
    for stretch in sorted(life, key=lambda s: s.from_run):
        speed = speed_in(stretch.fact.value)
        begin = bisect_left(numbers, stretch.from_run)
        end = bisect_right(numbers, math.inf if stretch.to_run is None else stretch.to_run)
        if speed is None or begin == end:
            continue
        if found and found[-1].speed_mbps == speed:
            former = found.pop()
            found.append(Spell(speed, former.first, runs[end - 1], former.runs + end - begin))
        else:
            found.append(Spell(speed, runs[begin], runs[end - 1], end - begin))
    return found


def fallen_from(spells: Sequence[Spell], speed: int, now: datetime) -> Spell | None:
    """The last spell that was faster than `speed`; None where there is none, and where to be slow so long is usual."""
    fast = [number for number, spell in enumerate(spells) if spell.speed_mbps > speed]
    if not fast:
        return None
    slow = [
        Absence(spells[one].last.taken, spells[other - 1].last.taken)
        for one, other in pairwise(fast)
        if other - one > 1
    ]
    was = spells[fast[-1]]
    return None if within_rhythm(slow, Absence(was.last.taken, now)) else was


def _speeds(snapshot: Snapshot) -> dict[PortRef, int]:
    """Speeds of the ports that have a link and tell it."""
    return {
        PortRef(switch.name, port.name): port.speed_mbps
        for switch in snapshot.switches
        for port in switch.ports
        if port.oper == "up" and port.speed_mbps
    }


def _values(before: Snapshot | None) -> Iterator[tuple[str, str]]:
    for port, speed in _speeds(before).items() if before else ():
        yield str(port), f"link up, {speed} Mbit/s"


def _once_faster(speeds: Mapping[PortRef, int], seen: Iterable[tuple[str, str]]) -> list[PortRef]:
    """Ports that were faster than now at any time."""
    fastest: dict[str, int] = defaultdict(int)
    for name, value in seen:
        fastest[name] = max(fastest[name], speed_in(value) or 0)
    return [port for port, speed in speeds.items() if fastest[str(port)] > speed]


def _with_stations(faster: Mapping[PortRef, Spell], part: PartOfDay, book: Book) -> dict[PortRef, Ran]:
    """Each with the stations that were placed at the port meanwhile."""
    there = _by_value(book.stretches(FactKind.STATION, values={str(port) for port in faster}))
    return {
        port: Ran(
            was.speed_mbps, was.first.taken, was.last.taken, was.runs, part, _meanwhile(there[str(port)], was)
        )
        for port, was in faster.items()
    }  # fmt: skip


def _meanwhile(stations: Collection[Stretch], was: Spell) -> frozenset[str]:
    return frozenset(
        s.key.subject
        for s in stations
        if s.from_run <= was.last.number and (s.to_run is None or s.to_run >= was.first.number)
    )


def _by_subject(found: Iterable[Stretch]) -> defaultdict[str, list[Stretch]]:
    lives: defaultdict[str, list[Stretch]] = defaultdict(list)
    for stretch in found:
        lives[stretch.key.subject].append(stretch)
    return lives


def _by_value(found: Iterable[Stretch]) -> defaultdict[str, list[Stretch]]:
    lives: defaultdict[str, list[Stretch]] = defaultdict(list)
    for stretch in found:
        lives[stretch.fact.value].append(stretch)
    return lives
