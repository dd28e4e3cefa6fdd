"""What a person asks for beside the keys, and the plan that comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from reconcile.patchmap.edit.changes import Change


class By(StrEnum):
    """Which documented object follows where either would be true."""

    CORDS = "cords"  # the ends of cords at the switch
    DEVICES = "devices"  # the plugs of devices at their outlets


@dataclass(frozen=True, slots=True)
class Wish:
    """`at`, `name`, `macs` and `behind` say what the network does not; they are for one cause at a time.

    `off` are devices and cords (by label, or by the port that they are in) that are no longer there.
    """

    keys: tuple[str, ...] = ()
    at: str = ""
    name: str = ""
    macs: tuple[str, ...] = ()
    behind: str = ""
    off: tuple[str, ...] = ()
    by: By | None = None

    @property
    def particular(self) -> bool:
        """True when it says something that fits one cause only."""
        return bool(self.at or self.name or self.macs or self.behind)


@dataclass(slots=True)
class Plan:
    """The changes for one cause. `says` tells each in words, `mind` what is not known for certain."""

    story: str
    keys: tuple[str, ...]
    changes: list[Change] = field(default_factory=list)
    says: list[str] = field(default_factory=list)
    mind: list[str] = field(default_factory=list)
