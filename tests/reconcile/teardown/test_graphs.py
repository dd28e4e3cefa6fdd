"""What falls when something is torn down: against hand-solved graphs, brute force, and networkx's own algorithms."""

from __future__ import annotations

import random
from collections.abc import Iterable

import networkx as nx
import pytest

from reconcile.locate.placement import PortRef
from reconcile.teardown.dark import fallen, now_single, reached
from reconcile.teardown.graph import BLOCKED_COSTS, Graph, Node, join, without
from reconcile.teardown.model import Why
from reconcile.teardown.order import ranks

Edge = tuple[str, str]

# Königsberg, L. Euler, "Solutio problematis ad geometriam situs pertinentis" (1736): the banks n and s, the island i,
# the eastern quarter e, seven bridges. No land mass and no single bridge separates the others.
KONIGSBERG = [("n", "i"), ("n", "i"), ("s", "i"), ("s", "i"), ("n", "e"), ("s", "e"), ("i", "e")]
# Two triangles with one corner in common (the butterfly): that corner is the only cut vertex, and there is no bridge.
# Two triangles joined by an edge: that edge is the only bridge, its ends are the cut vertices. Both from the
# definitions of cut vertex and bridge in R. Diestel, "Graph Theory", section 1.4.
BUTTERFLY = [("a", "b"), ("b", "c"), ("c", "a"), ("c", "d"), ("d", "e"), ("e", "c")]
BARBELL = [("a", "b"), ("b", "c"), ("c", "a"), ("c", "d"), ("d", "e"), ("e", "f"), ("f", "d")]
# A path: every edge is a bridge, every inner vertex a cut vertex. A circle: none is. (Same place.)
PATH = [("a", "b"), ("b", "c"), ("c", "d")]
CIRCLE = [("a", "b"), ("b", "c"), ("c", "d"), ("d", "a")]
# The kite of D. Krackhardt, Administrative Science Quarterly 35 (1990): a tail of two edges at vertex 7.
KITE = [(str(a), str(b)) for a, b in nx.krackhardt_kite_graph().edges]


def switch(name: str) -> Node:
    return Node("switch", name)


def built(edges: Iterable[Edge]) -> Graph:
    """Each edge is a cord between two ports of its own: `a:0` and `b:0` for the first."""
    graph: Graph = Graph()
    for number, (a, b) in enumerate(edges):
        join(graph, switch(a), switch(b), cord(number, a, b))
    return graph


def cord(number: int, a: str, b: str) -> frozenset[PortRef]:
    return frozenset({PortRef(a, str(number)), PortRef(b, str(number))})


def dark(graph: Graph, ports: Iterable[PortRef], gone: Iterable[str], root: str) -> dict[str, tuple[Why, str]]:
    found = fallen(graph, frozenset(ports), [switch(name) for name in gone], [switch(root)])
    return {one.node.name: (one.why, one.through) for one in found}


@pytest.mark.parametrize(
    ("edges", "gone", "root", "fall"),
    [
        (PATH, "b", "a", "bcd"),
        (PATH, "d", "a", "d"),
        (CIRCLE, "b", "a", "b"),
        (BUTTERFLY, "c", "a", "cde"),
        (BUTTERFLY, "b", "a", "b"),
        (BARBELL, "d", "a", "def"),
        (BARBELL, "c", "f", "abc"),
        (KONIGSBERG, "i", "n", "i"),
        (KONIGSBERG, "e", "n", "e"),
        (KITE, "7", "0", "789"),
        (KITE, "8", "0", "89"),
        (KITE, "3", "0", "3"),
    ],
)
def test_a_switch_takes_with_it_what_textbooks_say(edges: list[Edge], gone: str, root: str, fall: str) -> None:
    found = dark(built(edges), (), [gone], root)
    assert set(found) == set(fall)
    assert {name: why for name, why in found.items() if name != gone} == dict.fromkeys(
        set(fall) - {gone}, (Why.ONLY_THROUGH, gone)
    )


