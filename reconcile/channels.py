"""Follows cords, jacks and fixed cables from end to end: a resolved channel, or a broken one with its reason.

A channel (ISO/IEC 11801) is the whole path from a switch port, through cords, jacks and fixed cables, to a device
or to another port.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from reconcile.patchmap.model import Cord, Device, End, FixedCable, Origin


class StepKind(StrEnum):
    """What one step of a channel is."""

    PORT = "port"  # of a switch
    CORD = "cord"
    JACK = "jack"  # of a panel
    FIXED = "fixed cable"
    OUTLET = "outlet"  # a jack of an outlet plate
    DEVICE = "device"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a channel. `label` is what a person reads on it; `end` the place, for steps that are places."""

    kind: StepKind
    label: str
    end: End | None = None
    room: str = ""
    origin: Origin = field(default_factory=Origin)
    row: Cord | FixedCable | Device | None = None


@dataclass(frozen=True, slots=True)
class Channel:
    """One documented path. `port` is the switch port it starts at; None when the path reaches no switch.

    Exactly one of `device`, `far_port` and `open_end` says how it ends. A channel between two switches is listed
    once for each of its two ports.
    """

    port: End | None
    steps: tuple[Step, ...]
    device: Device | None = None
    far_port: End | None = None
    open_end: End | None = None

    @property
    def key(self) -> str:
        """Stable name: its switch port, else its device or open end."""
        first = self.port or (self.device.name if self.device else self.open_end)
        return str(first)

    def __str__(self) -> str:
        return " - ".join(step.label for step in self.steps)


@dataclass(frozen=True, slots=True)
class BrokenChannel:
    """A path that cannot be followed to an end: as far as it goes, and why it stops."""

    steps: tuple[Step, ...]
    reason: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Channels:
    """Every documented path. Look-ups use the folded key of an `End`, or the folded device name."""

    resolved: tuple[Channel, ...]
    broken: tuple[BrokenChannel, ...] = ()
    by_port: dict[tuple[str, str], Channel] = field(default_factory=dict)
    by_device: dict[str, Channel] = field(default_factory=dict)
