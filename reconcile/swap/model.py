"""What a check after a swap says: what is left, what cannot be told yet, and which ports correspond."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from pydantic import BaseModel, ConfigDict, Field

from reconcile.result import CoverageGap


class Trouble(StrEnum):
    """What is not as it was. The order is that of the report, most disruptive first."""

    MISSING = "missing"
    MOVED = "moved"
    NO_POWER = "lost its power"
    OTHER_VLAN = "other VLAN"
    UNBUNDLED = "left its aggregation"
    SLOWER = "slower"
    EXTRA = "extra"


class Weight(StrEnum):
    """How many depend on it, most first."""

    LINK = "link between switches"
    CARRIER = "carries others"
    SINGLE = "single device"


class Certainty(StrEnum):
    """How sure the correspondence of two ports is."""

    GIVEN = "given"  # by a person, in the file
    CERTAIN = "certain"  # the same stations or neighbours, and no other pairing comes near
    PROBABLE = "probable"  # the best pairing by order and state alone, or by weaker evidence
    OPEN = "open"  # another pairing fits as well


IDLE = "both without link"
"""The end of the reason for pairs that nobody is on."""


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Left(_Model):
    """One thing that is still to do. Ports are written SWITCH:PORT; empty where there is none."""

    trouble: Trouble
    weight: Weight
    subject: str = Field(description="the device, the link or the stations, for people")
    was_at: str = ""
    belongs_at: str = Field("", description="the matching port now")
    now_at: str = ""
    says: str = Field(description="what was seen, one sentence")
    do: str = Field(description="what to do, one sentence")
    macs: tuple[str, ...] = ()


class Unsure(_Model):
    """One thing that was there and of which nothing can be said yet."""

    subject: str
    weight: Weight
    was_at: str
    belongs_at: str = ""
    because: str


class PortPair(_Model):
    """One old port and the new one that stands for it; `new` is empty where none does."""

    old: str
    new: str
    certainty: Certainty
    because: str


class SwitchPair(_Model):
    """One switch before and after: what became of its ports."""

    old: str
    new: str
    orders: tuple[str, ...] = Field((), description="what the pairing amounts to, such as 'unit 2 became 3'")
    pairs: tuple[PortPair, ...] = ()


class SwapCheck(_Model):
    """All of it. `left` is in the order in which it should be done."""

    schema_version: int = 1
    site: str = ""
    before: datetime
    after: datetime
    map_changed: bool = Field(False, description="the patch map is not the one that was there at the start")
    watched: int = Field(description="links and devices that were there before")
    back: int = 0
    left: tuple[Left, ...] = ()
    unsure: tuple[Unsure, ...] = ()
    switches: tuple[SwitchPair, ...] = Field((), description="switches whose ports had to be paired anew")
    gaps: tuple[CoverageGap, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 nothing moved, 1 something is left, 3 nothing is left as far as could be looked at."""
        if self.left:
            return 1
        return 3 if self.unsure or self.gaps else 0
