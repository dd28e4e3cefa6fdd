"""Stations that a tree of their own may carry: proofs here take one tree for all VLANs, and these sightings doubt it.

A second link to the same switch, or a port that spanning tree blocks, hears nobody as long as there is one tree
(IEEE 802.1D). Where it does, some VLANs go another way, an aggregation is not told, or the tree has just changed: what
was heard there is where no proof of the first tree has it. The same goes for a VLAN in which much contradicts itself
and too little is heard to prove its tree apart.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.stations import Reason

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reconcile.locate.facts import Facts
    from reconcile.locate.links import Links
    from reconcile.locate.networks import Network

CONTRADICTIONS = (Reason.EDGES, Reason.DISPUTED, Reason.CONTRADICTED)
_FEW, _SHARE = 2, 0.2  # stations of a VLAN in several places, at least, and as a share of all, from which it is doubted


@dataclass(slots=True)
class Astray:
    """What one network has beside its tree.

    `ways`: by flat port number, a clause on a port that hears stations and leads to another switch beside the tree;
    `heard`: by that port, the stations; `vlans`: VLANs that are doubted, each with the clause that says why; `why`: by
    station, what keeps its place from being proved.
    """

    ways: dict[int, str] = field(default_factory=dict)
    heard: dict[int, list[int]] = field(default_factory=dict)
    vlans: dict[int, str] = field(default_factory=dict)
    why: dict[int, str] = field(default_factory=dict)

    def on_way(self, x: int) -> bool:
        """Whether a station was heard on a port beside the tree."""
        return any(x in stations for stations in self.heard.values())


def find_astray(facts: Facts, links: Links, network: Network) -> Astray:
    """Looks through the ports that neighbours or spanning tree speak of, and through the VLANs if much is wrong."""
    found = Astray()
    tables = network.proved.tables
    for flat, clause in _second_ways(facts, links, network).items():
        a, p = tables.end(flat)
        heard = np.flatnonzero(tables.port[a, tables.switches :] == p).tolist()
        heard = [x for x in heard if facts.owner[x] < 0]
        if heard:
            found.ways[flat], found.heard[flat] = clause, heard
            name = facts.book.ref(network.switches[a], p)
            found.why |= dict.fromkeys(heard, f"it is heard on {name}, {clause}")
    _doubt_vlans(facts, network, found)
    return found


def _second_ways(facts: Facts, links: Links, network: Network) -> Mapping[int, str]:
    """Ports on no wire of the tree that lead to an asked switch, or that spanning tree blocks."""
    tables, tree = network.proved.tables, network.proved.tree
    number = {a: k for k, a in enumerate(network.switches)}
    told = dict.fromkeys(links.blocked, "which spanning tree blocks, for other VLANs or until just now")
    for link in links.rings:
        peer, protocol = facts.book.switches[link.peer], link.protocol.upper()
        told[link.here] = f"which leads to {peer} by {protocol}, beside another way that carries traffic too"
    ends = ((number[a], p, clause) for (a, p), clause in told.items() if a in number)
    return {tables.flat(k, p): clause for k, p, clause in ends if tree.wire_of[k, p] < 0}


def _doubt_vlans(facts: Facts, network: Network, found: Astray) -> None:
    reasons = network.proved.homes.reason
    wrong = {*np.flatnonzero(np.isin(reasons, CONTRADICTIONS)).tolist(), *found.why}
    if len(wrong) < _FEW:
        return
    count = Counter(chain.from_iterable(facts.vlans[x] for x in wrong))
    total = Counter(chain.from_iterable(facts.vlans[x] for x in np.flatnonzero(reasons != Reason.UNSEEN).tolist()))
    if len(total) < 2:
        return
    for vlan, n in count.items():
        if n >= max(_FEW, _SHARE * total[vlan]):
            found.vlans[vlan] = (
                f"{n} of {total[vlan]} stations of VLAN {vlan} do not fit one place: it may take a way of its own "
                "through this network, which too few are heard in to prove"
            )
    if found.vlans:
        for x in np.flatnonzero(reasons != Reason.UNSEEN).tolist():
            if (vlans := facts.vlans[x]) and found.vlans.keys() >= set(vlans):
                found.why.setdefault(x, found.vlans[vlans[0]])
