"""The parts of one documented channel, sorted for judging: cables, cords and couplings, copper or fibre."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache

from reconcile.channels import Channel, StepKind
from reconcile.limits import copper, fibre
from reconcile.patchmap.index import MapIndex
from reconcile.patchmap.model import Cord, FixedCable, Outlet, Panel


class Media(StrEnum):
    """What the documented parts are made of."""

    COPPER = "copper"
    FIBRE = "fibre"
    UNKNOWN = "unknown"
    MIXED = "copper and fibre"


@dataclass(frozen=True, slots=True)
class Part:
    """One part for people (`fixed cable B1`, `jack PP-A:3`) with what its row says; None where it does not."""

    name: str
    category: str | None = None  # of copper, in the form of `copper.category`
    grade: str | None = None  # of fibre, in the form of `fibre.grade`
    unreadable: str = ""  # what stands in the category column and is neither
    screened: bool | None = None
    crossed: bool | None = None
    length_m: float | None = None
    gauge_awg: int | None = None
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class Parts:
    """One channel taken apart, in its order within each list."""

    fixed: tuple[Part, ...] = ()
    cords: tuple[Part, ...] = ()
    couplings: tuple[Part, ...] = ()
    media: Media = Media.UNKNOWN
    all: tuple[Part, ...] = field(default=())
    work_area: tuple[Part, ...] = ()  # those of the cords that are plugged into an outlet

    @property
    def known_length_m(self) -> float:
        """Metres that are documented; a lower bound where a length is missing."""
        return sum(part.length_m or 0.0 for part in (*self.fixed, *self.cords))

    def lacking_length(self) -> list[str]:
        """Cables and cords without a length."""
        return [part.name for part in (*self.fixed, *self.cords) if part.length_m is None]


def parts_of(channel: Channel, index: MapIndex | None) -> Parts:
    """Takes a channel apart. `index` finds the rows of panels and outlets."""
    fixed, cords, couplings, everything, work_area = [], [], [], [], []
    last = len(channel.steps) - 1
    for number, step in enumerate(channel.steps):
        beside = channel.steps[max(number - 1, 0) : number + 2]
        if step.kind is StepKind.FIXED and isinstance(step.row, FixedCable):
            made = _part(f"fixed cable {step.label}".strip(), step.row)
            fixed.append(made)
        elif step.kind is StepKind.CORD and isinstance(step.row, Cord):
            made = _part(f"cord {step.label}".strip(), step.row)
            cords.append(made)
            if any(other.kind is StepKind.OUTLET for other in beside):
                work_area.append(made)
        elif step.kind is StepKind.CORD:
            made = Part("the cord at the device" if number >= last - 1 else "a cord without a row")
            cords.append(made)
        elif step.kind in (StepKind.JACK, StepKind.OUTLET):
            holder = index.holder(step.end.name) if index and step.end else None
            row = holder if isinstance(holder, (Panel, Outlet)) else None
            made = _part(f"jack {step.label}", row) if row else Part(f"jack {step.label}")
            couplings.append(made)
        else:
            continue
        everything.append(made)
    return Parts(tuple(fixed), tuple(cords), tuple(couplings), _media(everything), tuple(everything), tuple(work_area))


def _part(name: str, row: FixedCable | Cord | Panel | Outlet) -> Part:
    grade = fibre.grade(row.category)
    category = None if grade else copper.category(row.category)
    return Part(
        name=name,
        category=category,
        grade=grade,
        unreadable=row.category if row.category and not (grade or category) else "",
        screened=screened(row.shield),
        crossed=row.crossed,
        length_m=getattr(row, "length_m", None),
        gauge_awg=getattr(row, "gauge_awg", None),
        temperature_c=getattr(row, "temperature_c", None),
    )


@lru_cache(maxsize=1024)  # many parts, few spellings
def screened(shield: str) -> bool | None:
    """True for `F/UTP`, `S/FTP`, `STP`; False for `U/UTP`, `UTP`; None when nothing usable is said.

    The form is that of ISO/IEC 11801 annex E: overall screen, stroke, screen of each pair. `U/FTP` has screened pairs.
    """
    word = re.sub(r"\s+", "", shield.upper())
    if re.fullmatch(r"(U/)?UTP|UNSCREENED|UNSHIELDED|NO|NONE", word):
        return False
    if re.fullmatch(r"(SF|F|S|U)/(UTP|FTP)|FTP|STP|SFTP|SSTP|SCTP|SCREENED|SHIELDED|YES", word):
        return True
    return None


def _media(parts: list[Part]) -> Media:
    copper_parts = any(part.category for part in parts)
    fibre_parts = any(part.grade for part in parts)
    if copper_parts and fibre_parts:
        return Media.MIXED
    return Media.COPPER if copper_parts else Media.FIBRE if fibre_parts else Media.UNKNOWN


def grade_of(channel: Channel, index: MapIndex | None) -> str | None:
    """The category of a copper channel: that of its lowest documented part; None when no part has one."""
    return copper.lowest(part.category for part in parts_of(channel, index).all if part.category)
