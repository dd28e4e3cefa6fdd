"""The network as a graph: switches, devices and strangers are its nodes, cords its edges. networkx does the rest.

A multigraph: each cord of a link aggregation and each spare cord of a ring is an edge of its own, one that spanning
tree blocks as well, because it carries as soon as the other is gone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx

from reconcile.locate.placement import Grade, PortRef, Uplink
from reconcile.patchmap.model import Device, End, fold
from reconcile.swap.look import Look
from reconcile.swap.watch import LinkThere, links_in

GATEWAY_KINDS = ("firewall", "router", "gateway")
"""Words in the kind of a device that make it a way out of the site."""

BLOCKED_COSTS = 1000.0
"""Length of a blocked cord for shortest paths: any path without one is shorter."""
UNSURE_COSTS = 10.0
"""Length of a cord of which it is not certain that it carries: one that is seen to carry goes before it."""


class Node(NamedTuple):
    """`kind` is switch, device, undocumented, or gateway (a virtual gateway address)."""

    kind: str
    name: str


if TYPE_CHECKING:
    Graph = nx.MultiGraph[Node]
else:
    Graph = nx.MultiGraph


def build(seen: Look) -> Graph:
    """Everything that was observed, and what is documented where nothing could be observed."""
    graph: Graph = Graph()
    picture = seen.picture
    names = sorted({*picture.coverage.answered, *picture.coverage.failed})  # sets: the same order in every run
    graph.add_nodes_from(Node("switch", name) for name in names)
    graph.add_nodes_from(Node("switch", picture.switch_of(End(row.name))) for row in picture.patch_map.switches)
    _add_links(graph, seen)
    _add_devices(graph, seen)
    _add_gateways(graph, seen)
    return graph


def join(graph: Graph, a: Node, b: Node, ports: Iterable[PortRef], *, cost: float = 1.0) -> None:
    """One cord, known by the ports that it is in. `cost` is its length for shortest paths."""
    ends = frozenset(ports)
    if not any(data["ports"] == ends for data in (graph.get_edge_data(a, b) or {}).values()):
        graph.add_edge(a, b, ports=ends, cost=cost)


def without(graph: Graph, ports: frozenset[PortRef], nodes: Iterable[Node]) -> Graph:
    """What is left when these ports are unplugged and these nodes are gone."""
    left: Graph = graph.copy()
    left.remove_nodes_from([node for node in nodes if node in left])
    left.remove_edges_from(
        [(a, b, key) for a, b, key, data in left.edges(keys=True, data=True) if data["ports"] & ports]
    )
    return left


def gateways(graph: Graph, seen: Look) -> list[Node]:
    """Documented firewalls, routers and gateways, then whoever answers for a virtual gateway address."""
    kinds = {Node("device", d.name): fold(d.kind) for d in seen.picture.patch_map.devices}
    named = [n for n, kind in kinds.items() if n in graph and any(word in kind for word in GATEWAY_KINDS)]
    routing = dict.fromkeys(Node("switch", row.switch) for row in seen.gateway_rows if row.status == "self")
    return [*named, *routing, *(node for node in graph if node.kind == "gateway")]


def _add_links(graph: Graph, seen: Look) -> None:
    picture = seen.picture
    known = {fold(node.name): node for node in graph}
    halves: dict[tuple[Node, Node], list[LinkThere]] = defaultdict(list)
    for link in links_in(seen):
        here, uplink = known[fold(link.here.switch)], seen.uplink(link.here)
        name = link.peer or f"a switch behind {link.here}"
        there = known.get(fold(name)) or Node("switch", name)
        if link.there or there not in known.values():
            join(graph, here, there, link.key, cost=_cost(uplink))
        else:
            halves[here, there].append(link)
    for (here, there), mine in halves.items():
        # Each side tells only that it faces the other (an aggregate, most often): the nth of one is the nth of the
        # other for counting, whichever cord it is.
        known_ends = {end for data in (graph.get_edge_data(here, there) or {}).values() for end in data["ports"]}
        rest = [link for link in mine if link.here not in known_ends]
        theirs = [link for link in halves.get((there, here), []) if link.here not in known_ends]
        if (here.name, there.name) > (there.name, here.name) and theirs:
            continue  # told from the other side
        for number in range(max(len(rest), len(theirs))):
            ends = [side[number].here for side in (rest, theirs) if number < len(side)]
            join(graph, here, there, ends)
    for channel in picture.channels.resolved:
        if channel.port and channel.far_port:
            _add_documented(graph, channel.port, channel.far_port, seen)


def _cost(uplink: Uplink | None) -> float:
    if uplink is None or not uplink.carries:
        return BLOCKED_COSTS
    return 1.0 if uplink.grade is Grade.CERTAIN else UNSURE_COSTS


def _add_documented(graph: Graph, one: End, other: End, seen: Look) -> None:
    """A documented link that nothing observed speaks for or against."""
    picture = seen.picture
    ends = [(Node("switch", picture.switch_of(end)), picture.port_of(end)) for end in (one, other)]
    ports = [port or PortRef(node.name, end.position) for (node, port), end in zip(ends, (one, other), strict=True)]
    observed = [port for _, port in ends if port]
    if any(not seen.link_up(port) or seen.uplink(port) for port in observed):
        return
    join(graph, ends[0][0], ends[1][0], ports)


def _add_devices(graph: Graph, seen: Look) -> None:
    picture = seen.picture
    heard: set[str] = set()
    for port, stations in picture.stations_at.items():
        if seen.uplink(port):
            continue
        devices = {p.mac: picture.device_of.get(p.mac) for p in stations}
        here = {device.name: device for device in devices.values() if device}
        carrier = _carrier([*here.values(), *picture.devices_at(port)])
        switch = Node("switch", port.switch)
        ports = [port, *picture.members_of.get(port, ())]
        if carrier:
            heard.add(carrier.name)
            _plug(graph, Node("device", carrier.name), switch, ports)
        for mac, device in devices.items():
            node = Node("device", device.name) if device else Node("undocumented", mac)
            if device:
                heard.add(device.name)
            if carrier and device is not carrier and node.name != carrier.name:
                join(graph, node, Node("device", carrier.name), ())
            elif not carrier:
                _plug(graph, node, switch, ports)
    for channel in picture.channels.resolved:
        device = channel.device
        if device is None or _elsewhere(device, seen):
            continue
        if channel.port:
            port = picture.port_of(channel.port) or PortRef(picture.switch_of(channel.port), channel.port.position)
            _plug(graph, Node("device", device.name), Node("switch", port.switch), [port])
        elif channel.next_device and device.name not in heard:
            join(graph, Node("device", device.name), Node("device", channel.next_device.name), ())
        else:
            graph.add_node(Node("device", device.name))


def _plug(graph: Graph, node: Node, switch: Node, ports: list[PortRef]) -> None:
    if not any(set(ports) & data["ports"] for data in (graph.get_edge_data(node, switch) or {}).values()):
        join(graph, node, switch, ports)


def _carrier(devices: Iterable[Device]) -> Device | None:
    return next((device for device in devices if device.carries), None)


def _elsewhere(device: Device, seen: Look) -> bool:
    """True when the device was heard, but at none of its documented ports."""
    picture = seen.picture
    heard = {port for mac in device.macs for port in seen.heard_at.get(mac, ()) if seen.uplink(port) is None}
    homes = [picture.port_of(c.port or c.behind) for c in picture.channels.of_device(device.name)]
    return bool(heard) and not any(home and picture.same_place(home, port) for home in homes for port in heard)


def _add_gateways(graph: Graph, seen: Look) -> None:
    for row in seen.gateway_rows:
        port, mac = PortRef(row.switch, row.port), row.mac
        if row.port and row.status == "learned" and seen.uplink(port) is None:
            owner = next((n for n in graph.neighbors(Node("switch", port.switch)) if _is_at(graph, n, port)), None)
            if owner is None or owner.kind != "device":
                join(graph, Node("gateway", mac), Node("switch", port.switch), [port])


def _is_at(graph: Graph, node: Node, port: PortRef) -> bool:
    edges = graph.get_edge_data(node, Node("switch", port.switch)) or {}
    return node.kind == "device" and any(port in data["ports"] for data in edges.values())
