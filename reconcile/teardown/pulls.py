"""The cords to pull, in order, with what to mind at each; and what is spare afterwards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.channels import Channel, Step
from reconcile.limits.fibre import grade
from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import HolderKind, MapIndex, Place
from reconcile.patchmap.model import Cord, End, FixedCable, fold
from reconcile.swap.likeness import feeds
from reconcile.swap.look import Look
from reconcile.teardown.cut import Cut, cords_of, label_of
from reconcile.teardown.graph import Graph, Node
from reconcile.teardown.model import Pull, Spare
from reconcile.teardown.order import Rank, ranks
from reconcile.teardown.scope import Scope

_FIRST: Rank = (0, 0.0)


def pulls(scope: Scope, torn: Cut, graph: Graph, root: Node, seen: Look) -> list[Pull]:
    """Devices first, links between switches last, the nearest to the root at the very end."""
    order = ranks(graph, root)
    found: dict[frozenset[End], tuple[Rank, Pull]] = {}
    covered: set[PortRef] = set()
    for channel in torn.channels:
        ends = [port for end in (channel.port, channel.far_port) if (port := seen.picture.port_of(end))]
        cords = cords_of(channel, scope)
        if cords:
            covered.update(ends)
        rank = max((order[port] for port in ends if port in order), default=_FIRST)
        for step, a, b in cords:
            found.setdefault(frozenset((a, b)), (rank, _pull(step, a, b, channel, ends, rank, seen)))
    rows = list(found.values()) + list(_undocumented(torn, covered, order, seen))
    return [pull for _, pull in sorted(rows, key=lambda row: row[0])]  # stable: else in the order of the map


def _pull(step: Step, a: End, b: End, channel: Channel, ends: Sequence[PortRef], rank: Rank, seen: Look) -> Pull:
    link = channel.far_port is not None or rank > _FIRST
    touched = [port for port in ends if port in (seen.picture.port_of(a), seen.picture.port_of(b))]
    mind = [*_mind(touched, link, seen), *_doubts(channel, ends, seen)]
    if isinstance(step.row, Cord) and grade(step.row.category):
        mind.append("fibre: cap both ends at once")
    return Pull(cord=label_of(step), a=str(a), b=str(b), link=link, mind=tuple(mind))


def _mind(ports: Sequence[PortRef], link: bool, seen: Look) -> Iterator[str]:
    for port in ports:
        state = seen.picture.ports[port]
        if feeds(state):
            watts = state.power.watts if state.power else None
            yield f"{port} feeds power" + (f", {watts:g} W now" if watts else "") + ": shut it first"
    if link:
        yield "others depend on it: confirm before it is pulled"


def _doubts(channel: Channel, ports: Sequence[PortRef], seen: Look) -> Iterator[str]:
    """What was seen on the ports and is not what the map has there: the cord may be another one."""
    picture = seen.picture
    for port in ports:
        uplink = seen.uplink(port)
        other = [far for far in ports if far != port]
        if uplink and uplink.there and not any(picture.same_place(uplink.there, far) for far in other):
            yield f"the map may be wrong: {port} leads to {uplink.there}"
        elif channel.device and channel.device.macs and not uplink:
            heard = {placement.mac for placement in picture.stations(port)}
            known = {picture.device_of[mac].name for mac in heard if mac in picture.device_of}
            if heard and channel.device.name not in known and not channel.device.carries:
                yield f"the map may be wrong: {', '.join(sorted(known or heard))} was heard at {port}"


def _undocumented(
    torn: Cut, covered: set[PortRef], order: dict[PortRef, Rank], seen: Look
) -> Iterator[tuple[Rank, Pull]]:
    """Ports with link whose cord the map does not have: whoever pulls it has to follow it by hand."""
    told: set[PortRef] = set()
    for port in sorted(torn.ports - covered):
        if port in told or not seen.link_up(port) or seen.picture.members_of.get(port):
            continue
        uplink = seen.uplink(port)
        there = uplink.there if uplink else None
        if there in covered:
            continue
        told |= {port} | ({there} if there else set())
        voices = sorted(seen.voices_at(port))
        other = str(there or uplink.peer) if uplink else voices[0] if voices else "somebody who keeps silent"
        rank = order.get(port, _FIRST)
        mind = ("the map does not have this cord: follow it by hand", *_mind([port], uplink is not None, seen))
        yield rank, Pull(a=str(port), b=other, link=uplink is not None, documented=False, mind=mind)


def spare(scope: Scope, torn: Cut, pulled: Sequence[Pull], seen: Look) -> Spare:
    """Places that lose their cord and stay, the cords themselves, and fixed cables that nobody is patched to."""
    index = seen.picture.channels.index or MapIndex(seen.picture.patch_map)
    free: dict[HolderKind, list[str]] = {kind: [] for kind in HolderKind}
    keys: set[tuple[str, str]] = set()
    rows = [(step, a, b) for channel in torn.channels for step, a, b in cords_of(channel, scope)]
    for _, a, b in rows:
        for end in (a, b):
            place = index.place(end)
            if isinstance(place, Place) and place.key not in keys:
                keys.add(place.key)
                if fold(end.name) not in scope.holders:
                    free[place.kind].append(str(place.end))
    return Spare(
        ports=tuple(free[HolderKind.SWITCH]),
        jacks=tuple(free[HolderKind.PANEL]),
        outlets=tuple(free[HolderKind.OUTLET]),
        cords=tuple(dict.fromkeys(pull.cord for pull in pulled if pull.cord and not pull.cord.startswith("own lead"))),
        cables=tuple(dict.fromkeys(_idle_cables(torn, keys, index))),
    )


def _idle_cables(torn: Cut, freed: set[tuple[str, str]], index: MapIndex) -> Iterator[str]:
    """Fixed cables on the cut paths with nothing patched at either end any more."""
    for channel in torn.channels:
        for step in channel.steps:
            if isinstance(step.row, FixedCable) and all(_idle(end, freed, index) for end in (step.row.a, step.row.b)):
                yield step.row.label or f"{step.row.a} - {step.row.b}"


def _idle(end: End, freed: set[tuple[str, str]], index: MapIndex) -> bool:
    place = index.place(end)
    if not isinstance(place, Place):
        return True
    return place.key in freed or not index.at_slot.get(place.slot(fixed=False))
