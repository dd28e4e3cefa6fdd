"""One nightly run: what is new, still there, gone. Written down in the same transaction as it is worked out."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from reconcile.findings import Finding, Kind
from reconcile.history.facts import Fact, FactKind, Key, facts_of, finding_facts, looked, switches_of
from reconcile.history.past import FLAPS, open_keys, with_past, without_sleepers
from reconcile.history.store import Book
from reconcile.history.stretches import Change
from reconcile.pipeline import Comparison
from reconcile.result import Cause, CoverageGap, Result, WaivedFinding

SEEN = (FactKind.STATION, FactKind.PORT, FactKind.VERDICT, FactKind.GAP)
Accept = Callable[[Result, Collection[str]], Result]
"""Takes accepted findings out of a result; the second argument has the keys of those that nobody could look for."""


class Night(BaseModel):
    """What one nightly run has to tell. Every finding of the night is in one of the lists, and in one only.

    `flapping` has those that came or went once more and are known to; a finding that is there every night since it
    last came is among `still`.
    """

    model_config = ConfigDict(extra="forbid")

    schema_version: int = 1
    site: str = ""
    run: int = Field(description="number of the run in the history")
    taken: datetime
    before: datetime | None = Field(None, description="when the run before was taken; null for the first")
    switches_asked: int = 0
    switches_answered: int = 0
    new: list[Finding] = Field(default_factory=list)
    still: list[Finding] = Field(default_factory=list)
    gone: list[Finding] = Field(default_factory=list)
    flapping: list[Finding] = Field(default_factory=list)
    waiting: list[Finding] = Field(default_factory=list, description="not yet seen in as many runs as asked for")
    unlooked: list[str] = Field(default_factory=list, description="keys in `still` that nobody could look for")
    causes: list[Cause] = Field(default_factory=list, description="those that explain something new")
    waived: list[WaivedFinding] = Field(default_factory=list)
    new_gaps: list[CoverageGap] = Field(default_factory=list, description="looked at in the run before, not in this")
    old_gaps: list[CoverageGap] = Field(default_factory=list)
    ended_gaps: list[str] = Field(default_factory=list, description="looked at again: a switch, or one table of it")
    notes: list[str] = Field(default_factory=list)

    @property
    def unchanged(self) -> bool:
        """True when there is nothing to tell beyond what was told before."""
        return not (self.new or self.gone or self.flapping or self.new_gaps or self.ended_gaps)

    @property
    def exit_code(self) -> int:
        """1 something new, 3 nothing new but not everything could be looked at, 0 otherwise, old findings or not."""
        if self.new:
            return 1
        return 3 if self.new_gaps or self.old_gaps else 0


@dataclass(frozen=True, slots=True)
class Patience:
    """In how many runs a finding has to be seen before it is told. By kind, else `runs`."""

    runs: int = 1
    by_kind: Mapping[Kind, int] | None = None

    def enough(self, finding: Finding) -> bool:
        """True when it was seen often enough."""
        return finding.runs >= (self.by_kind or {}).get(finding.kind, self.runs)


def live_through(
    comparison: Comparison, book: Book, *, patience: Patience, accept: Accept, now: datetime
) -> tuple[Night, Result]:
    """Enters one run into the history; what is to be told, and the result as the history and the waivers leave it."""
    before = book.last_run()
    standing = book.standing(FactKind.FINDING, FactKind.TOLD)
    result = without_sleepers(comparison.result, book)
    run = book.begin_run(result, "", now)
    seen = looked(comparison.picture, result)
    unlooked = _unlooked(standing, result, book, seen.saw_all)
    changed = book.remember(run, SEEN, facts_of(comparison.picture, result), seen.may_end)
    book.remember(run, (FactKind.FINDING, FactKind.UNLOOKED), finding_facts(result.findings, unlooked))
    book.keep_details(result.findings)
    result = result.model_copy(update={"findings": with_past(result.findings, book)})
    result = accept(result, unlooked)
    waived = {w.finding.key for w in result.waived}
    told = open_keys(standing, FactKind.TOLD) - waived
    absent = with_past(book.findings(told - {f.key for f in result.findings}).values(), book)
    lists = _sorted_out(result.findings, absent, told, unlooked, patience)
    new = {f.key for f in lists["new"]}
    night = Night(
        site=result.site,
        run=run,
        taken=result.taken,
        before=before.taken if before else None,
        switches_asked=result.switches_asked,
        switches_answered=result.switches_answered,
        waived=result.waived,
        unlooked=sorted(unlooked & told),
        notes=result.notes[len(comparison.result.notes) :],  # those that `accept` added
        causes=[cause for cause in result.causes if new & set(cause.findings)],
        **lists,
        **_gaps(result, changed),
    )
    _write_told(book, run, night)
    book.outcome(run, _outcome(night))
    return night, result


def _unlooked(
    standing: Mapping[Key, object], result: Result, book: Book, saw_all: Callable[[set[str]], bool]
) -> set[str]:
    """Former findings that are not seen, and that could not be: their switches were not read as a whole."""
    missing = {key.subject for key in standing if key.kind is FactKind.FINDING} - {f.key for f in result.findings}
    return {key for key, finding in book.findings(missing).items() if not saw_all(switches_of(finding))}


def _sorted_out(
    findings: Sequence[Finding], absent: Sequence[Finding], told: set[str], unlooked: set[str], patience: Patience
) -> dict[str, list[Finding]]:
    lists: dict[str, list[Finding]] = {"new": [], "still": [], "gone": [], "flapping": [], "waiting": []}
    for finding in findings:
        if finding.key in told:
            lists["still"].append(finding)
        elif not patience.enough(finding):
            lists["waiting"].append(finding)
        else:
            lists["flapping" if _known_to_flap(finding) else "new"].append(finding)
    for finding in absent:
        known = "flapping" if finding.flaps else "gone"
        lists["still" if finding.key in unlooked else known].append(finding)
    return lists


def _known_to_flap(finding: Finding) -> bool:
    """True when it was told before that it comes and goes; the time at which that shows is news."""
    return finding.flaps > FLAPS


def _gaps(result: Result, changed: Change) -> dict[str, list[CoverageGap] | list[str]]:
    begun = {key.subject for key, _ in changed.begun if key.kind is FactKind.GAP}
    ended = {s.key.subject for s in changed.ended if s.key.kind is FactKind.GAP} - begun
    new = [gap for gap in result.gaps if f"{gap.switch} {gap.table}".strip() in begun]
    return {"new_gaps": new, "old_gaps": [g for g in result.gaps if g not in new], "ended_gaps": sorted(ended)}


def _write_told(book: Book, run: int, night: Night) -> None:
    """A finding counts as told while it stands. One that was accepted meanwhile is told anew when that has run out."""
    standing = (*night.new, *night.still, *night.flapping)
    there = {key.subject for key in book.standing(FactKind.FINDING)}
    book.remember(run, (FactKind.TOLD,), {Key(FactKind.TOLD, f.key): Fact() for f in standing if f.key in there})


def _outcome(night: Night) -> str:
    counts = (("new", night.new), ("gone", night.gone), ("flapping", night.flapping))
    return ", ".join(f"{len(found)} {word}" for word, found in counts if found) or "nothing new"
