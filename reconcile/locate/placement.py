"""What the placement hands over. The map is not evidence: see `Placement.map_broke_tie`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple


class PortRef(NamedTuple):
    """A port as the switch names it: the site's switch name and a `Port.name` of its snapshot."""

    switch: str
    port: str

    def __str__(self) -> str:
        return f"{self.switch}:{self.port}"


class Grade(StrEnum):
    """How sure a placement is."""

    CERTAIN = "certain"  # no other attachment fits what was observed
    CERTAIN_UNLESS = "certain unless"  # ... unless a named switch that was not asked or heard is on that wire
    PROBABLE = "probable"
    AMBIGUOUS = "ambiguous"  # several candidates; the truth is among them


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one station is attached.

    `at` is the one port for certain and probable placements, None for ambiguous ones; `candidates` are all ports
    that fit, `at` included. `because` is one clause for people; rows that prove it come from `locate.proof`.
    `behind`: what the machine calls itself that shares its port with this one, a guest of it.
    """

    mac: str
    at: PortRef | None
    grade: Grade
    candidates: Sequence[PortRef]
    because: str
    vlans: tuple[int, ...] = ()
    unless: tuple[str, ...] = ()
    map_broke_tie: bool = False
    behind: str = ""


class Uplink(NamedTuple):
    """A port that faces another switch, what is on the other side as far as known, and how we know."""

    here: PortRef
    there: PortRef | None
    peer: str  # the site's name of the peer, else what it calls itself, else ''
    source: str  # 'lldp', 'cdp', 'map', 'inferred'
    grade: Grade = Grade.CERTAIN
    carries: bool = True  # False: a spare cord of a ring, which spanning tree blocks
    is_machine: bool = False  # no switch: a machine that bridges for guests, as what is heard behind it tells


class Wire(NamedTuple):
    """Ports that cords and unmanaged equipment alone join, as far as known. Two ends or more."""

    ends: tuple[PortRef, ...]
    grade: Grade
    unless: tuple[str, ...] = ()  # switches that may be between some of these ends


@dataclass(frozen=True, slots=True)
class Located:
    """The placement of a whole snapshot. Every sighted station is in `placements` or in `unplaced`.

    `wires` are the links between switches; `shared_wires` those of them that unmanaged equipment joins, for they
    have more than two ends or stations on them. `conflicts` are contradictions in the evidence, each a sentence
    that names the stations and ports it touches.
    """

    placements: dict[str, Placement] = field(default_factory=dict)
    unplaced: dict[str, str] = field(default_factory=dict)
    uplinks: dict[PortRef, Uplink] = field(default_factory=dict)
    shared_wires: tuple[tuple[PortRef, ...], ...] = ()
    conflicts: tuple[str, ...] = ()
    wires: tuple[Wire, ...] = ()

    def on_port(self) -> dict[PortRef, list[Placement]]:
        """Placements by the port they are at; ambiguous ones are left out."""
        ports: dict[PortRef, list[Placement]] = {}
        for placement in self.placements.values():
            if placement.at is not None:
                ports.setdefault(placement.at, []).append(placement)
        return ports
