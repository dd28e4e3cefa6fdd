"""Map and network side by side: the one thing that verdicts and rules read."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from collectors.names import parse_mac
from collectors.snapshot import Neighbour, Port, Snapshot
from reconcile.channels import Channel, Channels, StepKind
from reconcile.findings import Place
from reconcile.frames import Coverage
from reconcile.limits.values import DEFAULT_LIMITS, Limits
from reconcile.locate.placement import Grade, Located, Placement, PortRef, Uplink
from reconcile.matching import Matching
from reconcile.patchmap.model import Device, End, PatchMap
from reconcile.recalled import NOTHING, Recalled


@dataclass(frozen=True, slots=True)
class Picture:
    """Look-ups over one map and one snapshot. Ports are named as their switch names them.

    `channel_at` has the documented channel of each observed port. `maybe_at` has, by candidate port, the stations
    that could be at several. `announced_at` has the one port at which an address names itself as the neighbour.
    `before` is an earlier snapshot, for what only a difference tells; `recalled` what the history adds;
    `limits` what links are measured by.
    """

    patch_map: PatchMap
    channels: Channels
    snapshot: Snapshot
    located: Located
    coverage: Coverage
    ports: Mapping[PortRef, Port]
    neighbours: Mapping[PortRef, tuple[Neighbour, ...]]
    announced_at: Mapping[str, PortRef]
    channel_at: Mapping[PortRef, Channel]
    matching: Matching
    device_of: Mapping[str, Device]
    stations_at: Mapping[PortRef, tuple[Placement, ...]]
    maybe_at: Mapping[PortRef, tuple[Placement, ...]]
    aggregate_of: Mapping[PortRef, PortRef]
    members_of: Mapping[PortRef, tuple[PortRef, ...]]
    before: Snapshot | None = None
    recalled: Recalled = NOTHING
    limits: Limits = DEFAULT_LIMITS

    def port_of(self, end: End | None) -> PortRef | None:
        """The observed port that a documented end names, if its switch answered and has it."""
        return self.matching.port_of(end)

    def switch_of(self, end: End) -> str:
        """The name under which the switch of a documented end was asked, else its documented name."""
        return self.matching.switch_of(end)

    def group(self, port: PortRef) -> PortRef:
        """The aggregate that the port is a member of, else the port: tables name only the aggregate."""
        return self.aggregate_of.get(port, port)

    def same_place(self, one: PortRef, other: PortRef) -> bool:
        """True when no forwarding table could tell the two ports apart."""
        return self.group(one) == self.group(other)

    def stations(self, port: PortRef) -> tuple[Placement, ...]:
        """Stations placed at the port or at the aggregate that it is a member of."""
        return self.stations_at.get(self.group(port), ())

    def channels_at(self, port: PortRef) -> list[Channel]:
        """Documented channels at the port; for an aggregate those at its members."""
        own = [self.channel_at[port]] if port in self.channel_at else []
        return own + [self.channel_at[m] for m in self.members_of.get(port, ()) if m in self.channel_at]

    def uplink(self, port: PortRef) -> Uplink | None:
        """What the network itself says of a switch on the other side; a hint taken from the map does not count."""
        found = self.located.uplinks.get(port) or self.located.uplinks.get(self.group(port))
        return found if found and found.source != "map" else None

    def faces_switch(self, port: PortRef) -> bool:
        """True when another switch is on this port, by observation or, where nothing was observed, by the map."""
        return self.faces_switch_by_observation(port) or any(c.far_port is not None for c in self.channels_at(port))

    def faces_switch_by_observation(self, port: PortRef) -> bool:
        """True when the network itself shows another switch on this port."""
        return self.uplink(port) is not None

    def devices_at(self, port: PortRef) -> list[Device]:
        """Devices documented at the port."""
        return [channel.device for channel in self.channels_at(port) if channel.device is not None]

    def place(self, port: PortRef | None, channel: Channel | None = None) -> Place:
        """Where a port is, with what the map says of the way there."""
        if channel is None and port is not None:
            channel = self.channel_at.get(port)
        documented = channel.port if channel else None
        return Place(
            switch=port.switch if port else (self.switch_of(documented) if documented else ""),
            port=port.port if port else (documented.position if documented else ""),
            panel=_first(channel, StepKind.JACK),
            outlet=_first(channel, StepKind.OUTLET),
            room=next((s.room for s in reversed(channel.steps) if s.room), "") if channel else "",
            cord=_first(channel, StepKind.CORD),
            origin=_origin(channel),
        )


def draw(
    patch_map: PatchMap,
    channels: Channels,
    snapshot: Snapshot,
    matching: Matching,
    located: Located,
    coverage: Coverage,
    *,
    before: Snapshot | None = None,
    recalled: Recalled = NOTHING,
    limits: Limits = DEFAULT_LIMITS,
) -> Picture:
    """Indexes everything once."""
    ports = {PortRef(s.name, p.name): p for s in snapshot.switches for p in s.ports}
    aggregate_of = {ref: PortRef(ref.switch, p.aggregate) for ref, p in ports.items() if p.aggregate}
    neighbours = _neighbours(snapshot)
    documented = ((matching.port_of(c.port), c) for c in channels.resolved)
    return Picture(
        patch_map=patch_map,
        channels=channels,
        snapshot=snapshot,
        located=located,
        coverage=coverage,
        ports=ports,
        neighbours=neighbours,
        announced_at=_announced_at(neighbours),
        channel_at={port: channel for port, channel in documented if port is not None},
        matching=matching,
        device_of={mac: device for device in reversed(patch_map.devices) for mac in device.macs},
        stations_at={port: tuple(found) for port, found in located.on_port().items()},
        maybe_at=_maybe_at(located),
        aggregate_of=aggregate_of,
        members_of=_members(aggregate_of),
        before=before,
        recalled=recalled,
        limits=limits,
    )


def _neighbours(snapshot: Snapshot) -> dict[PortRef, tuple[Neighbour, ...]]:
    found: dict[PortRef, list[Neighbour]] = defaultdict(list)
    for switch in snapshot.switches:
        for neighbour in switch.neighbours:
            if neighbour.port is not None:
                found[PortRef(switch.name, neighbour.port)].append(neighbour)
    return {port: tuple(rows) for port, rows in found.items()}


def _announced_at(neighbours: Mapping[PortRef, tuple[Neighbour, ...]]) -> dict[str, PortRef]:
    """Addresses that a neighbour gives as its own on one port only. No bridge passes LLDP on (IEEE 802.1Q table 8-1),
    so such a neighbour is on that wire, whatever forwarding tables remember."""
    found: dict[str, set[PortRef]] = defaultdict(set)
    for port, rows in neighbours.items():
        for said in (said for row in rows for said in (row.chassis_id, row.port_id)):
            mac = parse_mac(said)
            if mac:
                found[mac].add(port)
    return {mac: next(iter(ports)) for mac, ports in found.items() if len(ports) == 1}


def _maybe_at(located: Located) -> dict[PortRef, tuple[Placement, ...]]:
    found: dict[PortRef, list[Placement]] = defaultdict(list)
    for placement in located.placements.values():
        if placement.grade is Grade.AMBIGUOUS:
            for port in placement.candidates:
                found[port].append(placement)
    return {port: tuple(rows) for port, rows in found.items()}


def _members(aggregate_of: Mapping[PortRef, PortRef]) -> dict[PortRef, tuple[PortRef, ...]]:
    members: dict[PortRef, list[PortRef]] = defaultdict(list)
    for member, group in aggregate_of.items():
        members[group].append(member)
    return {group: tuple(found) for group, found in members.items()}


def _origin(channel: Channel | None) -> str:
    """The row that a person would correct: that of the cord at the switch, else of the device, else of any step."""
    ranks = {StepKind.CORD: 0, StepKind.DEVICE: 1}
    steps = [s for s in channel.steps if s.origin.row is not None] if channel else []
    return str(min(steps, key=lambda s: ranks.get(s.kind, 2)).origin) if steps else ""


def _first(channel: Channel | None, kind: StepKind) -> str:
    steps: Iterable[str] = (s.label for s in channel.steps if s.kind is kind) if channel else ()
    return next(iter(steps), "")
