"""Which of the links that neighbours advertise carry traffic, and what they prove.

LLDP frames are not relayed by bridges (IEEE 802.1AB clause 7.1, destination 01-80-C2-00-00-0E), so two ports that
show each other are on one wire; unmanaged equipment may pass them. CDP is relayed by bridges that do not know it:
it proves the direction alone. Both are heard on ports that spanning tree blocks, where no station can be.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import TYPE_CHECKING, NamedTuple, cast

import networkx as nx

if TYPE_CHECKING:
    from collections.abc import Iterable

    from reconcile.locate.facts import Facts
    from reconcile.locate.identity import Advert

LinkEnd = tuple[int, int]  # switch, port


class Life(Enum):
    """Whether a link is part of the active topology."""

    ACTIVE = auto()
    BLOCKED = auto()
    UNKNOWN = auto()


class Link(NamedTuple):
    """An advertised link between two asked switches, known from one or both sides."""

    here: LinkEnd
    there: LinkEnd | None
    peer: int
    protocol: str
    life: Life


class Stranger(NamedTuple):
    """Equipment that relays and was not asked, by the site's name for it or by what it calls itself.

    `own`: the addresses that it names itself by, for one that may be a machine with guests: no switch of the site,
    and alone on its port.
    """

    name: str
    protocol: str
    own: frozenset[str] = frozenset()


class Carrier(NamedTuple):
    """An access point or a telephone: what it calls itself, what it is ('' if unsaid), and its own addresses."""

    name: str
    what: str
    own: frozenset[str]


@dataclass(slots=True)
class Links:
    """All advertised links. `strangers`: ports behind which an equipment that relays was heard and not asked.

    `carriers`: ports with one access point or telephone, through which others may speak.
    """

    links: list[Link] = field(default_factory=list)
    strangers: dict[LinkEnd, Stranger] = field(default_factory=dict)
    carriers: dict[LinkEnd, Carrier] = field(default_factory=dict)
    unsaid: dict[LinkEnd, Carrier] = field(default_factory=dict)  # ports with somebody who does not say what it is
    loops: list[LinkEnd] = field(default_factory=list)  # ports that hear their own switch
    rings: list[Link] = field(default_factory=list)  # they all carry traffic, and form a circle
    blocked: set[LinkEnd] = field(default_factory=set)  # ports that spanning tree blocks, and that hear stations

    def proofs(self) -> tuple[dict[LinkEnd, int], list[tuple[int, int, int, int]]]:
        """Directions (port -> the switch behind it), and pairs of ports on one wire."""
        directions = {link.here: link.peer for link in self.links if link.life is Life.ACTIVE}
        wires = {
            (*min(link.here, link.there), *max(link.here, link.there))
            for link in self.links
            if link.life is Life.ACTIVE and link.there is not None and link.protocol == "lldp"
        }
        return directions, sorted(wires)


def read_links(facts: Facts, adverts: Iterable[Advert], trust_states: bool = True) -> Links:
    """Sorts the adverts into links between asked switches, equipment that was not asked, and loops.

    `trust_states`: whether a port that spanning tree has forwarding is known to forward what the facts are about.
    """
    place = {name: a for a, name in enumerate(facts.book.switches)}
    found = Links()
    raw: dict[tuple[LinkEnd, int], Link] = {}
    carriers: dict[LinkEnd, list[Carrier]] = defaultdict(list)
    for advert in adverts:
        here = facts.book.find(advert.here, place)
        if here is None:
            continue
        peer = place.get(advert.peer, -1)
        if peer == here[0]:
            found.loops.append(here)
        elif peer < 0:
            if advert.relays or advert.peer:
                known_there = found.strangers.get(here)
                found.strangers[here] = known_there._replace(own=frozenset()) if known_there else _stranger(advert)
            elif advert.carries or advert.unsaid:
                carriers[here].append(Carrier(advert.says, advert.carries, advert.own))
        else:
            there = facts.book.find(advert.there, place) if advert.there else None
            link = Link(here, there, peer, advert.protocol, _life(facts, here, there, trust_states))
            known = raw.get((here, peer))
            if known is None or (known.protocol, known.there is None) > (link.protocol, there is None):
                raw[here, peer] = link
                back = raw.get((there, here[0])) if there is not None else None
                if there is not None and (back is None or back.there is None):  # what one side says counts for both
                    raw[there, here[0]] = Link(there, here, here[0], advert.protocol, link.life)
    alone = {here: some[0] for here, some in carriers.items() if len({c.name for c in some}) == 1}
    found.carriers = {here: carrier for here, carrier in alone.items() if carrier.what}
    found.unsaid = {here: carrier for here, carrier in alone.items() if not carrier.what and carrier.name}
    found.rings = _circles(list(raw.values()))
    found.blocked = _blocked_and_heard(facts) if trust_states else set()
    found.links = [x._replace(life=Life.UNKNOWN) if x in found.rings else x for x in raw.values()]
    return found


def _stranger(advert: Advert) -> Stranger:
    """LLDP alone is told by the one at the other end of the wire; CDP may have been relayed."""
    own = advert.own if advert.protocol == "lldp" and not advert.peer else frozenset()
    return Stranger(advert.peer or advert.says, advert.protocol, own)


def _life(facts: Facts, here: LinkEnd, there: LinkEnd | None, trust_states: bool) -> Life:
    """Active where stations are heard on an end, or spanning tree forwards on both; blocked where it blocks an end."""
    ends = [here] if there is None else [here, there]
    if any(_carries(facts, end) for end in ends):
        return Life.ACTIVE
    states = [facts.book.forwards[a][n] for a, n in ends]
    if False in states:
        return Life.BLOCKED
    return Life.ACTIVE if trust_states and states == [True, True] else Life.UNKNOWN


def _carries(facts: Facts, end: LinkEnd) -> bool:
    a, n = end
    stations = facts.owner < 0
    return bool((facts.port[a, facts.switches :][stations] == n).any())


def _blocked_and_heard(facts: Facts) -> set[LinkEnd]:
    """Ports that spanning tree blocks and that hear stations all the same: for some VLANs, or until just now."""
    ends = [(a, n) for a, states in enumerate(facts.book.forwards) for n, forwards in enumerate(states)
            if forwards is False]  # fmt: skip
    return {end for end in ends if _carries(facts, end)}


def _circles(links: list[Link]) -> list[Link]:
    """Active links that are part of a circle, or parallel to another one: on a loop-free network one is not active.

    Ports that hear one another are one wire: where unmanaged equipment passes LLDP on, three switches behind it all
    name each other and form no circle. CDP is relayed by bridges: beside LLDP on the same port it counts for nothing.
    """
    direct = {link.here for link in links if link.protocol == "lldp"}
    active = [x for x in links if x.life is Life.ACTIVE and (x.protocol == "lldp" or x.here not in direct)]
    wires = _wires(active)
    ports: dict[tuple[LinkEnd, int], set[LinkEnd | None]] = defaultdict(set)  # by wire and switch
    for end in {end for x in active for end in (x.here, x.there) if end is not None}:
        ports[wires[end], end[0]].add(end)
    for link in active:
        if link.there is None:
            ports.setdefault((wires[link.here], link.peer), {None})
    graph: nx.Graph[LinkEnd | int] = nx.Graph(list(ports))
    edges = cast("Iterable[tuple[LinkEnd | int, LinkEnd | int]]", nx.bridges(graph) if graph else ())
    bridges = {frozenset(edge) for edge in edges}

    def is_in_circle(end: LinkEnd) -> bool:
        step = frozenset[LinkEnd | int]((wires[end], end[0]))
        return len(ports[wires[end], end[0]]) > 1 or step not in bridges

    return [x for x in active if is_in_circle(x.here)]


def _wires(active: list[Link]) -> nx.utils.UnionFind[LinkEnd]:
    """Which ports are on one wire, as far as neighbours tell; a port whose far end is not known may be so by its peer.

    Where each of two switches hears the other on one port and knows nothing of its far end, that is one cord.
    """
    wires: nx.utils.UnionFind[LinkEnd] = nx.utils.UnionFind(link.here for link in active)
    blind: dict[tuple[int, int], list[LinkEnd]] = defaultdict(list)
    for link in active:
        if link.there is not None:
            wires.union(link.here, link.there)
        else:
            blind[link.here[0], link.peer].append(link.here)
    for (a, b), ends in blind.items():
        back = blind.get((b, a), [])
        if len(ends) == len(back) == 1:
            wires.union(ends[0], back[0])
    return wires
