"""What the page holds: rows that refer to one another by their number, every text already harmless and bounded.

The page's script reads the same names. What is empty is left out, for a large site has ten thousand sockets.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, NamedTuple

from reconcile.findings import Verdict
from reconcile.locate.placement import PortRef
from reconcile.reports.page.fronts import Group
from reconcile.reports.page.shape import Shape


class Mark(StrEnum):
    """What is printed in a socket of a drawn front: the verdict of its channel, or how it is free."""

    OK = "ok"
    WRONG = "wrong"
    SILENT = "silent"
    UNCHECKED = "?"
    WAIVED = "waived"  # something else than in the map, and that was accepted
    NEW = "new"  # something is there that the map does not have
    FREE = "free"  # nothing documented, nothing seen
    SPARE = "spare"  # a fixed cable behind it, nothing patched
    BARE = "bare"  # nothing on either side


MARK_MEANS: Mapping[Mark, str] = {
    Mark.OK: "confirmed: the network shows what the map says",
    Mark.WRONG: "contradicted: the network shows something else",
    Mark.SILENT: "looked at, and nothing to see either way",
    Mark.UNCHECKED: "could not be looked at",
    Mark.WAIVED: "differs from the map, and was accepted until a date",
    Mark.NEW: "in use, and the map has nothing here",
    Mark.FREE: "nothing in the map, and no link",
    Mark.SPARE: "wired to a jack elsewhere, nothing patched",
    Mark.BARE: "nothing on either side in the map",
}

MARK_OF: Mapping[Verdict, Mark] = {
    Verdict.CONFIRMED: Mark.OK,
    Verdict.CONTRADICTED: Mark.WRONG,
    Verdict.SILENT: Mark.SILENT,
    Verdict.UNCHECKED: Mark.UNCHECKED,
}


class Night(NamedTuple):
    """What one earlier run saw of a port: when, and its mark then."""

    when: datetime
    mark: Mark


@dataclass(frozen=True, slots=True)
class Past:
    """What is known of earlier nights. `ports` has the last nights, oldest first; `since` when a finding, by its key,
    was first seen. Empty where no history is kept."""

    ports: Mapping[PortRef, Sequence[Night]] = field(default_factory=dict)
    since: Mapping[str, datetime] = field(default_factory=dict)


class Step(NamedTuple):
    """One step of a channel. `spot` is the number of its socket, -1 for cords, cables and devices."""

    kind: str
    label: str
    room: str = ""
    spot: int = -1
    more: str = ""


@dataclass(slots=True)
class Path:
    """One documented channel, spare cable or broken path."""

    steps: list[Step]
    mark: Mark
    because: str = ""
    record: str = ""
    findings: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Spot:
    """One socket: a port of a switch, a jack of a panel or outlet. `holder` and `paths` are numbers of rows."""

    holder: int
    name: str
    short: str
    mark: Mark = Mark.BARE
    paths: list[int] = field(default_factory=list)
    findings: list[int] = field(default_factory=list)
    link: str = ""
    since: str = ""
    stations: list[int] = field(default_factory=list)
    perhaps: list[int] = field(default_factory=list)
    heard: list[str] = field(default_factory=list)
    free: str = ""
    nights: list[tuple[str, str]] = field(default_factory=list)


@dataclass(slots=True)
class Holder:
    """A switch, a panel or an outlet plate with its sockets as they stand on its front."""

    kind: str
    name: str
    room: str = ""
    rack: str = ""
    unit: str = ""
    more: str = ""
    groups: list[Group] = field(default_factory=list)


@dataclass(slots=True)
class Station:
    """An address that was seen: whose it is, and where. `spot` -1: not placed, or at no documented switch."""

    mac: str
    maker: str = ""
    device: str = ""
    spot: int = -1
    grade: str = ""


@dataclass(slots=True)
class Difference:
    """One finding. `spot` where it is, `to` where the device is now, `path` the channel it concerns; `short` is the
    device or the port alone. One that was accepted has `until` when and the `reason`, and no cause."""

    key: str
    kind: str
    severity: str
    title: str
    short: str
    map: str
    seen: str
    advice: str
    record: str = ""
    since: str = ""
    evidence: list[str] = field(default_factory=list)
    spot: int | None = None
    to: int | None = None
    path: int | None = None
    cause: int | None = None
    until: str = ""
    reason: str = ""


@dataclass(slots=True)
class Story:
    """One cause with the findings that it explains."""

    story: str
    sure: bool
    cautions: list[str]
    undo: list[str]
    others: list[str]
    decides: str
    findings: list[int]


@dataclass(slots=True)
class Page:
    """Everything. `means` is the key to the marks; of `findings`, those that were accepted come last."""

    site: str
    taken: str
    asked: int
    answered: int
    holders: list[Holder] = field(default_factory=list)
    spots: list[Spot] = field(default_factory=list)
    paths: list[Path] = field(default_factory=list)
    stations: list[Station] = field(default_factory=list)
    findings: list[Difference] = field(default_factory=list)
    causes: list[Story] = field(default_factory=list)
    gaps: list[dict[str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    shape: Shape = field(default_factory=Shape)
    free: str = ""
    means: list[tuple[str, str]] = field(default_factory=lambda: [(m.value, text) for m, text in MARK_MEANS.items()])

    @property
    def accepted(self) -> list[int]:
        """The numbers of the findings that were accepted."""
        return [number for number, finding in enumerate(self.findings) if finding.until]


def as_script_json(page: Page) -> str:
    """JSON that can stand in a script element: no `<` is left, so neither `</script` nor `<!--` can be in it.

    HTML Living Standard, 4.12.1.3 "Restrictions for contents of script elements".
    """
    text = json.dumps(_lean(page), ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _lean(value: Any) -> Any:
    """The same without what is empty; rows stay lists in the order of their fields."""
    if is_dataclass(value):
        pairs = ((f.name, getattr(value, f.name)) for f in fields(value))
        return {name: _lean(held) for name, held in pairs if held is not None and held != "" and held != []}
    if isinstance(value, list | tuple):
        kept = list(value)
        while isinstance(value, Step) and len(kept) > 2 and kept[-1] in ("", -1):
            kept.pop()
        return [_lean(held) for held in kept]
    return value
