"""The network's shape: switches and the links between them, as observed against as documented, with a place for each.

A tree that grows from the middle of the network to the right and downwards like an outline, one line per outermost
switch: it reads the same with 3 switches and with 100, its root is always on top, and no two boxes can overlap. Links
that close rings stand beside the tree.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import networkx as nx

from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import natural
from reconcile.patchmap.model import fold
from reconcile.picture import Picture
from reconcile.reports.escape import sentence

COLUMN, LINE = 214, 44
"""Distance of two levels and of two lines, in CSS pixels."""

BOX_WIDTH, BOX_HEIGHT = 176, 36
"""Size of one box; smaller than the distances, so that boxes never touch."""

SHORT = 28
"""Characters that the second line of a box holds."""

BOTH, MAP_ONLY, SEEN_ONLY, UNSEEN = "as documented", "only in the map", "only seen", "not looked at"


@dataclass(frozen=True, slots=True)
class Box:
    """One switch: where it stands, whether it was asked and answered. `holder` is the number of its front, if any;
    `up` the link by which it hangs on the switch before it."""

    name: str
    x: int
    y: int
    state: str
    up: str = ""
    holder: int = -1


@dataclass(frozen=True, slots=True)
class Line:
    """One link: which boxes (by number), by which ports, and who knows of it. `tree` links are drawn as branches;
    `short` has the two ports alone, that of `b` first. `spots` are the numbers of the two sockets, -1 where unknown."""

    a: int
    b: int
    state: str
    words: str
    tree: bool
    short: str = ""
    spots: tuple[int, int] = (-1, -1)


@dataclass(frozen=True, slots=True)
class Shape:
    """All of it, with its size in CSS pixels."""

    boxes: tuple[Box, ...] = ()
    lines: tuple[Line, ...] = ()
    width: int = 0
    height: int = 0


_Link = frozenset[PortRef]


def shape_of(
    picture: Picture, spots: Mapping[PortRef, int] | None = None, holders: Mapping[str, int] | None = None
) -> Shape:
    """Draws every switch that the map names, that was asked, or that another one names as its neighbour.

    `spots` and `holders` number the sockets and the fronts that the page has of ports and switches.
    """
    spots, holders = spots or {}, holders or {}
    links = _links(picture)
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(_names(picture))
    for link, state in links.items():
        a, b = sorted(end.switch for end in link) if len({e.switch for e in link}) == 2 else ("", "")
        if a:
            weight = 1 if state == BOTH else 2 if state == SEEN_ONLY else 3
            if not graph.has_edge(a, b) or graph.edges[a, b]["weight"] > weight:
                graph.add_edge(a, b, weight=weight, link=link)
    places, branches = _placed(graph)
    order = {name: number for number, name in enumerate(places)}
    lines = [
        Line(
            order[a.switch], order[b.switch], state, _words(a, b), link in branches, _short(a, b),
            (spots.get(a, -1), spots.get(b, -1)),
        )
        for link, state in links.items()
        for a, b in [sorted(link, key=lambda end: places[end.switch])]
        if a.switch != b.switch
    ]  # fmt: skip
    boxes = tuple(
        Box(sentence(n), x, y, _state(n, picture), _up(n, lines, order), holders.get(n, -1))
        for n, (x, y) in places.items()
    )
    width = max((box.x + BOX_WIDTH for box in boxes), default=0)
    return Shape(boxes, tuple(lines), width, max((box.y + BOX_HEIGHT for box in boxes), default=0))


def _names(picture: Picture) -> Iterator[str]:
    for switch in picture.patch_map.switches:
        yield picture.matching.asked_as.get(fold(switch.name), switch.name)
    yield from picture.matching.asked_as.values()


def _links(picture: Picture) -> dict[_Link, str]:
    """Every link between two switches by its two ends, and who knows of it."""
    documented = dict.fromkeys(_documented(picture))
    seen = dict.fromkeys(_as_documented(link, documented) for link in _seen(picture))
    states: dict[_Link, str] = {}
    for link in (*documented, *seen):
        if len(link) < 2:
            continue  # a port that is documented as plugged into itself
        if link in documented and link in seen:
            states[link] = BOTH
        elif link in seen:
            states[link] = SEEN_ONLY
        else:
            states[link] = MAP_ONLY if all(end in picture.ports for end in link) else UNSEEN
    return states


def _documented(picture: Picture) -> Iterator[_Link]:
    for channel in picture.channels.resolved:
        if channel.port is not None and channel.far_port is not None:
            yield frozenset(
                picture.port_of(end) or PortRef(picture.switch_of(end), end.position)
                for end in (channel.port, channel.far_port)
            )


def _as_documented(link: _Link, documented: Iterable[_Link]) -> _Link:
    """A seen link of which one end is a switch without its port: the documented link that it can only be, if any."""
    bare = next((end for end in link if not end.port), None)
    if bare is None:
        return link
    rest = link - {bare}
    fitting = (one for one in documented if rest < one and {fold(e.switch) for e in one - rest} == {fold(bare.switch)})
    return next(fitting, link)


def _seen(picture: Picture) -> Iterator[_Link]:
    """Wires with two ends; of wires that unmanaged equipment joins, every end to the first."""
    devices = {fold(device.name) for device in picture.patch_map.devices}
    told: set[PortRef] = set()
    for wire in picture.located.wires:
        first, *others = wire.ends
        told |= set(wire.ends)
        yield from (frozenset((first, other)) for other in others)
    for uplink in picture.located.uplinks.values():
        device = uplink.there is None and fold(uplink.peer) in devices
        if uplink.source == "map" or uplink.here in told or device:
            continue
        there = uplink.there or (PortRef(uplink.peer, "") if uplink.peer else None)
        if there is not None and there not in told:
            yield frozenset((uplink.here, there))


def _placed(graph: nx.Graph[str]) -> tuple[dict[str, tuple[int, int]], set[_Link]]:
    """A place for each switch, and the links that are branches of the tree."""
    places: dict[str, tuple[int, int]] = {}
    branches: set[_Link] = set()
    tree = nx.minimum_spanning_tree(graph, weight="weight")
    line = 0
    parts = sorted(nx.connected_components(tree), key=lambda part: (-len(part), min(map(natural, part))))
    for part in parts:
        here = tree.subgraph(part)
        root = min(nx.center(here), key=lambda name: (_remoteness(here, name), natural(name)))
        branches |= {graph.edges[a, b]["link"] for a, b in here.edges}
        depth = nx.single_source_shortest_path_length(tree, root)
        children = dict(nx.bfs_successors(tree, root))
        lines: dict[str, int] = {}
        for name in nx.dfs_postorder_nodes(tree, root, sort_neighbors=lambda names: sorted(names, key=natural)):
            below = [lines[child] for child in children.get(name, ())]
            lines[name] = min(below) if below else line
            line += not below
        for name in sorted(part, key=lambda n: (depth[n], lines[n])):
            places[name] = (depth[name] * COLUMN, lines[name] * LINE)
    return places, branches


def _remoteness(tree: nx.Graph[str], name: str) -> int:
    """Links from one switch to each other one, summed up: of two in the middle the busier one has fewer."""
    return sum(nx.single_source_shortest_path_length(tree, name).values())


def _state(name: str, picture: Picture) -> str:
    if any(switch.name == name for switch in picture.snapshot.switches):
        return "answered"
    return "did not answer" if any(failed.name == name for failed in picture.snapshot.failed) else "not asked"


def _words(a: PortRef, b: PortRef) -> str:
    return f"{_end(a)} to {_end(b)}"


def _short(a: PortRef, b: PortRef) -> str:
    """The two ports alone, for the box of the second switch: its own first."""
    text = sentence(f"{b.port or '?'} to {a.port or '?'}")
    return text if len(text) <= SHORT else text[: SHORT - 1] + "…"


def _end(port: PortRef) -> str:
    return sentence(f"{port.switch} port {port.port}" if port.port else port.switch)


def _up(name: str, lines: Iterable[Line], order: dict[str, int]) -> str:
    """The link by which a switch hangs on the one before it, in words."""
    return next((line.short for line in lines if line.tree and line.b == order[name]), "")
