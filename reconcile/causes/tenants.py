"""Who lives at which port by the map, and where they were heard: devices, families on one cord, links to switches."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from collectors.names import parse_mac
from reconcile.channels import Channel, Channels
from reconcile.frames import Observed
from reconcile.locate.placement import Grade, Located, PortRef
from reconcile.patchmap.model import Device, End, fold


@dataclass(slots=True)
class Tenant:
    """One row of the plan. `home` is its documented port; `ends` both ports of a link between switches."""

    devices: tuple[Device, ...]
    channel: Channel
    home: PortRef | None
    at: PortRef | None = None
    firm: bool = True
    mute: bool = False
    ends: tuple[PortRef, ...] = ()
    astray: bool = False  # heard, but nobody can tell at which of several ports

    @property
    def link(self) -> bool:
        """True for another switch."""
        return bool(self.ends)


@dataclass(frozen=True, slots=True)
class Ground:
    """Names that both halves agree on: what port a documented end means, and which ports are one (an aggregate)."""

    port_of: Mapping[tuple[str, str], PortRef]
    one_of: Mapping[PortRef, PortRef] = field(default_factory=dict)

    def meant(self, end: End | None) -> PortRef | None:
        """The port that a documented end means, the first member for an aggregate."""
        return None if end is None else self.whole(self.port_of[end.key])

    def whole(self, port: PortRef) -> PortRef:
        """The first member of the aggregate that a port is or is in, else the port."""
        return self.one_of.get(port, port)


def device_tenants(channels: Channels, observed: Observed, located: Located, ground: Ground) -> list[Tenant]:
    """A tenant for each port that the map gives to devices, and for each device that it connects to no port."""
    expected: dict[PortRef | str, list[Channel]] = defaultdict(list)
    own: dict[str, list[PortRef]] = defaultdict(list)
    for channel in channels.resolved:
        if channel.device is not None:
            port = ground.meant(channel.port or channel.behind)
            expected[port or channel.device.name].append(channel)
            if port is not None:
                own[fold(channel.device.name)].append(port)
    heard = _Hearing(observed, located, ground)
    tenants: list[Tenant] = []
    for place, family in expected.items():
        if isinstance(place, PortRef):
            tenants += _at_port(place, family, own, heard)
        elif not own[fold(place)]:
            tenants += _unconnected(family[0], heard)
    return tenants


def _at_port(
    port: PortRef, family: list[Channel], own: Mapping[str, list[PortRef]], heard: _Hearing
) -> Iterator[Tenant]:
    """The family at a port; a member heard elsewhere while others are at home is a tenant of his own."""
    devices = tuple(channel.device for channel in family if channel.device is not None)
    if len(devices) == 1 and heard.of(devices[0]) == [port]:  # nearly all of a site that is as documented
        yield Tenant(devices, family[0], port, port, heard.firm(devices[0]))
        return
    first_homes = [d for d in devices if own[fold(d.name)][0] == port]
    where = {d.name: heard.of(d) for d in devices}
    # A device with several documented ports is at home in all of them when it is heard in one.
    at_home = [d for d in devices if set(where[d.name]) & set(own[fold(d.name)])]
    away = [d for d in first_homes if d not in at_home and where[d.name]]
    tenant = Tenant(devices, family[0], port, mute=not any(d.macs for d in first_homes))
    tenant.astray = not at_home and any(heard.astray(d) for d in devices)
    if at_home or port in heard.announced(devices):
        tenant.at = port
        tenant.firm = any(heard.firm(d) for d in at_home)
        yield tenant
        yield from (_away(channel, port, heard) for channel in family if channel.device in away)
        return
    if away:
        tenant.at = Counter(p for d in away for p in where[d.name]).most_common(1)[0][0]
        tenant.firm = all(heard.firm(d) for d in away)
        left_behind = [c for c in family if c.device in away and tenant.at not in where[c.device.name]]
        yield tenant
        yield from (_away(channel, port, heard) for channel in left_behind)
        return
    yield tenant


def _away(channel: Channel, home: PortRef | None, heard: _Hearing) -> Tenant:
    assert channel.device is not None  # only channels of devices are asked for
    at = heard.of(channel.device)[0]
    return Tenant((channel.device,), channel, home, at, heard.firm(channel.device))


def _unconnected(channel: Channel, heard: _Hearing) -> Iterator[Tenant]:
    """A device that the map connects to no switch port matters only where it was heard."""
    if channel.device is not None and heard.of(channel.device):
        yield _away(channel, None, heard)


class _Hearing:
    """Where devices were heard, by their addresses or by what they announce."""

    def __init__(self, observed: Observed, located: Located, ground: Ground) -> None:
        self._placements = located.placements
        self._ground = ground
        self._names: dict[str, set[PortRef]] = defaultdict(set)
        rows = observed.neighbours
        for switch, port, name, chassis, ident in zip(
            rows["switch"], rows["port"], rows["system_name"], rows["chassis_id"], rows["port_id"], strict=True
        ):
            if port:
                ref = ground.whole(PortRef(switch, port))
                for told in (fold(name.split(".")[0]), parse_mac(chassis), parse_mac(ident)):
                    if told:
                        self._names[told].add(ref)

    def of(self, device: Device) -> list[PortRef]:
        """Ports at which its addresses were placed, the most frequent first."""
        placed = (self._placements.get(mac) for mac in device.macs)
        found = [self._ground.whole(p.at) for p in placed if p is not None and p.at is not None]
        return found if len(found) < 2 else [port for port, _ in Counter(found).most_common()]

    def firm(self, device: Device) -> bool:
        """True when one of its addresses is placed for certain."""
        placed = (self._placements.get(mac) for mac in device.macs)
        return any(p is not None and p.grade is Grade.CERTAIN for p in placed)

    def astray(self, device: Device) -> bool:
        """True when it was heard, but at one of several ports."""
        placed = (self._placements.get(mac) for mac in device.macs)
        return any(p is not None and p.at is None for p in placed)

    def announced(self, devices: Iterable[Device]) -> set[PortRef]:
        """Ports at which one of the devices announces itself."""
        told = {fold(d.name.split(".")[0]) for d in devices} | {mac for d in devices for mac in d.macs}
        return {port for name in told for port in self._names.get(name, ())}


def link_tenants(channels: Channels, located: Located, ground: Ground) -> list[Tenant]:
    """Two tenants for each documented link between switches: at either end the one that tells whether it moved.

    A link was seen where both of its ports are known by observation. When one end moved, the tenant of that end is
    heard at the new port and the other stays at home; when both differ, links were exchanged, and the end that stayed
    on its switch tells it.
    """
    seen: dict[PortRef, PortRef] = {}
    firm: set[PortRef] = set()
    for port, uplink in located.uplinks.items():
        if uplink.there is not None and uplink.source != "map":
            ends = ground.whole(port), ground.whole(uplink.there)
            seen |= {ends[0]: ends[1], ends[1]: ends[0]}
            firm |= set(ends) if uplink.grade is Grade.CERTAIN else set()
    tenants: list[Tenant] = []
    told: set[frozenset[PortRef]] = set()
    for channel in channels.resolved:
        if channel.port is None or channel.far_port is None:
            continue
        here, there = ground.meant(channel.port), ground.meant(channel.far_port)
        if here is not None and there is not None and here != there and frozenset((here, there)) not in told:
            told.add(frozenset((here, there)))
            tenants += _link(channel, min(here, there), max(here, there), seen)
    for tenant in tenants:
        tenant.firm = tenant.at in firm
    return tenants


def _link(channel: Channel, one: PortRef, other: PortRef, seen: Mapping[PortRef, PortRef]) -> list[Tenant]:
    """`seen[other]` is where the tenant of `one` was heard, and the other way round."""
    moved = [
        (end, far, at) for end, far in ((one, other), (other, one)) if (at := seen.get(far)) is not None and at != end
    ]
    ends = (one, other)
    if not moved:
        known = seen.get(one) == other
        return [Tenant((), channel, end, end if known else None, mute=not known, ends=ends) for end in ends]
    end, far, at = min(moved, key=lambda m: m[0].switch != m[2].switch)
    return [Tenant((), channel, end, at, ends=ends), Tenant((), channel, far, far, ends=ends)]
