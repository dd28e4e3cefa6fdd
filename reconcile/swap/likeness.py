"""How much speaks for two ports, one before and one after, being the same place. Plain points, documented here.

Stations and neighbours identify; the jack that the map has behind a port, its device and its description nearly do;
state and order only break ties. What identifies weighs more than everything that does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from collectors.snapshot import Port
from reconcile.channels import Channel, StepKind
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import fold
from reconcile.swap.look import Look

SAME_STATION = 10.0
SAME_PEER_PORT = 12.0
SAME_PEER = 6.0
SAME_JACK = 8.0
SAME_DEVICE = 6.0
SAME_DESCRIPTION = 4.0
BY_RULE = 1.5
_LINK, _VLAN, _SPEED, _POWER = 0.6, 0.4, 0.2, 0.3

STRONG = 6.0
"""Points from which evidence anchors a pair: any one kind that identifies."""


@dataclass(frozen=True)
class Traits:
    """What tells one port from another. Switch names of neighbours are the new ones already."""

    ref: PortRef
    state: Port
    up: bool
    voices: frozenset[str]
    peer: str = ""
    peer_port: PortRef | None = None
    jack: str = ""
    device: str = ""


class Likeness(NamedTuple):
    """Points of a pair: those of what identifies, those of the rest, and the clause that explains the former."""

    strong: float
    weak: float
    because: str


def traits(seen: Look, switch: str, rename: dict[str, str]) -> list[Traits]:
    """Every socket of a switch, in its own order."""
    picture = seen.picture
    found = []
    for ref in seen.sockets.get(switch, ()):
        uplink = seen.uplink(ref)
        channel = picture.channel_at.get(ref)
        peer = uplink.peer if uplink else ""
        there = uplink.there if uplink else None
        found.append(
            Traits(
                ref=ref,
                state=picture.ports[ref],
                up=seen.link_up(ref),
                voices=frozenset() if uplink else frozenset(seen.voices_at(ref)),
                peer=fold(rename.get(there.switch if there else peer, there.switch if there else peer)),
                peer_port=PortRef(rename.get(there.switch, there.switch), there.port) if there else None,
                jack=_first_jack(channel),
                device=channel.device.name if channel and channel.device else "",
            )
        )
    return found


def _first_jack(channel: Channel | None) -> str:
    """The panel jack that the cord at the switch leads to, as the map has it."""
    steps = channel.steps if channel else ()
    return next((step.label for step in steps if step.kind is StepKind.JACK), "")


def likeness(old: Traits, new: Traits) -> Likeness:
    """Points for the two ports being the same place."""
    strong, because = 0.0, []
    common = old.voices & new.voices
    if common:
        strong += SAME_STATION * (0.6 + 0.4 * len(common) / len(old.voices | new.voices))
        because.append(f"{min(common)} is on both" if len(common) == 1 else f"{len(common)} stations are on both")
    if old.peer_port and old.peer_port == new.peer_port:
        strong += SAME_PEER_PORT
        because.append(f"{old.peer_port} is on the other side of both")
    elif old.peer and old.peer == new.peer:
        strong += SAME_PEER
        because.append(f"{old.peer} is on the other side of both")
    for points, one, other, words in (
        (SAME_JACK, old.jack, new.jack, f"the map has jack {old.jack} behind both"),
        (SAME_DEVICE, old.device, new.device, f"the map has {old.device} on both"),
        (SAME_DESCRIPTION, old.state.alias, new.state.alias, f"both are described as {old.state.alias}"),
    ):
        if fold(one) and fold(one) == fold(other):
            strong += points
            because.append(words)
    return Likeness(strong, _state_points(old, new), "; ".join(because))


def _state_points(old: Traits, new: Traits) -> float:
    points = _LINK if old.up == new.up else -_LINK
    if old.state.pvid is not None and new.state.pvid is not None:
        points += _VLAN if old.state.pvid == new.state.pvid else -_VLAN
    if old.up and new.up and old.state.speed_mbps == new.state.speed_mbps:
        points += _SPEED
    if feeds(old.state) is not None and feeds(old.state) == feeds(new.state):
        points += _POWER
    return points


def feeds(port: Port) -> bool | None:
    """Whether the port delivers power now; None when the switch does not tell."""
    if port.power is None or port.power.state is None:
        return None
    return port.power.state == "deliveringPower"
