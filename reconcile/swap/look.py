"""One map and one snapshot as a picture: the part of the flow that comes before verdicts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import pandas as pd

from collectors.names import AddressKind, address_kind, int_to_mac
from collectors.snapshot import Snapshot
from reconcile.channels import resolve
from reconcile.frames import observe
from reconcile.locate import locate
from reconcile.locate.placement import Grade, PortRef, Uplink
from reconcile.matching import documented_links, match_ports
from reconcile.patchmap.model import PatchMap, fold
from reconcile.picture import Picture, draw
from reconcile.ports import is_socket


class GatewayRow(NamedTuple):
    """A forwarding table's row about a virtual gateway address (VRRP, RFC 9568, and its kin). `port` may be ''."""

    switch: str
    port: str
    mac: str
    status: str  # `self` where the switch answers for the address


@dataclass(frozen=True)
class Look:
    """A picture with the look-ups that comparing two of them needs.

    `heard_at` has the ports of each voice: a placed station's address, or what a neighbour calls itself.
    `perhaps_at` has the candidates of stations that could be at several ports; `devices` are folded names.
    """

    picture: Picture
    sockets: dict[str, tuple[PortRef, ...]]
    devices: frozenset[str]
    heard_at: dict[str, set[PortRef]] = field(default_factory=dict)
    perhaps_at: dict[str, set[PortRef]] = field(default_factory=dict)
    gateway_rows: tuple[GatewayRow, ...] = ()

    def uplink(self, port: PortRef) -> Uplink | None:
        """The switch that the network shows on this port. A documented device that calls itself a bridge (a server
        with guests) is a device all the same."""
        found = self.picture.uplink(port)
        return None if found and found.there is None and fold(found.peer) in self.devices else found

    def link_up(self, port: PortRef) -> bool:
        """True when the port says that it has link."""
        state = self.picture.ports.get(port)
        return state is not None and state.oper in ("up", "dormant")

    def voices_at(self, port: PortRef) -> set[str]:
        """Everybody heard at the port, or at the aggregate that it is a member of."""
        stations = {placement.mac for placement in self.picture.stations(port)}
        return stations | {voice_of(n.chassis_id, n.system_name) for n in self.picture.neighbours.get(port, ())} - {""}


def look(patch_map: PatchMap, snapshot: Snapshot) -> Look:
    """Follows the map, places every station, and indexes who was heard where."""
    channels = resolve(patch_map)
    observed = observe(snapshot)
    matching = match_ports(channels, snapshot)
    located = locate(observed, documented_links(channels, matching))
    picture = draw(patch_map, channels, snapshot, matching, located, observed.coverage)
    sockets = {
        switch.name: tuple(PortRef(switch.name, port.name) for port in switch.ports if is_socket(port))
        for switch in snapshot.switches
    }
    devices = frozenset(fold(device.name) for device in patch_map.devices)
    found = Look(picture, sockets, devices, gateway_rows=tuple(_gateway_rows(observed.sightings)))
    for mac, placement in located.placements.items():
        if placement.at is not None:
            found.heard_at.setdefault(mac, set()).add(placement.at)
        elif placement.grade in (Grade.AMBIGUOUS, Grade.CERTAIN_UNLESS):
            found.perhaps_at.setdefault(mac, set()).update(placement.candidates)
    for port, rows in picture.neighbours.items():
        for row in rows:
            if voice := voice_of(row.chassis_id, row.system_name):
                found.heard_at.setdefault(voice, set()).add(port)
    return found


def _gateway_rows(sightings: pd.DataFrame) -> Iterator[GatewayRow]:
    """Few of very many rows: found by their addresses, of which there are far fewer."""
    kinds = {mac: address_kind(int_to_mac(mac)) for mac in sightings["mac"].unique().tolist()}
    virtual = [mac for mac, kind in kinds.items() if kind is AddressKind.VIRTUAL_GATEWAY]
    rows = sightings.loc[sightings["mac"].isin(virtual), ["switch", "port", "mac", "status"]]
    for switch, port, mac, status in rows.itertuples(index=False):
        yield GatewayRow(switch, port if isinstance(port, str) else "", int_to_mac(mac), status)


def voice_of(chassis_id: str, system_name: str) -> str:
    """How a neighbour is known again: by its chassis id, else by its name. Never equal to a station's address."""
    said = chassis_id or system_name
    return f"neighbour {said}" if said else ""
