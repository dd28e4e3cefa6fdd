"""Learning bridges in a loop-free network, and what their forwarding tables hold afterwards.

Written from IEEE 802.1D (learning process 7.8, ageing 7.9, forwarding 7.7; clause numbers from memory) and kept
apart from the inference: nothing here imports it, and nothing here knows its rules. Bridges are managed (their
tables can be read) or unmanaged (they relay and say nothing). A segment is a maximal set of managed ports that
are joined by cords and unmanaged bridges alone; the truth about a link or a station is its segment.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import networkx as nx
import numpy as np
import numpy.typing as npt

Ports = npt.NDArray[np.int16]
UNKNOWN = -1
MOST_CORDS_ON_UNMANAGED = 8  # between bridges
SHAPES = ("random", "chain", "star", "caterpillar", "three tiers", "binary", "mixed")


@dataclass(slots=True)
class Network:
    """A tree of bridges. Managed bridges are 0 .. switches-1, unmanaged ones follow; ports are numbered from 0.

    `edge` has (bridge, port, bridge, port); a port of an unmanaged bridge has no number of its own (-1).
    `bridge_of` and `port_of` say where each station is plugged in (port -1 on an unmanaged bridge).
    """

    switches: int
    bridges: int
    edges: list[tuple[int, int, int, int]]
    bridge_of: npt.NDArray[np.int32]
    port_of: Ports
    port_count: npt.NDArray[np.int32]
    vlan_of: npt.NDArray[np.int32] = field(default_factory=lambda: np.zeros(0, np.int32))

    @property
    def stations(self) -> int:
        """How many stations there are."""
        return len(self.bridge_of)


@dataclass(slots=True)
class Truth:
    """Where everything is. `station[a, x]` and `switch[a, b]` are the ports of switch `a` towards station and switch.

    `segment_of_port` has (switch, port) -> segment, `segment_of_station` the segment of each station.
    """

    station: Ports
    switch: Ports
    segment_of_port: dict[tuple[int, int], int]
    segment_of_station: npt.NDArray[np.int32]
    members: dict[int, list[tuple[int, int]]]

    def links(self) -> set[tuple[tuple[int, int], tuple[int, int]]]:
        """Every pair of managed ports that are on one segment, the smaller first."""
        return {(a, b) for group in self.members.values() for a in group for b in group if a < b}


def build(
    rng: np.random.Generator,
    switches: int,
    *,
    stations: int,
    unmanaged: int = 0,
    shape: str = "mixed",
    shared_ports: float = 0.0,
    on_unmanaged: float | None = None,
    spare_ports: int = 0,
    empty: float = 0.0,
) -> Network:
    """A random network. `stations` in all; `shared_ports`: share of stations that join another one's port.

    `on_unmanaged`: share of stations on unmanaged bridges; by default each bridge is as likely as any other. `empty`:
    share of managed bridges that have no stations.
    """
    bridges = switches + unmanaged
    parents = _shape(rng, bridges, shape)
    order = _order(rng, parents, switches)
    next_port = np.zeros(bridges, np.int32)
    edges = []
    for vertex, parent in enumerate(parents):
        if parent < 0:
            continue
        a, b = int(order[parent]), int(order[vertex])
        edges.append((a, _take(next_port, a, switches), b, _take(next_port, b, switches)))
    share = on_unmanaged if on_unmanaged is not None and unmanaged else unmanaged / bridges
    lower = rng.random(stations) < share
    bridge_of = np.where(lower, rng.integers(switches, max(bridges, switches + 1), stations), 0).astype(np.int32)
    homes = np.flatnonzero(rng.random(switches) >= empty) if empty else np.arange(switches)
    bridge_of[~lower] = rng.choice(homes if len(homes) else np.arange(switches), int((~lower).sum()))
    port_of = np.full(stations, UNKNOWN, np.int16)
    shares = rng.random(stations) < shared_ports
    last: dict[int, int] = {}
    for x in np.flatnonzero(~lower).tolist():
        b = int(bridge_of[x])
        if shares[x] and b in last:
            port_of[x] = last[b]
        else:
            last[b] = port_of[x] = _take(next_port, b, switches)
    return _shuffled(rng, Network(switches, bridges, edges, bridge_of, port_of, next_port[:switches] + spare_ports))


def _shape(rng: np.random.Generator, bridges: int, shape: str) -> list[int]:
    """The parent of each vertex of a tree, -1 for the first."""
    if shape == "mixed":
        shape = str(rng.choice(["random", "chain", "star", "caterpillar", "three tiers", "binary"]))
    spine = max(1, bridges // 3)
    tier = max(1, round(bridges**0.5 / 2))
    rules: dict[str, Callable[[int], int]] = {
        "random": lambda v: int(rng.integers(0, v)),
        "chain": lambda v: v - 1,
        "star": lambda v: 0 if v < 0.7 * bridges else int(rng.integers(0, v)),
        "caterpillar": lambda v: v - 1 if v < spine else int(rng.integers(0, spine)),
        "three tiers": lambda v: 0 if v <= tier else int(rng.integers(1, tier + 1)) if v > tier else 0,
        "binary": lambda v: (v - 1) // 2,
    }
    return [-1 if v == 0 else rules[shape](v) for v in range(bridges)]


def _order(rng: np.random.Generator, parents: list[int], switches: int) -> npt.NDArray[np.int64]:
    """Which vertex of the shape is which bridge: anyone is managed, but nobody runs a hub for forty switches."""
    cords = np.bincount([p for p in parents if p >= 0], minlength=len(parents)) + 1
    vertices = rng.permutation(len(parents))
    small = vertices[cords[vertices] <= MOST_CORDS_ON_UNMANAGED]
    unmanaged = small[: len(parents) - switches]
    order = np.empty(len(parents), np.int64)
    order[vertices[~np.isin(vertices, unmanaged)]] = np.arange(len(parents) - len(unmanaged))
    order[unmanaged] = np.arange(len(parents) - len(unmanaged), len(parents))
    assert len(unmanaged) == len(parents) - switches
    return order


def _take(next_port: npt.NDArray[np.int32], bridge: int, switches: int) -> int:
    if bridge >= switches:
        return UNKNOWN
    next_port[bridge] += 1
    return int(next_port[bridge]) - 1


def _shuffled(rng: np.random.Generator, network: Network) -> Network:
    """Port numbers carry no meaning: cords first, stations after would be a hint."""
    names = [rng.permutation(int(n)).astype(np.int16) for n in network.port_count]

    def name(bridge: int, port: int) -> int:
        return int(names[bridge][port]) if port >= 0 else UNKNOWN

    network.edges = [(a, name(a, p), b, name(b, q)) for a, p, b, q in network.edges]
    pairs = zip(network.bridge_of.tolist(), network.port_of.tolist(), strict=True)
    network.port_of = np.array([name(b, p) for b, p in pairs], np.int16)
    return network


def truth(network: Network) -> Truth:
    """The ports towards everything, and the segments, by walking the tree."""
    s, n = network.switches, network.bridges
    near: list[list[tuple[int, int]]] = [[] for _ in range(n)]  # (neighbour, own port)
    for a, p, b, q in network.edges:
        near[a].append((b, p))
        near[b].append((a, q))
    enter, leave, parent = _walk(near)
    towards = np.full((s, n), UNKNOWN, np.int16)  # by position in the walk
    for a in range(s):
        up = next((p for b, p in near[a] if b == parent[a]), UNKNOWN)
        towards[a] = up
        for b, p in near[a]:
            if b != parent[a]:
                towards[a, enter[b] : leave[b]] = p
        towards[a, enter[a]] = UNKNOWN
    towards = towards[:, enter]
    station = towards[:, network.bridge_of]
    own = np.flatnonzero(network.bridge_of < s)
    station[network.bridge_of[own], own] = network.port_of[own]
    by_port, by_box = _segments(network)
    pairs = zip(network.bridge_of.tolist(), network.port_of.tolist(), strict=True)
    segment_of_station = np.array([by_port[b, p] if b < s else by_box[b] for b, p in pairs], np.int32)
    members: dict[int, list[tuple[int, int]]] = {}
    for port, segment in sorted(by_port.items()):
        members.setdefault(segment, []).append(port)
    return Truth(station, towards[:, :s], by_port, segment_of_station, members)


def _walk(near: list[list[tuple[int, int]]]) -> tuple[npt.NDArray[np.int64], ...]:
    n = len(near)
    enter, leave, parent = (np.full(n, -1) for _ in range(3))
    order: list[int] = []
    stack = [0]
    while stack:
        v = stack.pop()
        if v < 0:
            leave[~v] = len(order)
            continue
        enter[v] = len(order)
        order.append(v)
        stack.append(~v)
        for w, _ in near[v]:
            if w != parent[v]:
                parent[w] = v
                stack.append(w)
    return enter, leave, parent


def _segments(network: Network) -> tuple[dict[tuple[int, int], int], dict[int, int]]:
    """The segment of each managed port in use, and of each unmanaged bridge: what cords and those bridges join."""
    wires: nx.Graph[tuple[int, int]] = nx.Graph()
    pairs = zip(network.bridge_of.tolist(), network.port_of.tolist(), strict=True)
    wires.add_nodes_from(end for end in pairs)
    wires.add_edges_from(((a, p), (b, q)) for a, p, b, q in network.edges)
    by_port: dict[tuple[int, int], int] = {}
    by_box: dict[int, int] = {}
    for segment, ends in enumerate(nx.connected_components(wires)):
        for bridge, port in ends:
            if port >= 0:
                by_port[bridge, port] = segment
            else:
                by_box[bridge] = segment
    return by_port, by_box
