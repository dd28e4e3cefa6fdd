"""The outcome of one reconciliation: what every report renders."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from typing import Self

from pydantic import BaseModel, ConfigDict, Field

from reconcile.findings import ChannelVerdict, Finding, Verdict


class CoverageGap(BaseModel):
    """One thing that could not be looked at, and why: a switch (`table` empty) or one table of it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    switch: str
    table: str = ""
    state: str
    reason: str
    hint: str = ""


class Cause(BaseModel):
    """The smallest physical story that explains some findings, and the hand movements that would undo it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    kind: str
    story: str = Field(description="one sentence for people")
    findings: tuple[str, ...] = Field(description="keys of the findings that it explains")
    cautions: tuple[str, ...] = Field((), description="what to mind before hands touch anything")
    undo: tuple[str, ...] = Field((), description="hand movements, in order")
    sure: bool = False
    same_in_effect: tuple[str, ...] = Field((), description="other stories that no observation here tells apart")
    decides: str = Field("", description="the observation that would decide between them")


class WaivedFinding(BaseModel):
    """A finding that somebody accepted, and until when."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    finding: Finding
    until: date
    reason: str


class Result(BaseModel):
    """Everything one run found out. `SCHEMA_VERSION` of the JSON form is in `schema_version`."""

    model_config = ConfigDict(extra="forbid")

    schema_version: int = 1
    site: str = ""
    taken: datetime = Field(description="when the snapshot was finished")
    switches_asked: int = 0
    switches_answered: int = 0
    stations_seen: int = 0
    stations_placed: int = 0
    causes: list[Cause] = Field(default_factory=list)
    findings: list[Finding] = Field(default_factory=list)
    verdicts: list[ChannelVerdict] = Field(default_factory=list)
    gaps: list[CoverageGap] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list, description="conflicts and ties, for people")
    waived: list[WaivedFinding] = Field(default_factory=list, description="accepted for now; not among the findings")

    def without(self, keys: Collection[str]) -> Self:
        """The same without some findings, and without the causes that explain nothing else."""
        causes = [c for c in self.causes if not c.findings or not set(c.findings) <= set(keys)]
        return self.model_copy(update={"findings": [f for f in self.findings if f.key not in keys], "causes": causes})

    def count(self, verdict: Verdict) -> int:
        """How many documented channels have this verdict."""
        return sum(v.verdict is verdict for v in self.verdicts)

    @property
    def exit_code(self) -> int:
        """0 nothing to report, 1 drift, 3 no drift seen but not everything could be looked at."""
        if self.findings:
            return 1
        return 3 if self.gaps else 0
