"""The map is right, the wiring must follow: the hand movements that undo the drift, in the order to do them.

What to move is what the causes say; here their sentences become rows of cord, from and to. Uplinks come last: while a
link between switches is out, nobody can look whether the rest is right.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from reconcile.causes.plain import place_words
from reconcile.findings import QUALITY, Finding, Kind, Severity
from reconcile.limits.values import DEFAULT_LIMITS, Limits
from reconcile.limits.waits import before_asking_again
from reconcile.result import Cause, Result


class Movement(BaseModel):
    """One thing to do with the hands. `here` or `there` is empty where the cord waits in the hand."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    do: str = Field(description="what to do, one sentence")
    what: str = Field("", description="the cord or device in the hand")
    here: str = Field("", description="where it is now")
    there: str = Field("", description="where it belongs")


class Job(BaseModel):
    """The movements of one cause, to be done together. `number` is that of the cause in `toneout reconcile`."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    number: int
    story: str
    sure: bool
    link: bool = Field(description="a link between switches: left for last")
    cautions: tuple[str, ...] = Field((), description="what to mind before anything is touched")
    movements: tuple[Movement, ...] = ()
    instead: str = Field("", description="why no hand can help, where that is so")
    decides: str = Field("", description="what tells whether the story is true, where it is not sure")
    findings: tuple[str, ...] = ()


class Todo(BaseModel):
    """Everything there is to do, in order."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    schema_version: int = 1
    site: str = ""
    taken: datetime
    jobs: tuple[Job, ...] = ()
    unlooked: int = Field(0, description="things that could not be looked at")
    wait_seconds: int = Field(0, description="after the last movement, before the switches are asked again")

    @property
    def to_do(self) -> tuple[Job, ...]:
        """Jobs for hands."""
        return tuple(job for job in self.jobs if job.movements)

    @property
    def exit_code(self) -> int:
        """0 nothing to do, 1 something, 3 nothing as far as could be looked at."""
        if self.jobs:
            return 1
        return 3 if self.unlooked else 0


def todo(result: Result, limits: Limits = DEFAULT_LIMITS) -> Todo:
    """The list for one run. How good a link is (slow, errors) is no wrong wiring and is left out."""
    found = {finding.key: finding for finding in result.findings}
    jobs = []
    for number, cause in enumerate(result.causes, 1):
        findings = [found[key] for key in cause.findings if key in found and found[key].kind not in QUALITY]
        if findings:
            jobs.append(_job(number, cause, findings))
    jobs.sort(key=lambda job: (job.link, not job.movements))
    return Todo(
        site=result.site,
        taken=result.taken,
        jobs=tuple(jobs),
        unlooked=len(result.gaps),
        wait_seconds=before_asking_again(limits),
    )


def _job(number: int, cause: Cause, findings: list[Finding]) -> Job:
    link = any(f.kind is Kind.UPLINK_ELSEWHERE or f.severity is Severity.HIGH for f in findings)
    instead = _INSTEAD.get(cause.kind, "")
    return Job(
        number=number,
        story=cause.story,
        sure=cause.sure,
        link=link,
        cautions=cause.cautions,
        movements=() if instead else tuple(_movements(cause.undo, findings)),
        instead=instead,
        decides="" if cause.sure else cause.decides,
        findings=cause.findings,
    )


_INSTEAD: Mapping[str, str] = {
    "renumbered": "nothing to re-plug: the ports have other names; toneout adopt writes them into the map",
    "port name": "no hand can help: the port is not there; toneout adopt KEY --at SWITCH:PORT corrects the map",
}

_FORMS = tuple(
    re.compile(form)
    for form in (
        r"pull (?P<what>.+) from (?P<here>.+) and hold it",
        r"move (?P<what>.+) from (?P<here>.+?) (?:back )?to (?P<there>.+)",
        r"plug (?P<what>.+?) into (?P<there>.+)",
        r"plug (?P<what>.+?) back in (?P<there>behind .+)",
        r"(?:carry|bring) (?P<what>.+?) back to (?P<there>.+)",
    )
)
"""How the sentences of `causes/telling*.py` and `causes/plain.py` are built that move something."""

_INTO_THE_MAP = re.compile(r", or write .+ into the map\Z")
"""The other direction, which a sentence of a cause leaves open."""


def _movements(steps: Iterable[str], findings: list[Finding]) -> Iterator[Movement]:
    by_kind = {finding.kind: finding for finding in reversed(findings)}
    lead = next((by_kind[kind] for kind in _STANDING_ALONE if kind in by_kind), None)
    if lead is not None and not any(f.kind in (Kind.MOVED_DEVICE, Kind.UPLINK_ELSEWHERE) for f in findings):
        yield _alone(lead)
        return
    for step in steps:
        do = _INTO_THE_MAP.sub("", step)
        parts = next((found for form in _FORMS if (found := form.fullmatch(do))), None)
        words = parts.groupdict() if parts else {}
        here = words.get("here") or (_now(findings) if parts and "back" in do else "")
        yield Movement(do=do, what=words.get("what", ""), here=here, there=words.get("there", ""))


def _now(findings: list[Finding]) -> str:
    """Where a device that is carried back is now."""
    moved = next((f.moved_to for f in findings if f.moved_to is not None), None)
    return place_words(moved) if moved else ""


_STANDING_ALONE = (
    Kind.OTHER_DEVICE,
    Kind.DEAD_PORT,
    Kind.SHUT_PORT,
    Kind.UNDOCUMENTED_DEVICE,
    Kind.UNEXPECTED_LINK,
)
"""Kinds of findings whose causes leave both directions open in one sentence; the gravest first."""


def _alone(finding: Finding) -> Movement:
    """What the map being right asks for where nothing was moved."""
    at, who = place_words(finding.where), finding.device or "what the map has there"
    macs = ", ".join(finding.macs[:3])
    match finding.kind:
        case Kind.OTHER_DEVICE:
            return Movement(do=f"take out what is there ({macs}), and put {who} back", what=who, there=at)
        case Kind.DEAD_PORT:
            return Movement(do=f"find {who}, switch it on, and seat its cord at both ends", what=who, there=at)
        case Kind.SHUT_PORT:
            return Movement(do=f"ask who shut {at} on the switch, and have it opened for {who}")
        case Kind.UNDOCUMENTED_DEVICE:
            return Movement(do="find out whose it is, then pull its cord", what=f"the cord of {macs}", here=at)
        case _:
            return Movement(do="follow the cord, find out whose it is, then pull it", what="the cord", here=at)
