"""Reads map and network, as the rest of the project holds them, into the plan and the hearing of the core."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from collectors.names import AddressKind, address_kind
from collectors.snapshot import Port, Table
from reconcile.causes.plan import NOWHERE, Heard, Link, Plan
from reconcile.causes.sockets import is_socket_name, places_of, socket_of
from reconcile.causes.tenants import Ground, Tenant, device_tenants, link_tenants
from reconcile.channels import Channel, Channels, StepKind
from reconcile.frames import Observed
from reconcile.locate.placement import Located, PortRef
from reconcile.patchmap.index import natural
from reconcile.patchmap.model import End, fold
from reconcile.ports import PortBook

_LINK = {
    "up": Link.UP,
    "dormant": Link.UP,
    "down": Link.DOWN,
    "lowerLayerDown": Link.DOWN,
    "notPresent": Link.DOWN,
}  # ifOperStatus, RFC 2863; 'unknown' and 'testing' say nothing
_STANDS_FOR_OTHERS = (AddressKind.VIRTUAL_GATEWAY, AddressKind.CLUSTER, AddressKind.GROUP, AddressKind.NONE)


@dataclass(frozen=True, slots=True)
class Reading:
    """The core's input, and what its row numbers mean."""

    ports: Sequence[PortRef]
    tenants: Sequence[Tenant]
    channel_at: Mapping[int, Channel]
    index: Mapping[PortRef, int]
    ground: Ground
    plan: Plan
    heard: Heard

    def row(self, switch: str, port: str) -> int:
        """The row of a port, -1 for one that the core has not."""
        return self.index.get(self.ground.whole(PortRef(switch, port)), NOWHERE)


def read(channels: Channels, observed: Observed, located: Located) -> Reading:
    """Puts the columns together. Rows are in the natural order of names, whatever order the files had."""
    states, one_of = _states(observed)
    ground = Ground(_meanings(channels, observed), one_of)
    tenants = [*device_tenants(channels, observed, located, ground), *link_tenants(channels, located, ground)]
    tenants.sort(key=_name_order)
    channel_at = {port: c for c in channels.resolved if (port := ground.meant(c.port)) is not None}
    placed = (p.at for p in located.placements.values() if p.at is not None)
    wanted = {ground.whole(port) for port in (*channel_at, *placed, *located.uplinks)}
    wanted |= {port for t in tenants for port in (t.home, t.at) if port is not None}
    ports = sorted({*wanted, *states}, key=lambda ref: (natural(ref.switch), natural(ref.port), ref))
    index = {port: i for i, port in enumerate(ports)}
    absent = frozenset(port for port in ports if port not in states and port.switch in observed.coverage.answered)
    by_row = {index[port]: channel for port, channel in channel_at.items()}
    plan = _plan(ports, absent, tenants, by_row, index)
    return Reading(
        ports, tenants, by_row, index, ground, plan, _heard(ports, states, absent, tenants, observed, located, ground)
    )


def _name_order(tenant: Tenant) -> tuple[object, ...]:
    home = tenant.home or PortRef("", "")
    return natural(home.switch), natural(home.port), tenant.link, [natural(d.name) for d in tenant.devices]


def _states(observed: Observed) -> tuple[dict[PortRef, Link], dict[PortRef, PortRef]]:
    """The link state of every socket, and which sockets are one because a link aggregation joins them."""
    states: dict[PortRef, Link] = {}
    members: dict[PortRef, list[PortRef]] = defaultdict(list)
    rows = observed.ports
    types = rows["if_type"].to_numpy(dtype=np.float64, na_value=np.nan).tolist()
    for switch, port, if_type, admin, oper, aggregate in zip(
        rows["switch"].tolist(),
        rows["port"].tolist(),
        types,
        rows["admin"].tolist(),
        rows["oper"].tolist(),
        rows["aggregate"].tolist(),
        strict=True,
    ):
        if is_socket_name(port, None if np.isnan(if_type) else int(if_type)):
            ref = PortRef(switch, port)
            states[ref] = Link.SHUT if admin == "down" else _LINK.get(oper, Link.UNKNOWN)
            if aggregate:
                members[PortRef(switch, aggregate)].append(ref)
    one_of: dict[PortRef, PortRef] = {}
    for whole, parts in members.items():
        first = min(parts, key=lambda ref: socket_of(ref.port))
        states[first] = max(states[part] for part in parts)
        one_of |= dict.fromkeys([whole, *parts], first)
        for part in set(parts) - {first}:
            del states[part]
    return states, one_of


