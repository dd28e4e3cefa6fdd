"""The whole plan: scope, cut, graph, what goes dark, which cords to pull in which order, what becomes spare."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

import networkx as nx

from collectors.snapshot import Table
from reconcile.channels import StepKind
from reconcile.coverage import coverage_gaps
from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import natural
from reconcile.patchmap.model import Device, End, fold
from reconcile.swap.likeness import feeds
from reconcile.swap.look import Look, voice_of
from reconcile.teardown.cut import Cut, cut
from reconcile.teardown.dark import Fallen, fallen, now_single, reached
from reconcile.teardown.graph import Graph, Node, build, gateways, without
from reconcile.teardown.model import UNDOCUMENTED, Alive, Dark, Gateway, Load, TeardownPlan, Why
from reconcile.teardown.pulls import pulls, spare
from reconcile.teardown.scope import read_scope

_KINDS = ("switch", "device", UNDOCUMENTED)


def plan_teardown(
    words: Sequence[str], seen: Look, *, start: str = "", last_seen: Mapping[str, datetime] | None = None
) -> TeardownPlan:
    """What tearing down all that the words name would do. `start` is where the person sits who looks after it.

    `last_seen` is by station address, and by port as SWITCH:PORT for its link, from a history of earlier nights.
    Raises UsageError for an unknown name.
    """
    picture = seen.picture
    scope = read_scope(words, picture)
    torn = cut(scope, seen)
    graph = build(seen)
    gone = [node for node in graph if node.name in torn.switches | torn.devices]
    left = without(graph, torn.ports, gone)
    ways = gateways(graph, seen)
    root, root_words = _root(start, graph, left, ways, gone, seen)
    roots = [root, *(way for way in ways if way not in gone)]
    found = [one for one in fallen(graph, torn.ports, gone, roots) if one.node.kind != "gateway"]
    dark = {one.node for one in found}
    rows = {fold(row.name): row for row in picture.patch_map.devices}
    ordered = pulls(scope, torn, graph, root, seen)
    return TeardownPlan(
        site=picture.snapshot.site or picture.patch_map.site,
        taken=picture.snapshot.finished,
        what=tuple(words),
        root=root_words,
        dark=tuple(sorted((_dark(one, rows, graph, seen, last_seen or {}) for one in found), key=_dark_order)),
        gateways=tuple(Gateway(name=way.name, at=_at(way, graph), torn_down=way in gone) for way in ways),
        lose_gateway=tuple(sorted(_lose(graph, left, ways, dark))),
        stays=tuple(_stays(graph, left, dark)),
        now_single=tuple(f"{a.name} - {b.name}" for a, b in now_single(graph, left)),
        loads=tuple(_loads(torn, seen)),
        pulls=tuple(ordered),
        spare=spare(scope, torn, ordered, seen),
        ports=tuple(sorted(map(str, torn.ports))),
        notes=(*_bundles(torn, seen), *_elsewhere(torn, seen)),
        gaps=tuple(coverage_gaps(picture.snapshot, ())),
    )


def _root(
    start: str, graph: Graph, left: Graph, ways: Sequence[Node], gone: Sequence[Node], seen: Look
) -> tuple[Node, str]:
    """From where reach is counted: where the person sits, else the way out, else the largest part that is left."""
    if start:
        node = next((n for n in graph if fold(n.name) == fold(start)), None)
        port = next((ref for ref in seen.picture.ports if fold(str(ref)) == fold(start)), None)
        node = node or (Node("switch", port.switch) if port else None)
        if node is None:
            raise UsageError(f"--from {start}", "is no switch, port or device", "a switch of the site")
        return node, f"{start}, as asked for"
    for way in ways:
        if way not in gone:
            return way, f"{way.name}, the way out of the site"
    for way in ways:
        for near in graph.neighbors(way):
            if near in left:
                return near, f"{near.name}, where {way.name} is plugged in"
    parts = sorted(nx.connected_components(left), key=lambda part: (-len(part), min(part)))
    switches = [node for node in parts[0] if node.kind == "switch"] if parts else []
    if not switches:
        return Node("switch", ""), "nowhere: no switch is left"
    root = max(switches, key=lambda node: (left.degree(node), node.name))
    return root, f"{root.name}, in the largest part that is left (no gateway is known)"


def _dark(one: Fallen, rows: Mapping[str, Device], graph: Graph, seen: Look, last_seen: Mapping[str, datetime]) -> Dark:
    picture = seen.picture
    row = rows.get(fold(one.node.name)) if one.node.kind == "device" else None
    macs = row.macs if row else (one.node.name,) if one.node.kind == UNDOCUMENTED else ()
    at = _at(one.node, graph) if one.node.kind != "switch" else ""
    alive = _alive(one.node, at, macs, seen)
    times = [last_seen[mac] for mac in macs if mac in last_seen]
    if not times and at in last_seen and _alone_at(one.node, at, seen):
        times = [last_seen[at]]  # never heard by any address: its link is the one sign of life
    return Dark(
        name=one.node.name, kind=one.node.kind, why=one.why, through=one.through, at=at, alive=alive, macs=macs,
        room=row.room if row else _room(at, seen),
        last_seen=picture.snapshot.finished if alive is Alive.HEARD else max(times, default=None),
    )  # fmt: skip


def _alone_at(node: Node, at: str, seen: Look) -> bool:
    """True when the link at this port is that of the device itself, and not of one that it is behind."""
    port = next((ref for ref in seen.picture.channel_at if str(ref) == at), None)
    channel = seen.picture.channel_at[port] if port else None
    return channel is not None and channel.device is not None and fold(channel.device.name) == fold(node.name)


def _dark_order(dark: Dark) -> tuple[object, ...]:
    return (_KINDS.index(dark.kind), list(Why).index(dark.why), natural(dark.at), natural(dark.name))


def _at(node: Node, graph: Graph) -> str:
    """The port that a node is on; a device behind another one is where that one is."""
    ports = sorted({str(port) for *_, data in graph.edges(node, data=True) for port in data["ports"]})
    if ports or node.kind == "switch":
        return ports[0] if ports else ""
    carriers = [near for near in graph.neighbors(node) if near.kind == "device"]
    found = [str(p) for near in carriers for *_, data in graph.edges(near, data=True) for p in data["ports"]]
    return min(found, default="")


def _room(at: str, seen: Look) -> str:
    """The room behind a port, as the map has it."""
    port = next((ref for ref in seen.picture.channel_at if str(ref) == at), None)
    return seen.picture.place(port).room if port else ""


def _alive(node: Node, at: str, macs: Sequence[str], seen: Look) -> Alive:
    picture = seen.picture
    if node.kind == "switch":
        return Alive.HEARD if node.name in picture.coverage.answered else Alive.UNKNOWN
    if any(mac in seen.heard_at or mac in seen.perhaps_at for mac in macs):
        return Alive.HEARD
    port = next((ref for ref in picture.ports if str(ref) == at), None)
    if port is None:
        return Alive.UNKNOWN
    says = {voice_of(row.chassis_id, row.system_name) for row in picture.neighbours.get(port, ())}
    if says and not macs:
        return Alive.HEARD
    if seen.link_up(port):
        return Alive.UNKNOWN if picture.coverage.gap(port.switch, Table.FORWARDING) else Alive.LINK
    return Alive.NO_LINK


def _lose(graph: Graph, left: Graph, ways: Sequence[Node], dark: set[Node]) -> Iterator[str]:
    """Who stays up, had a way out, and has none any more."""
    before, after = reached(graph, ways), reached(left, ways)
    for node in graph:
        if node in before and node not in after and node not in dark and node in left and node.kind != UNDOCUMENTED:
            yield node.name


def _stays(graph: Graph, left: Graph, dark: set[Node]) -> Iterator[str]:
    """Switches and devices that lose some of their cords and not their way."""
    for node in graph:
        if node in dark or node not in left or node.kind not in ("switch", "device"):
            continue
        kept = {str(p) for *_, data in left.edges(node, data=True) for p in data["ports"]}
        was = {str(p) for *_, data in graph.edges(node, data=True) for p in data["ports"]}
        if node.kind == "device" and was - kept and kept:
            yield f"{node.name} loses {', '.join(sorted(was - kept))} and keeps {', '.join(sorted(kept))}"
        elif node.kind == "switch":
            for near in sorted(set(graph.neighbors(node)) & set(left)):
                cords, still = graph.number_of_edges(node, near), left.number_of_edges(node, near)
                if near.kind == "switch" and node < near and 0 < still < cords:
                    yield f"{node.name} - {near.name} keeps {still} of {cords} cords"
                elif near.kind == "switch" and node < near and not still and near not in dark:
                    yield f"{node.name} - {near.name} is cut; another way remains"


def _loads(torn: Cut, seen: Look) -> Iterator[Load]:
    for port in sorted(torn.ports):
        state = seen.picture.ports.get(port)
        if state and feeds(state):
            yield Load(port=str(port), watts=state.power.watts if state.power else None)


def _bundles(torn: Cut, seen: Look) -> Iterator[str]:
    for group, members in sorted(seen.picture.members_of.items()):
        lost = [port for port in members if port in torn.ports]
        if lost and len(lost) < len(members):
            yield f"aggregation {group} keeps {len(members) - len(lost)} of its {len(members)} members"


def _elsewhere(torn: Cut, seen: Look) -> Iterator[str]:
    """Devices that really are somewhere else than the map has them."""
    picture = seen.picture
    for channel in torn.channels:
        device = channel.device
        home = picture.port_of(channel.port)
        if device is None or home is None or not any(step.kind is StepKind.DEVICE for step in channel.steps):
            continue
        heard = {p for mac in device.macs for p in seen.heard_at.get(mac, ()) if seen.uplink(p) is None}
        if heard and not any(picture.same_place(home, port) for port in heard):
            places: list[PortRef] = sorted(heard)
            yield f"the map has {device.name} at {End(home.switch, home.port)}, and it was heard at {places[0]}"
