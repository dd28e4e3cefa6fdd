"""Questions to the history: what changed in each run; where something was, and from when to when."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from reconcile.findings import Finding
from reconcile.history.facts import FactKind
from reconcile.history.store import Book, Run
from reconcile.history.stretches import Stretch

_SHOWN = (FactKind.FINDING, FactKind.STATION, FactKind.PORT, FactKind.VERDICT, FactKind.GAP)

_OF_ONE_THING = (FactKind.STATION, FactKind.PORT, FactKind.VERDICT, FactKind.FINDING)


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Changed(_Model):
    """One thing that a run found otherwise than the run before. Empty: it was not so, or is no longer."""

    kind: str
    subject: str
    before: str = ""
    after: str = ""


class RunStory(_Model):
    """One run and what changed in it. The first run has nothing to differ from."""

    run: int
    taken: datetime
    outcome: str
    switches_asked: int
    switches_answered: int
    stations: int
    findings: int
    gaps: int
    confirmed: int
    changes: tuple[Changed, ...] = ()


class Runs(_Model):
    """The answer to `history`: runs, oldest first."""

    runs: tuple[RunStory, ...]


class Lived(_Model):
    """Something that was so for a while. `until` is the last run that saw it; null while it still is so."""

    kind: str
    subject: str
    value: str = ""
    since: datetime | None = Field(description="the first run that saw it; null when that run was forgotten")
    until: datetime | None = None
    still: bool = False


class Life(_Model):
    """The answer to `history WHAT`, oldest first."""

    what: str
    lived: tuple[Lived, ...]


def run_stories(book: Book, last: int) -> Runs:
    """The last runs, each with its changes."""
    runs = book.runs(last)
    if not runs:
        return Runs(runs=())
    changes = _changes(book, max(runs[0].number, 2))
    return Runs(runs=tuple(_story(run, changes.get(run.number, ())) for run in runs))


def _story(run: Run, changes: Iterable[Changed]) -> RunStory:
    fields = run._asdict()
    del fields["stored"]
    return RunStory(run=fields.pop("number"), changes=tuple(changes), **fields)


def _changes(book: Book, first: int) -> Mapping[int, list[Changed]]:
    """What changed, by run. An end and a beginning of the same thing in one run are one change."""
    before: dict[tuple[int, str, str], str] = {}
    after: dict[tuple[int, str, str], str] = {}
    for s in book.changed_since(first):
        if s.key.kind in _SHOWN:
            after[s.from_run, s.key.kind.value, s.key.subject] = s.fact.value
            if s.to_run is not None:
                before[s.to_run + 1, s.key.kind.value, s.key.subject] = s.fact.value
    order = {kind.value: at for at, kind in enumerate(_SHOWN)}
    found: dict[int, list[Changed]] = defaultdict(list)
    keys = [key for key in before.keys() | after.keys() if key[0] >= first]
    for run, kind, subject in sorted(keys, key=lambda key: (key[0], order[key[1]], key[2])):
        was, now = before.get((run, kind, subject)), after.get((run, kind, subject))
        found[run].append(Changed(kind=kind, subject=subject, before=_word(kind, was), after=_word(kind, now)))
    return found


def _word(kind: str, value: str | None) -> str:
    """A finding has no value; it is there or not."""
    if value is None:
        return ""
    return value or ("there" if kind == FactKind.FINDING else "")


def life_of(what: str, book: Book, *, macs: Iterable[str], ports: Iterable[str], channels: Iterable[str]) -> Life:
    """Everything that the history has on these addresses, ports (SWITCH:PORT) and channels."""
    addresses, places = set(macs), set(ports)
    found = {
        *book.stretches(FactKind.STATION, addresses),
        *book.stretches(FactKind.STATION, values=places),
        *book.stretches(FactKind.PORT, places),
        *book.stretches(FactKind.VERDICT, set(channels)),
        *book.stretches(FactKind.FINDING, {f.key for f in book.findings().values() if _about(f, addresses, places)}),
    }
    return _life(what, found, book)


def life_of_finding(key: str, book: Book) -> Life:
    """When a finding was there."""
    return _life(key, book.stretches(FactKind.FINDING, {key}), book)


def was_heard(mac: str, book: Book) -> bool:
    """True when the history knows the address, whatever the map and the last snapshot say."""
    return bool(book.stretches(FactKind.STATION, {mac}))


def _about(finding: Finding, macs: set[str], ports: set[str]) -> bool:
    places = [finding.where, *([finding.moved_to] if finding.moved_to else [])]
    return bool(macs & set(finding.macs)) or any(f"{p.switch}:{p.port}" in ports for p in places)


def _life(what: str, found: Iterable[Stretch], book: Book) -> Life:
    taken = {run.number: run.taken for run in book.runs()}
    ordered = sorted(found, key=lambda s: (_OF_ONE_THING.index(s.key.kind), s.key.subject, s.from_run))
    return Life(what=what, lived=tuple(_lived(ordered, taken, book)))


def _lived(found: list[Stretch], taken: Mapping[int, datetime], book: Book) -> Iterator[Lived]:
    findings = book.findings({s.key.subject for s in found if s.key.kind is FactKind.FINDING})
    for s in found:
        kind = findings[s.key.subject].kind.value if s.key.subject in findings else ""
        yield Lived(
            kind=s.key.kind.value,
            subject=s.key.subject,
            value=s.fact.value or kind,
            since=taken.get(s.from_run),
            until=None if s.to_run is None else taken.get(s.to_run),
            still=s.to_run is None,
        )