@pytest.mark.parametrize(
    ("edges", "pulled", "root", "fall"),
    [
        (PATH, 1, "a", "cd"),
        (CIRCLE, 1, "a", ""),
        (BUTTERFLY, 2, "a", ""),
        (BARBELL, 3, "a", "def"),
        (KONIGSBERG, 0, "n", ""),
        (KONIGSBERG, 6, "n", ""),
    ],
)
def test_one_pulled_cord_takes_with_it_what_textbooks_say(edges: list[Edge], pulled: int, root: str, fall: str) -> None:
    a, b = edges[pulled]
    found = dark(built(edges), cord(pulled, a, b), (), root)
    assert found == dict.fromkeys(fall, (Why.ONLY_THROUGH, f"link {a} - {b}"))


def test_of_two_parallel_cords_each_alone_may_go_and_both_may_not() -> None:
    graph = built([("a", "b"), ("a", "b")])
    assert dark(graph, cord(0, "a", "b"), (), "a") == {}
    assert set(dark(graph, cord(0, "a", "b") | cord(1, "a", "b"), (), "a")) == {"b"}


def test_a_circle_that_is_opened_hangs_on_each_of_its_other_links() -> None:
    graph = built(CIRCLE)
    left = without(graph, cord(1, "b", "c"), ())
    assert {frozenset((a.name, b.name)) for a, b in now_single(graph, left)} == {
        frozenset("ab"), frozenset("cd"), frozenset("ad"),
    }  # fmt: skip


def by_hand(edges: list[Edge], pulled: set[int], gone: set[str], root: str) -> set[str]:
    """Reach by following edges one by one, with sets alone."""
    found = {root} - gone
    while True:
        more = {
            there
            for number, edge in enumerate(edges)
            for here, there in (edge, edge[::-1])
            if number not in pulled and here in found and there not in gone
        } - found
        if not more:
            return found
        found |= more


def some_network(seed: int) -> tuple[random.Random, list[Edge]]:
    chance = random.Random(seed)
    names = "abcdefgh"[: chance.randint(2, 8)]
    edges = [tuple(chance.sample(names, 2)) for _ in range(chance.randint(1, 12))]
    return chance, [(a, b) for a, b in edges]


@pytest.mark.parametrize("seed", range(150))
def test_who_goes_dark_is_who_cannot_be_reached_by_hand(seed: int) -> None:
    chance, edges = some_network(seed)
    graph = built(edges)
    names = sorted({name for edge in edges for name in edge})
    root = chance.choice(names)
    gone = set(chance.sample([n for n in names if n != root], min(len(names) - 1, chance.randint(0, 2))))
    pulled = set(chance.sample(range(len(edges)), chance.randint(0, len(edges) // 2)))
    ports = {port for number in pulled for port in cord(number, *edges[number])}
    found = dark(graph, ports, gone, root)
    lost = by_hand(edges, set(), set(), root) - by_hand(edges, pulled, gone, root)
    assert {name for name in found if name in by_hand(edges, set(), set(), root)} - gone == lost - gone
    assert gone <= set(found)
    cuts = {node.name for node in nx.articulation_points(nx.Graph(graph))}
    for name, (why, through) in found.items():
        if why is Why.ONLY_THROUGH and through in names:
            assert through in cuts
            assert name not in by_hand(edges, set(), {through}, root)


@pytest.mark.parametrize("seed", range(100))
def test_both_switches_of_a_cord_are_reachable_until_it_is_pulled(seed: int) -> None:
    chance, edges = some_network(seed)
    graph = built(edges)
    root = chance.choice(edges)[0]
    reachable = {node.name for node in reached(graph, [switch(root)])}
    order = ranks(graph, switch(root))
    pulled: set[int] = set()
    mine = [number for number, edge in enumerate(edges) if set(edge) <= reachable]
    chosen = set(chance.sample(mine, chance.randint(1, len(mine))))
    for number in sorted(chosen, key=lambda n: (order[PortRef(edges[n][0], str(n))], n)):
        assert set(edges[number]) <= by_hand(edges, pulled, set(), root)
        pulled.add(number)


def test_a_blocked_cord_is_pulled_before_the_one_that_carries() -> None:
    graph: Graph = Graph()
    join(graph, switch("a"), switch("b"), cord(0, "a", "b"), cost=BLOCKED_COSTS)
    join(graph, switch("a"), switch("b"), cord(1, "a", "b"))
    order = ranks(graph, switch("a"))
    assert order[PortRef("a", "0")] < order[PortRef("a", "1")]
