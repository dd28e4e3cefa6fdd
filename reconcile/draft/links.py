"""Links between switches that are certain, cord by cord, and in words what is not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from reconcile.draft.naming import position
from reconcile.draft.scene import Scene, Spot
from reconcile.locate.placement import Grade, PortRef
from reconcile.patchmap.model import End, fold


@dataclass(slots=True)
class Links:
    """`cords` joins ports of two switches; `unread` a port to one of a switch that did not answer. `words` says of a
    port that faces a switch, and whose far end nobody knows, what is known."""

    cords: dict[PortRef, PortRef] = field(default_factory=dict)
    unread: dict[PortRef, End] = field(default_factory=dict)
    words: dict[PortRef, str] = field(default_factory=dict)


def find_links(scene: Scene) -> Links:
    """Every link between switches of the site."""
    links = Links()
    shared = {group for wire in scene.shared for group in wire}
    pairs = set(_pairs(scene, shared))
    times = Counter(group for pair in pairs for group in pair)
    for one, other in sorted(pairs):
        if times[one] == times[other] == 1:
            _join(scene, scene.spots[one], scene.spots[other], links)
    _join_unread(scene, links)
    for spot in scene.spots.values():
        for member in spot.members:
            if spot.uplink is not None and member not in links.cords and member not in links.unread:
                words = _words(scene, spot)
                links.words |= {member: words} if words and spot.group not in shared else {}
    return links


def _pairs(scene: Scene, shared: set[PortRef]) -> Iterator[tuple[PortRef, PortRef]]:
    """Two groups of two switches that certainly face one another: proved, or each announces itself to the other, which
    no bridge passes on (IEEE 802.1Q table 8-1), even where nobody tells whether the link carries traffic."""
    for spot in scene.spots.values():
        uplink = spot.uplink
        if uplink is None or uplink.there is None or spot.group in shared:
            continue
        there = scene.spots.get(scene.group(uplink.there))
        if there is None or there.group.switch == spot.group.switch:
            continue
        back = there.uplink
        returned = back is not None and back.there is not None and scene.group(back.there) == spot.group
        mutual = returned and back is not None and {back.source, uplink.source} <= {"lldp", "cdp"}
        unanswered = back is None or back.there is None
        if mutual or (uplink.grade is Grade.CERTAIN and (returned or unanswered)):
            yield (min(spot.group, there.group), max(spot.group, there.group))


def _join(scene: Scene, one: Spot, other: Spot, links: Links) -> None:
    """The cords between two groups: the only one there can be, else those that a neighbour tells of by name."""
    if len(one.members) == len(other.members) == 1:
        found = {(one.members[0], other.members[0])}
    else:
        found = set(_told(scene, one, other)) | {(a, b) for b, a in _told(scene, other, one)}
    times = Counter(end for cord in found for end in cord)
    for a, b in sorted(found):
        if times[a] == times[b] == 1:
            links.cords |= {a: b, b: a}


def _told(scene: Scene, one: Spot, other: Spot) -> Iterator[tuple[PortRef, PortRef]]:
    for here, neighbours in one.neighbours.items():
        for said in neighbours:
            as_mac = said.port_id if said.port_id_kind == "macAddress" else ""
            peer = scene.directory.switch(said.chassis_id, as_mac, said.system_name)
            ports = scene.directory.ports.get(peer)
            there = PortRef(peer, ports.find(said.port_id, said.port_id_kind, said.port_description)) if ports else None
            if there in other.members:
                yield here, there


def _join_unread(scene: Scene, links: Links) -> None:
    """Links to switches of the site that did not answer: what they call their port, ?1 where they do not say."""
    failed = {fold(one.name): one.name for one in scene.snapshot.failed}
    taken: set[tuple[str, str]] = set()
    for spot in scene.spots.values():
        peer = failed.get(fold(spot.uplink.peer)) if spot.uplink else None
        for member in spot.members if peer else ():
            told = spot.neighbours.get(member, ())
            said = [position(n.port_id) for n in told if n.port_id_kind in ("interfaceName", "interfaceAlias", "")]
            number = sum(name == fold(peer or "") for name, _ in taken) + 1
            end = End(peer or "", next((port for port in said if port), f"?{number}"))
            if end.key not in taken:
                taken.add(end.key)
                links.unread[member] = end


def _words(scene: Scene, spot: Spot) -> str:
    """What is known of the other side of a link that is not written as one; '' for a switch that is not the site's."""
    uplink = spot.uplink
    if uplink is None:
        return ""
    names = [*(one.name for one in scene.snapshot.switches), *(one.name for one in scene.snapshot.failed)]
    asked = set(map(fold, names))
    likely = "" if uplink.grade is Grade.CERTAIN else "probably "
    if uplink.there is not None:
        return f"{likely}leads to {uplink.there}; which cord joins which two ports was not told for certain"
    if all(fold(peer.strip()) in asked for peer in uplink.peer.split(",")):
        return f"{likely}leads to {uplink.peer}; which of its ports was not told"
    return "" if uplink.peer else f"{likely}leads to a switch that does not tell its name"
