"""What loses its way when ports are unplugged and switches are gone: reachability, bridges and dominators (networkx).

A node is dark afterwards when it could reach the root before and cannot any more. A bridge is an edge without which a
connected graph falls apart; a dominator of a node is what every way from the root to it leads through.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, cast

import networkx as nx

from reconcile.locate.placement import PortRef
from reconcile.teardown.graph import Graph, Node, without
from reconcile.teardown.model import Why

_TOP = Node("", "")  # stands above all roots


class Fallen(NamedTuple):
    """A node that goes dark. `through` is the one switch or link that it hangs on, if it is one."""

    node: Node
    why: Why
    through: str


def fallen(graph: Graph, ports: frozenset[PortRef], gone: Sequence[Node], roots: Iterable[Node]) -> list[Fallen]:
    """Everybody who goes dark, in the order of the graph."""
    left = without(graph, ports, gone)
    before, after = reached(graph, roots), reached(left, roots)
    single = _single_points(graph, ports, gone, roots)
    found = []
    for node in graph:
        if node in gone:
            found.append(Fallen(node, Why.ITSELF, ""))
        elif node in after or (node not in before and left.degree(node) == graph.degree(node)):
            continue
        elif _unplugged(graph, left, node):
            found.append(Fallen(node, Why.UNPLUGGED, ""))
        else:
            found.append(Fallen(node, Why.ONLY_THROUGH, _through(graph, single, node)))
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
    graph: Graph, ports: frozenset[PortRef], gone: Sequence[Node], roots: Iterable[Node]
) -> dict[Node, str]:
    """The torn switch or link that all ways of a node to the roots lead through: a dominator of it, if it has one."""
    ways: nx.DiGraph[Node] = nx.DiGraph()
    ways.add_nodes_from(graph)
    ways.add_edges_from(way for a, b in graph.edges() for way in ((a, b), (b, a)))
    points = list(gone)
    for a, b in _bridges(graph):
        (edge,) = graph.get_edge_data(a, b).values()
        if edge["ports"] & ports and a not in gone and b not in gone:
            link = Node("link", f"link {min(a, b).name} - {max(a, b).name}")
            points.append(link)
            ways.remove_edges_from([(a, b), (b, a)])
            ways.add_edges_from([(a, link), (link, a), (b, link), (link, b)])
    ways.add_edges_from((_TOP, root) for root in roots if root in graph)
    if _TOP not in ways:
        return {}
    rank = {point: n for n, point in enumerate(points)}
    above: dict[Node, Node] = nx.immediate_dominators(ways, _TOP)
    first: dict[Node, int] = {_TOP: len(points)}
    for node in above:
        chain = []
        while node not in first:
            chain.append(node)
            node = above[node]
        for below in reversed(chain):
            up = above[below]
            first[below] = min(first[up], rank.get(up, len(points)))
    return {node: points[n].name for node, n in first.items() if n < len(points)}


def _through(graph: Graph, single: Mapping[Node, str], node: Node) -> str:
    own = any(data["ports"] for *_, data in graph.edges(node, data=True))
    carriers = [] if own else [near.name for near in graph.neighbors(node) if near.kind == "device"]
    return min(carriers) if carriers else single.get(node, "")
