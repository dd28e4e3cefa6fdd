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
    """An access point or a telephone: what it calls itself, what it is, and the addresses that are itself."""

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
    loops: list[LinkEnd] = field(default_factory=list)  # ports that hear their own switch
    rings: list[Link] = field(default_factory=list)  # they all carry traffic, and form a circle

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
            elif advert.carries:
                carriers[here].append(Carrier(advert.says, advert.carries, advert.own))
        else:
            there = facts.book.find(advert.there, place) if advert.there else None
            link = Link(here, there, peer, advert.protocol, _life(facts, here, there, trust_states))
            known = raw.get((here, peer))
            if known is None or (known.protocol, known.there is None) > (link.protocol, there is None):
                raw[here, peer] = link
                if there is not None:  # what one side says counts for both
                    raw.setdefault((there, here[0]), Link(there, here, here[0], advert.protocol, link.life))
    found.carriers = {here: some[0] for here, some in carriers.items() if len({c.name for c in some}) == 1}
    found.rings = _circles(raw.values())
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


def _circles(links: Iterable[Link]) -> list[Link]:
    """Active links that are part of a circle, or parallel to another one: on a loop-free network one is not active."""
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    active = [link for link in links if link.life is Life.ACTIVE]
    for link in active:
        graph.add_edge(link.here[0], link.peer, key=_cord(link))
    simple: nx.Graph[int] = nx.Graph(graph.edges())
    bridges = {frozenset((a, b)) for a, b in cast("Iterable[tuple[int, int]]", nx.bridges(simple))} if graph else set()
    return [
        x
        for x in active
        if frozenset((x.here[0], x.peer)) not in bridges or graph.number_of_edges(x.here[0], x.peer) > 1
    ]


def _cord(link: Link) -> tuple[LinkEnd, LinkEnd | int]:
    if link.there is None:
        return link.here, link.peer
    return min(link.here, link.there), max(link.here, link.there)
