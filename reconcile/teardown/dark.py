"""What loses its way when ports are unplugged and switches are gone: reachability, bridges and cut vertices (networkx).

A node is dark afterwards when it could reach the root before and cannot any more. A cut vertex (articulation point)
is a node, a bridge an edge, without which a connected graph falls apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple, cast

import networkx as nx

from reconcile.locate.placement import PortRef
from reconcile.teardown.graph import Graph, Node, without
from reconcile.teardown.model import Why


class Fallen(NamedTuple):
    """A node that goes dark. `through` is the one switch or link that it hangs on, if it is one."""

    node: Node
    why: Why
    through: str


def fallen(graph: Graph, ports: frozenset[PortRef], gone: Sequence[Node], roots: Iterable[Node]) -> list[Fallen]:
    """Everybody who goes dark, in the order of the graph."""
    left = without(graph, ports, gone)
    before, after = reached(graph, roots), reached(left, roots)
    single = _single_points(graph, ports, gone)
    found = []
    for node in graph:
        if node in gone:
            found.append(Fallen(node, Why.ITSELF, ""))
        elif node in after or (node not in before and left.degree(node) == graph.degree(node)):
            continue
        elif _unplugged(graph, left, node):
            found.append(Fallen(node, Why.UNPLUGGED, ""))
        else:
            found.append(Fallen(node, Why.ONLY_THROUGH, _through(graph, single, node, roots)))
    return found


def reached(graph: Graph, roots: Iterable[Node]) -> set[Node]:
    """Every node that has a path to one of the roots."""
    found: set[Node] = set()
    for root in roots:
        if root in graph and root not in found:
            found |= nx.node_connected_component(graph, root)
    return found


def now_single(graph: Graph, left: Graph) -> list[tuple[Node, Node]]:
    """Links between switches that have become bridges: no second way is left."""
    before = {frozenset(edge) for edge in _bridges(graph)}
    return sorted((min(edge), max(edge)) for edge in _bridges(left) if frozenset(edge) not in before)


def _bridges(graph: Graph) -> list[tuple[Node, Node]]:
    """Bridges between switches; parallel cords are none."""
    switches = graph.subgraph([node for node in graph if node.kind == "switch"])
    return cast("list[tuple[Node, Node]]", list(nx.bridges(switches)))


def _unplugged(graph: Graph, left: Graph, node: Node) -> bool:
    """True when the node had ports of its own and has lost them all; what is behind another device has none."""
    had = any(data["ports"] for *_, data in graph.edges(node, data=True))
    keeps = any(data["ports"] for *_, data in left.edges(node, data=True))
    return node.kind != "switch" and had and not keeps


def _single_points(
    graph: Graph, ports: frozenset[PortRef], gone: Sequence[Node]
) -> list[tuple[str, frozenset[PortRef], tuple[Node, ...]]]:
    """Torn switches that are cut vertices and torn links that are bridges, with what to take away to try each."""
    cuts: set[Node] = set(nx.articulation_points(graph))
    found: list[tuple[str, frozenset[PortRef], tuple[Node, ...]]] = [
        (node.name, frozenset(), (node,)) for node in gone if node in cuts
    ]
    for a, b in _bridges(graph):
        edges = graph.get_edge_data(a, b).values() if a not in gone and b not in gone else ()
        found += [
            (f"link {min(a, b).name} - {max(a, b).name}", data["ports"], ()) for data in edges if data["ports"] & ports
        ]
    return found


def _through(
    graph: Graph, single: list[tuple[str, frozenset[PortRef], tuple[Node, ...]]], node: Node, roots: Iterable[Node]
) -> str:
    own = any(data["ports"] for *_, data in graph.edges(node, data=True))
    carriers = [] if own else [near.name for near in graph.neighbors(node) if near.kind == "device"]
    if carriers:
        return min(carriers)
    for name, ports, nodes in single:
        if node not in reached(without(graph, ports, nodes), roots):
            return name
    return ""
