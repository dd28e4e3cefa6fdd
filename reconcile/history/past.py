"""What the history says of the findings of a run: since when, how often, whether there ever was a link."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from itertools import pairwise

from reconcile.findings import ChannelVerdict, Finding, Kind, Verdict
from reconcile.history.facts import LINK_UP, FactKind, Key
from reconcile.history.rhythm import Absence, within_rhythm
from reconcile.history.store import Book
from reconcile.history.stretches import Stretch
from reconcile.result import Result

FLAPS = 3
"""A finding that came so often is one that comes and goes ..."""

FLAP_RUNS = 14
"""... within so many runs."""


def informed(result: Result, book: Book) -> Result:
    """The same result with what the history knows. A snapshot older than the last run stays as it is."""
    last = book.last_run()
    if last is None or result.taken < last.taken:
        return result
    result = without_sleepers(result, book)
    return result.model_copy(update={"findings": with_past(result.findings, book)})


def without_sleepers(result: Result, book: Book) -> Result:
    """Withdraws dead ports whose device is away as it usually is: that is silence, not a finding.

    A dead port that a cause explains together with other findings stays: something was re-plugged.
    """
    alone = {cause.findings[0] for cause in result.causes if len(cause.findings) == 1}
    dead = [f for f in result.findings if f.kind is Kind.DEAD_PORT and f.device and f.key in alone]
    if not dead:
        return result
    channels = {(v.device, v.where.switch, v.where.port): v for v in result.verdicts}
    mine = {f.key: channels.get((f.device, f.where.switch, f.where.port)) for f in dead}
    taken = {run.number: run.taken for run in book.runs()}
    lives = _by_subject(book.stretches(FactKind.VERDICT, {v.channel for v in mine.values() if v}))
    away = {
        key: left
        for key, v in mine.items()
        if v and (left := _usual_absence(lives[v.channel], taken, result.taken)) is not None
    }
    words = {v.channel: _asleep(v, away[key]) for key, v in mine.items() if v and key in away}
    verdicts = [words.get(v.channel, v) for v in result.verdicts]
    return result.without(away).model_copy(update={"verdicts": verdicts})


def _asleep(verdict: ChannelVerdict, left: datetime) -> ChannelVerdict:
    because = f"{verdict.because}; it was last there on {left:%Y-%m-%d}, and is often away as long"
    return verdict.model_copy(update={"because": because})


def _usual_absence(life: Sequence[Stretch], taken: Mapping[int, datetime], now: datetime) -> datetime | None:
    """When the device left, if it is often away for so long; None when it is not, or never was there."""
    there = [s for s in life if s.fact.value == Verdict.CONFIRMED.value]
    if not there:
        return None
    absences = [
        Absence(taken[one.to_run], taken[other.from_run - 1])
        for one, other in pairwise(there)
        if one.to_run is not None and one.to_run in taken and other.from_run - 1 in taken
    ]
    # None: it was there in the last run that was written down, and this one is the first without it.
    left = there[-1].to_run if there[-1].to_run is not None else max(taken)
    if left not in taken:
        return None
    return taken[left] if within_rhythm(absences, Absence(taken[left], now)) else None


def with_past(findings: Iterable[Finding], book: Book) -> list[Finding]:
    """The same findings, each with what is known of it up to the last run that was written down."""
    found = list(findings)
    last = book.last_run()
    if last is None or not found:
        return found
    taken = {run.number: run.taken for run in book.runs()}
    keys = {f.key for f in found}
    lives, unlooked = (_by_subject(book.stretches(kind, keys)) for kind in (FactKind.FINDING, FactKind.UNLOOKED))
    links = _links(book, {_port(f) for f in found})
    return [
        f.model_copy(
            update={
                **_standing(lives[f.key], unlooked[f.key], last.number, taken),
                "flaps": flaps(lives[f.key], last.number),
                "port_was_up": links.get(_port(f)),
            }
        )
        for f in found
    ]


def flaps(life: Sequence[Stretch], last_run: int) -> int:
    """How often a finding came in the last FLAP_RUNS runs, when that is often; else 0. That it was there from the
    very first run on is no coming."""
    came = sum(s.from_run > max(last_run - FLAP_RUNS, 1) for s in life)
    return came if came >= FLAPS else 0


def runs_seen(standing: Stretch, unlooked: Sequence[Stretch], last_run: int) -> int:
    """In how many runs a finding was seen; those in which nobody could look are not counted."""
    blind = sum(
        (last_run if s.to_run is None else s.to_run) - s.from_run + 1
        for s in unlooked
        if s.from_run >= standing.from_run
    )
    return last_run - standing.from_run + 1 - blind


def _standing(
    life: Sequence[Stretch], unlooked: Sequence[Stretch], last_run: int, taken: Mapping[int, datetime]
) -> dict[str, object]:
    now = next((s for s in life if s.to_run is None), None)
    if now is None:
        return {"since": None, "runs": 0}
    return {"since": taken.get(now.from_run), "runs": runs_seen(now, unlooked, last_run)}


def _links(book: Book, ports: set[str]) -> dict[str, bool]:
    """For each port that the history has: was there ever a link."""
    return {
        port: any(s.fact.value.startswith(LINK_UP) for s in life)
        for port, life in _by_subject(book.stretches(FactKind.PORT, ports)).items()
    }


def _port(finding: Finding) -> str:
    return f"{finding.where.switch}:{finding.where.port}"


def _by_subject(found: Iterable[Stretch]) -> defaultdict[str, list[Stretch]]:
    lives: defaultdict[str, list[Stretch]] = defaultdict(list)
    for stretch in found:
        lives[stretch.key.subject].append(stretch)
    return lives


def open_keys(standing: Mapping[Key, Stretch], kind: FactKind) -> set[str]:
    """Subjects of what stands, of one kind."""
    return {key.subject for key in standing if key.kind is kind}
