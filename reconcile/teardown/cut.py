"""Which documented paths are cut, and which switch ports lose their link."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reconcile.channels import Channel, Step, StepKind
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import Cord, Device, End, FixedCable, fold
from reconcile.swap.look import Look
from reconcile.teardown.scope import Scope


@dataclass(frozen=True)
class Cut:
    """`channels` that are cut, `ports` that lose their link, `switches` that are torn down (as they were asked)."""

    channels: tuple[Channel, ...]
    ports: frozenset[PortRef]
    switches: frozenset[str]
    devices: frozenset[str]


def cut(scope: Scope, seen: Look) -> Cut:
    """Follows every documented path through what is torn down; a device is unplugged where it really is."""
    picture = seen.picture
    channels = [c for c in (*picture.channels.resolved, *picture.channels.spare) if is_cut(c, scope)]
    ends = [end for c in channels for end in (c.port, c.far_port)]
    ports = set(scope.ports) | {port for end in ends if (port := picture.port_of(end))}
    devices = frozenset(d.name for d in picture.patch_map.devices if fold(d.name) in scope.holders)
    for device in picture.patch_map.devices:
        if device.name in devices:
            ports |= {port for port in _own_ports(device, seen) if not _shared(port, device, seen)}
    documented = {picture.switch_of(End(s.name)) for s in picture.patch_map.switches if fold(s.name) in scope.holders}
    far = {uplink.there for port in ports if (uplink := seen.uplink(port)) and uplink.there}
    far &= set(picture.ports)  # the other plug of a link between switches
    return Cut(tuple(channels), frozenset(ports | far), frozenset(documented), devices)


def is_cut(channel: Channel, scope: Scope) -> bool:
    """True when any step of the path is torn down. A device behind another one on the path is no step of it."""
    return any(scope.has(step.end) or _labelled(step, scope) for step in channel.steps)


def _labelled(step: Step, scope: Scope) -> bool:
    return step.kind in (StepKind.CORD, StepKind.FIXED) and bool(step.label) and fold(step.label) in scope.labels


def _own_ports(device: Device, seen: Look) -> Iterator[PortRef]:
    for mac in device.macs:
        yield from (port for port in seen.heard_at.get(mac, ()) if seen.uplink(port) is None)


def _shared(port: PortRef, device: Device, seen: Look) -> bool:
    """True when the device is behind another one there (a PC on a telephone): the port keeps its link."""
    return any(other.carries and other.name != device.name for other in seen.picture.devices_at(port))


def cords_of(channel: Channel, scope: Scope) -> list[tuple[Step, End, End]]:
    """Cords of a cut path that have to be pulled, with both their ends.

    All of them where the far end or a link between switches goes: nothing would be left on the path. Else those that
    touch what is torn down: the device's own lead stays in its outlet.
    """
    found = []
    for at, step in enumerate(channel.steps):
        if step.kind is not StepKind.CORD:
            continue
        a, b = (_end(channel.steps, at - 1), _end(channel.steps, at + 1))
        if a is None or b is None:
            continue
        if (
            _useless(channel, scope)
            or scope.has(a)
            or scope.has(b)
            or _labelled(step, scope)
            or _cable_beside(channel.steps, at, scope)
        ):
            found.append((step, a, b))
    return found


def _end(steps: tuple[Step, ...], at: int) -> End | None:
    return steps[at].end if 0 <= at < len(steps) else None


def _useless(channel: Channel, scope: Scope) -> bool:
    ends = (step.end for step in channel.steps if step.kind in (StepKind.OUTLET, StepKind.DEVICE))
    return channel.far_port is not None or any(scope.has(end) for end in ends)


def _cable_beside(steps: tuple[Step, ...], at: int, scope: Scope) -> bool:
    """True when the cord leads straight to a fixed cable that is torn down."""
    return any(0 <= near < len(steps) and _labelled(steps[near], scope) for near in (at - 2, at + 2))


def label_of(step: Step) -> str:
    """What is written on a cord; a device's own lead has no row of its own."""
    if isinstance(step.row, Device):
        return f"own lead of {step.row.name}"
    return step.label if isinstance(step.row, Cord | FixedCable) else ""
