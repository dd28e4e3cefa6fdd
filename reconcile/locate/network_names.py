"""The numbers of one network in the words of the site."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.astray import find_astray
from reconcile.locate.guests import machines
from reconcile.locate.moved import places_in_pairs
from reconcile.locate.placement import PortRef

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from reconcile.locate.astray import Astray
    from reconcile.locate.facts import Facts
    from reconcile.locate.inference import Inference
    from reconcile.locate.links import Carrier, Links
    from reconcile.locate.networks import Network
    from reconcile.locate.stations import Choice


@dataclass(slots=True)
class NetworkNames:
    """One network with the port references of its switches by flat port number, made once.

    `strangers`, `unasked`: ports behind which a switch that was not asked was heard, or is by the map alone;
    `machines`: those of the strangers that are machines with guests, with their own addresses; `carriers`: ports with
    an access point or a telephone; `unsaid`: with one that does not say what it is; `astray`: ports and
    stations beside the tree; `mute`: switches that did not answer, and of which nothing tells where they are.
    """

    network: Network
    refs: list[PortRef]
    strangers: dict[int, str]
    unasked: dict[int, str]
    names: list[str]
    machines: dict[int, frozenset[str]]
    carriers: dict[int, Carrier]
    unsaid: dict[int, Carrier]
    astray: Astray
    mute: list[str]
    _known_tuples: dict[tuple[int, ...], tuple[str, ...]] = field(default_factory=dict)

    @classmethod
    def of(
        cls, facts: Facts, links: Links, by_map: Mapping[tuple[int, int], PortRef], network: Network
    ) -> NetworkNames:
        """Looks the names up. `by_map`: the documented ends of ports that lead to switches that were not asked."""
        book = facts.book
        refs: list[PortRef] = []
        strangers: dict[int, str] = {}
        unasked: dict[int, str] = {}
        carriers: dict[int, Carrier] = {}
        unsaid: dict[int, Carrier] = {}
        for a, count in zip(network.switches, network.proved.tables.ports, strict=True):
            for p in range(count):
                if (a, p) in links.strangers:
                    strangers[len(refs)] = links.strangers[a, p].name
                if (a, p) in links.carriers:
                    carriers[len(refs)] = links.carriers[a, p]
                if (a, p) in links.unsaid:
                    unsaid[len(refs)] = links.unsaid[a, p]
                if (a, p) in by_map:
                    unasked[len(refs)] = by_map[a, p].switch
                refs.append(PortRef(book.switches[a], book.names[a][p]))
        names = [book.switches[a] for a in network.switches]
        guests, astray = machines(facts, links, by_map, network), find_astray(facts, links, network)
        told = {*(stranger.name for stranger in links.strangers.values()), *(r.switch for r in by_map.values())}
        mute = [name for name in facts.observed.coverage.failed if name not in told]
        return cls(network, refs, strangers, unasked, names, guests, carriers, unsaid, astray, mute)

    def ref(self, a: int, p: int) -> PortRef:
        """A port by the numbers of this network."""
        return self.refs[self.network.proved.tables.flat(a, p)]

    def number_of(self, ref: PortRef | None) -> tuple[int, int] | None:
        """The inverse of `ref`; None for a port that this network does not have."""
        return self.network.proved.tables.end(self.refs.index(ref)) if ref in self.refs else None

    def switches(self, numbers: tuple[int, ...]) -> tuple[str, ...]:
        """The names of some switches; the same object for the same switches, for on a large site they repeat."""
        if numbers not in self._known_tuples:
            self._known_tuples[numbers] = tuple(map(self.names.__getitem__, numbers))
        return self._known_tuples[numbers]

    def wire_ends(self, inference: Inference, w: int) -> list[PortRef]:
        """The ports on a trunk wire."""
        return [self.refs[inference.tables.flat(*end)] for end in inference.tree.wires[w]]

    def ends(self, inference: Inference, x: int) -> tuple[PortRef, ...]:
        """The port where a station is, or all ports of its wire; none where it is open."""
        at, wire = int(inference.homes.at[x]), int(inference.homes.wire[x])
        if at < 0:
            return ()
        return tuple(dict.fromkeys([self.refs[at], *(self.wire_ends(inference, wire) if wire >= 0 else ())]))

    def unasked_at(self, at: int, wire: int) -> tuple[str, bool]:
        """A switch on this port, or on any end of this wire, that was not asked; and whether only the map has it."""
        tables, tree = self.network.proved.tables, self.network.proved.tree
        ends = [tables.flat(*end) for end in tree.wires[wire]] if wire >= 0 else [at]
        for known, by_map in ((self.strangers, False), (self.unasked, True)):
            for n in ends:
                if n in known:
                    return known[n], by_map
        return "", False

    def edge_sightings(self, x: int) -> tuple[PortRef, ...]:
        """The ports that lead to no switch on which a station was heard."""
        tables, tree = self.network.proved.tables, self.network.proved.tree
        seen = tables.port[:, tables.switches + x]
        ends = ((a, int(seen[a])) for a in np.flatnonzero(seen >= 0).tolist() if tree.wire_of[a, seen[a]] < 0)
        return tuple(self.ref(*end) for end in ends if tables.flat(*end) not in self.astray.ways)

    def anywhere(self, x: int) -> list[PortRef]:
        """Where a station may be if nothing is known of the way to it: where it was heard, and what has not heard it.

        A switch that has it learned it towards it, whatever the tree.
        """
        tables = self.network.proved.tables
        seen = tables.port[:, tables.switches + x]
        flat = [tables.flat(a, int(seen[a])) for a in np.flatnonzero(seen >= 0).tolist()]
        for a in np.flatnonzero(seen < 0).tolist():
            flat += (tables.base[a] + np.flatnonzero(tables.is_open[a, : tables.ports[a]])).tolist()
        return [ref for n in flat if (ref := self.refs[n]).port]

    def fitting(self, choice: Choice, x: int) -> list[PortRef]:
        """All ports that fit a station, those of switches that nothing places among them."""
        tables, tree = self.network.proved.tables, self.network.proved.tree
        ends = [tables.flat(*end) for w in choice.wires().tolist() for end in tree.wires[w]]
        flat = ends + choice.flat_ports(tables, tree).tolist()
        return [ref for n in flat if (ref := self.refs[n]).port] + self.loose_ports(tree.loose, x)

    def in_pairs(self, x: int) -> list[PortRef]:
        """All ports where a station may be that no one place fits, the likeliest first."""
        tables, tree, homes = self.network.proved.tables, self.network.proved.tree, self.network.proved.homes
        refs = [ref for n in places_in_pairs(tables, tree, x) if (ref := self.refs[n]).port]
        if refs:
            return refs + self.loose_ports(tree.loose, x)
        return self.fitting(homes.choices[x], x) if x in homes.choices else list(self.edge_sightings(x))

    def loose_ports(self, loose: Iterable[int], x: int) -> list[PortRef]:
        """Ports of switches that nothing places, where a station may be instead."""
        tables = self.network.proved.tables
        found: list[PortRef] = []
        for g in loose:
            seen = int(tables.port[g, tables.switches + x])
            ports = [seen] if seen >= 0 else np.flatnonzero(tables.is_open[g, : tables.ports[g]]).tolist()
            found += [self.refs[tables.flat(g, p)] for p in ports]
        return [ref for ref in found if ref.port]
