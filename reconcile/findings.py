"""Differences between the map and the network: their kinds, evidence and stable keys; and the verdict per channel."""

from __future__ import annotations

import hashlib
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, Field


class Kind(StrEnum):
    """What a finding says. The words are the ones that reports print and waivers name."""

    UNEXPECTED_LINK = "unexpected link"  # a link where the map has nothing, and nobody identified on it
    DEAD_PORT = "dead port"  # no link where the map has a device
    SHUT_PORT = "shut port"  # the same, and the port is administratively down
    MOVED_DEVICE = "moved device"
    OTHER_DEVICE = "other device"  # another documented or unknown device in the place of this one
    UNDOCUMENTED_DEVICE = "undocumented device"
    UPLINK_ELSEWHERE = "uplink elsewhere"  # a link between switches that leads elsewhere than documented
    PORT_NOT_FOUND = "port not found"  # a documented port that the switch does not have
    SLOW_LINK = "slow link"  # slower than in its own past, or than both ends and the channel allow
    DUPLEX_MISMATCH = "duplex mismatch"  # one end runs full, the other half duplex
    RISING_ERRORS = "rising errors"  # FCS, alignment or late-collision errors since the snapshot before
    POWER_BUDGET = "power budget"  # a supply may have to refuse somebody


QUALITY = frozenset({Kind.SLOW_LINK, Kind.DUPLEX_MISMATCH, Kind.RISING_ERRORS, Kind.POWER_BUDGET})
"""Kinds that say how good a link is, not where it leads: no movement of cords in the map explains them."""


class Severity(StrEnum):
    """How much it matters tonight."""

    HIGH = "high"  # service is, or may soon be, affected
    MEDIUM = "medium"  # the record misleads whoever works from it
    LOW = "low"  # worth tidying


class Verdict(StrEnum):
    """What observation says about one documented channel."""

    CONFIRMED = "confirmed"
    CONTRADICTED = "contradicted"
    SILENT = "silent"  # looked at, and nothing to see either way
    UNCHECKED = "unchecked"  # could not look


class Evidence(NamedTuple):
    """One row that a finding rests on, in words: who said it, what, from which table."""

    switch: str
    port: str
    table: str
    says: str


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Place(_Model):
    """Where, as documented and as the switch names it. Empty strings where the map has nothing."""

    switch: str = ""
    port: str = ""
    panel: str = Field("", description="panel jack, PANEL:JACK")
    outlet: str = ""
    room: str = ""
    cord: str = Field("", description="label of the cord at the switch port")
    origin: str = Field("", description="file and row of the record")


class Finding(_Model):
    """One difference between the map and the network."""

    key: str = Field(description="stable over runs: same kind, same subject, same place")
    kind: Kind
    severity: Severity
    where: Place
    documented: str = Field(description="what the map says, one sentence")
    seen: str = Field(description="what was seen, one sentence")
    advice: str = Field(description="what to do next, one sentence")
    device: str = ""
    macs: tuple[str, ...] = ()
    moved_to: Place | None = None
    grade: str = Field("", description="grade of the placement it rests on, if any")
    evidence: tuple[Evidence, ...] = ()
    since: datetime | None = Field(None, description="the first run that saw it, where the site keeps a history")
    runs: int = Field(0, description="runs since then that saw it; 0 without a history")
    flaps: int = Field(0, description="how often it came in the last runs, when that is often")
    port_was_up: bool | None = Field(None, description="whether the history has a link at this port; null: unknown")


class ChannelVerdict(_Model):
    """The verdict on one documented channel with the sentence that explains it."""

    channel: str
    verdict: Verdict
    because: str
    device: str = ""
    where: Place = Field(default_factory=Place)


def finding_key(kind: Kind, *subject: str) -> str:
    """A short stable key such as `moved-device-3f9c2a`: the kind and a digest of what identifies the finding."""
    said = "\x1f".join(subject).casefold().encode("utf-8", "surrogatepass")  # a switch may say half a character
    digest = hashlib.sha256(said).hexdigest()[:8]
    return f"{kind.value.replace(' ', '-')}-{digest}"
