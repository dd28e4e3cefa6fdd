"""The order in which cords are pulled, so that what is still to be looked at stays reachable until the end.

Cords of devices first. Of those between switches first the ones that no shortest path from the root needs, then the
rest from the far end towards the root: whatever is pulled, both its switches were reachable until then.
"""

from __future__ import annotations

from collections.abc import Mapping

import networkx as nx

from reconcile.locate.placement import PortRef
from reconcile.teardown.graph import BLOCKED_COSTS, Graph, Node

Rank = tuple[int, float]


def ranks(graph: Graph, root: Node) -> dict[PortRef, Rank]:
    """By port: its place in the order; ports of the same cord have the same. Unreachable links come with the first."""
    switches = graph.subgraph([node for node in graph if node.kind == "switch" or node == root])
    far, paths = _shortest(switches, root)
    found: dict[PortRef, Rank] = {}
    needed: set[frozenset[Node]] = {frozenset(path[-2:]) for path in paths.values() if len(path) > 1}
    taken: set[frozenset[Node]] = set()
    edges = sorted(switches.edges(data=True), key=lambda edge: (edge[2]["cost"], sorted(edge[2]["ports"])))
    for a, b, data in edges:
        pair = frozenset((a, b))
        if pair in needed and pair not in taken:
            taken.add(pair)
            rank = (2, -max(far.get(a, 0.0), far.get(b, 0.0)))
        else:
            rank = (1, -max(far.get(a, BLOCKED_COSTS), far.get(b, BLOCKED_COSTS)))
        found |= dict.fromkeys(data["ports"], rank)
    return found


def _shortest(graph: Graph, root: Node) -> tuple[Mapping[Node, float], Mapping[Node, list[Node]]]:
    """Lengths and paths from the root to every node that it reaches."""
    if root not in graph:
        return {}, {}
    far = nx.single_source_dijkstra_path_length(graph, root, weight="cost")
    return far, nx.single_source_dijkstra_path(graph, root, weight="cost")
