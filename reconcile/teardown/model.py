"""What a teardown would do, and what it did."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from pydantic import BaseModel, ConfigDict, Field

from reconcile.patchmap.model import PatchMap
from reconcile.result import CoverageGap


class Why(StrEnum):
    """Why something goes dark."""

    ITSELF = "torn down itself"
    UNPLUGGED = "loses its own link"
    ONLY_THROUGH = "reached only through what is torn down"


class Alive(StrEnum):
    """How alive something is in the snapshot."""

    HEARD = "heard"
    LINK = "link up, not heard"
    NO_LINK = "no link"
    UNKNOWN = "could not be looked at"


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Dark(_Model):
    """One thing that goes dark. `kind` is switch, device or undocumented."""

    name: str
    kind: str
    why: Why
    through: str = Field("", description="the switch or link on which it hangs, where it is one")
    at: str = Field("", description="the switch port that it is on, SWITCH:PORT")
    room: str = ""
    alive: Alive = Alive.UNKNOWN
    last_seen: datetime | None = Field(None, description="from history, where there is one; else of the snapshot")
    macs: tuple[str, ...] = ()


class Gateway(_Model):
    """A way out of the site, and who loses the only path to any."""

    name: str
    at: str = ""
    torn_down: bool = False


class Load(_Model):
    """A port that feeds power and loses its load. Watts where the switch tells them."""

    port: str
    watts: float | None = None


class Pull(_Model):
    """One cord to pull. `link` for cords between switches, which come last."""

    cord: str = Field("", description="the label; empty for a cord without one")
    a: str
    b: str
    link: bool = False
    documented: bool = True
    mind: tuple[str, ...] = ()


class Spare(_Model):
    """What nobody uses afterwards."""

    ports: tuple[str, ...] = ()
    jacks: tuple[str, ...] = ()
    outlets: tuple[str, ...] = ()
    cords: tuple[str, ...] = ()
    cables: tuple[str, ...] = Field((), description="fixed cables with nothing patched at either end")


class TeardownPlan(_Model):
    """All of it. `pulls` are in the order in which the cords should be pulled."""

    schema_version: int = 1
    site: str = ""
    taken: datetime
    what: tuple[str, ...]
    root: str = Field("", description="from where reach is counted, and what is kept reachable until the end")
    dark: tuple[Dark, ...] = ()
    gateways: tuple[Gateway, ...] = ()
    lose_gateway: tuple[str, ...] = Field((), description="what stays up and loses its only path to a gateway")
    stays: tuple[str, ...] = Field((), description="what loses one of its links and stays up, for people")
    now_single: tuple[str, ...] = Field((), description="links between switches that have no second way any more")
    loads: tuple[Load, ...] = ()
    pulls: tuple[Pull, ...] = ()
    spare: Spare = Field(default_factory=Spare)
    ports: tuple[str, ...] = Field((), description="every switch port that loses its link")
    notes: tuple[str, ...] = ()
    gaps: tuple[CoverageGap, ...] = ()

    @property
    def more_than_asked(self) -> bool:
        """True when something goes dark that nobody named, or that the map does not know."""
        surprise = any(dark.why is Why.ONLY_THROUGH or dark.kind == UNDOCUMENTED for dark in self.dark)
        return surprise or bool(self.lose_gateway)

    @property
    def exit_code(self) -> int:
        """0 told, 1 more goes dark than was named, 3 not everything could be looked at."""
        if self.more_than_asked:
            return 1
        return 3 if self.gaps else 0


UNDOCUMENTED = "undocumented"


class KeptPlan(_Model):
    """What is kept for the check afterwards, beside the snapshot: the plan, and the map that it was made from."""

    schema_version: int = Field(1, ge=1, le=1)
    plan: TeardownPlan
    patch_map: PatchMap


class AfterCheck(_Model):
    """Whether just what was planned went dark."""

    schema_version: int = 1
    site: str = ""
    what: tuple[str, ...]
    before: datetime
    after: datetime
    as_planned: tuple[str, ...] = ()
    still_alive: tuple[str, ...] = Field((), description="planned to go dark, and seen")
    also_dark: tuple[str, ...] = Field((), description="not planned, and no longer where it was")
    unsure: tuple[str, ...] = ()
    gaps: tuple[CoverageGap, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 just this went dark, 1 not so, 3 so as far as could be looked at."""
        if self.still_alive or self.also_dark:
            return 1
        return 3 if self.unsure or self.gaps else 0