def _meanings(channels: Channels, observed: Observed) -> dict[tuple[str, str], PortRef]:
    """The port that each documented end means; one that its switch does not have keeps the documented name."""
    names: dict[str, set[str]] = defaultdict(set)
    for switch, port in zip(observed.ports["switch"].tolist(), observed.ports["port"].tolist(), strict=True):
        names[switch].add(port)
    asked_as = {fold(name): name for name in (*observed.coverage.answered, *observed.coverage.failed)}
    books: dict[str, PortBook] = {}
    found: dict[tuple[str, str], PortRef] = {}
    ends: Iterable[End | None] = (end for c in channels.resolved for end in (c.port, c.far_port, c.behind))
    for end in ends:
        if end is None or end.key in found:
            continue
        switch = asked_as.get(fold(end.name), end.name)
        name = end.position
        if name not in names[switch] and names[switch]:
            if switch not in books:
                books[switch] = _book(observed, switch)
            name = books[switch].find(name).port or name
        found[end.key] = PortRef(switch, name)
    return found


def _book(observed: Observed, switch: str) -> PortBook:
    rows = observed.ports[observed.ports["switch"] == switch]
    return PortBook(Port.model_construct(name=port, descr="", if_type=None) for port in rows["port"].tolist())


def _plan(
    ports: Sequence[PortRef],
    absent: frozenset[PortRef],
    tenants: Sequence[Tenant],
    channel_at: Mapping[int, Channel],
    index: Mapping[PortRef, int],
) -> Plan:
    places = places_of(ports, absent)
    panels: dict[str, int] = {}
    rooms: dict[str, int] = {}
    panel, jack, room = ([NOWHERE] * len(ports) for _ in range(3))
    for port, channel in channel_at.items():
        first = next((s.end for s in channel.steps if s.kind is StepKind.JACK and s.end is not None), None)
        if first is not None:
            place = socket_of(first.position)
            panel[port] = panels.setdefault(f"{fold(first.name)}:{place.card}", len(panels))
            jack[port] = place.number
        behind = next((s.room for s in reversed(channel.steps) if s.room and s.kind is not StepKind.PORT), "")
        if behind:
            room[port] = rooms.setdefault(fold(behind), len(rooms))
    return Plan(
        switch=_ints(places.switch),
        face=_ints(places.face),
        rank=_ints(places.rank),
        block=_ints(places.block),
        number=_ints(places.number),
        panel=_ints(panel),
        jack=_ints(jack),
        room=_ints(room),
        home=_ints([NOWHERE if t.home is None else index[t.home] for t in tenants]),
        mute=np.array([t.mute for t in tenants], dtype=bool),
    )


def _heard(
    ports: Sequence[PortRef],
    states: Mapping[PortRef, Link],
    absent: frozenset[PortRef],
    tenants: Sequence[Tenant],
    observed: Observed,
    located: Located,
    ground: Ground,
) -> Heard:
    index = {port: i for i, port in enumerate(ports)}
    readable = {switch: not observed.coverage.gap(switch, Table.FORWARDING) for switch in {p.switch for p in ports}}
    strangers = _strangers(tenants, located, ground)
    return Heard(
        at=_ints([NOWHERE if t.at is None else index[t.at] for t in tenants]),
        firm=np.array([t.firm for t in tenants], dtype=bool),
        link=_ints([Link.NO_PORT if port in absent else states.get(port, Link.UNKNOWN) for port in ports]),
        read=np.array([readable[port.switch] for port in ports], dtype=bool),
        strangers=_ints([strangers.get(port, 0) for port in ports]),
    )


def _strangers(tenants: Sequence[Tenant], located: Located, ground: Ground) -> dict[PortRef, int]:
    """Stations that no documented device explains, by port. Behind a device that carries others, one without an
    address, or a switch, strangers are no news."""
    known = {mac for t in tenants for d in t.devices for mac in d.macs}
    quiet: set[PortRef] = set()
    links: set[PortRef] = set()
    for t in tenants:
        if t.link or t.mute or any(d.carries for d in t.devices):
            quiet |= {port for port in (t.home, t.at) if port is not None}
        if t.link:
            links |= {port for port in (t.home, t.at) if port is not None}
    found: dict[PortRef, int] = defaultdict(int)
    for mac, placement in located.placements.items():
        if placement.at is None or mac in known or address_kind(mac) in _STANDS_FOR_OTHERS:
            continue
        port = ground.whole(placement.at)
        if port not in quiet and port not in located.uplinks:
            found[port] += 1
    for port, uplink in located.uplinks.items():
        if uplink.source != "map" and ground.whole(port) not in links:
            found[ground.whole(port)] = 1  # a switch that the map does not have there
    return found


def _ints(values: Sequence[int]) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    return np.array(values, dtype=np.int64)
