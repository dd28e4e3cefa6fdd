"""Placement in one pass: which ports face switches, and where each station is seen on a port that does not."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from collectors.names import AddressKind, address_kind, int_to_mac
from reconcile.locate.identity import Directory, logical_ports, recognise, rows_of
from reconcile.locate.placement import Grade, Located, Placement, PortRef, Uplink

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from reconcile.frames import Observed

_NEVER_PLACED = {
    AddressKind.VIRTUAL_GATEWAY: "a virtual gateway address: it moves between ports by design",
    AddressKind.CLUSTER: "an address that may be shared by several ports (load-balancing cluster)",
    AddressKind.GROUP: "a group address: never one station",
    AddressKind.NONE: "the all-zero address: no station",
}


def place(observed: Observed, documented_links: Collection[tuple[PortRef, PortRef]] = ()) -> Located:
    """Uplinks first, then stations by their sightings on the ports that are left."""
    directory = Directory.of(observed)
    logical = logical_ports(directory)
    seen = _sightings(observed, logical)
    uplinks = _uplinks(observed, directory, seen, logical, documented_links)
    located = Located(uplinks=uplinks)
    for mac, where in seen.items():
        kind = address_kind(mac)
        if kind in _NEVER_PLACED:
            located.unplaced[mac] = _NEVER_PLACED[kind]
        elif mac in directory.by_mac:
            located.unplaced[mac] = f"an address of the switch {directory.by_mac[mac]} itself"
        elif not where:
            located.unplaced[mac] = "the switches that know it name no port for it"
        else:
            located.placements[mac] = _placement(mac, where, uplinks)
    return located


def _sightings(observed: Observed, logical: Mapping[PortRef, PortRef]) -> dict[str, dict[PortRef, set[int]]]:
    frame = observed.sightings
    rows = frame[frame["status"].isin(["learned", "other"])]
    seen: dict[str, dict[PortRef, set[int]]] = defaultdict(dict)
    text: dict[int, str] = {n: int_to_mac(n) for n in rows["mac"].unique().tolist()}
    unique = rows.drop_duplicates(["switch", "port", "vlan", "mac"])
    for switch, name, vlan, mac in rows_of(unique, "switch", "port", "vlan", "mac"):
        where = seen[text[mac]]
        if isinstance(name, str):
            port = PortRef(switch, name)
            vlans = where.setdefault(logical.get(port, port), set())
            if isinstance(vlan, int):
                vlans.add(vlan)
    return seen


def _uplinks(
    observed: Observed,
    directory: Directory,
    seen: Mapping[str, Mapping[PortRef, set[int]]],
    logical: Mapping[PortRef, PortRef],
    documented_links: Collection[tuple[PortRef, PortRef]],
) -> dict[PortRef, Uplink]:
    uplinks: dict[PortRef, Uplink] = {}
    for advert in recognise(observed, directory):
        known = uplinks.get(advert.here)
        better = known is None or (not known.there and advert.there)
        if advert.peer != advert.here.switch and (advert.peer or advert.relays) and better:
            uplinks[advert.here] = Uplink(advert.here, advert.there, advert.peer or advert.says, advert.protocol)
    for mac, switch in directory.by_mac.items():
        for port in seen.get(mac, ()):
            if port.switch != switch:
                uplinks.setdefault(port, Uplink(port, None, switch, "inferred"))
    for one, other in documented_links:
        a, b = logical.get(one, one), logical.get(other, other)
        uplinks.setdefault(a, Uplink(a, b, b.switch, "map"))
        uplinks.setdefault(b, Uplink(b, a, a.switch, "map"))
    return uplinks


def _placement(mac: str, where: Mapping[PortRef, set[int]], uplinks: Mapping[PortRef, Uplink]) -> Placement:
    edges = tuple(sorted(p for p in where if p not in uplinks))
    vlans = tuple(sorted(set().union(*where.values())))
    if len(edges) == 1:
        by_map = any(uplinks[p].source == "map" for p in where if p in uplinks)
        grade = Grade.PROBABLE if by_map else Grade.CERTAIN
        because = "the one port that sees it and faces no other switch"
        return Placement(mac, edges[0], grade, edges, because, vlans, map_broke_tie=by_map)
    if edges:
        because = f"seen at once on {len(edges)} ports that face no other switch"
        return Placement(mac, None, Grade.AMBIGUOUS, edges, because, vlans)
    ways = tuple(sorted(where))
    because = "seen only on ports that face other switches: the direction is known, the port is not"
    return Placement(mac, None, Grade.AMBIGUOUS, ways, because, vlans)
