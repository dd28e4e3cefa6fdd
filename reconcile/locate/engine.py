"""The whole way from a snapshot to placements, one call a step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reconcile.locate.examined import Examined
from reconcile.locate.facts import gather
from reconcile.locate.identity import Directory, recognise
from reconcile.locate.links import read_links
from reconcile.locate.network_names import NetworkNames
from reconcile.locate.networks import solve
from reconcile.locate.placement import Grade, Located
from reconcile.locate.results import either, left_out, place_all
from reconcile.locate.vlan_trees import by_tree, is_torn
from reconcile.locate.wiring import conflicts_of, uplinks_of, wires_of

if TYPE_CHECKING:
    from collections.abc import Collection

    from reconcile.frames import Observed
    from reconcile.locate.facts import Facts
    from reconcile.locate.networks import Wires
    from reconcile.locate.placement import Placement, PortRef

MARGIN = 3
"""Stations with different homes that a conclusion about switches takes.

One is exact on clean tables. But addresses that moved stay in tables for up to 300 s (IEEE 802.1D) and testify
wrongly, and one wrong conclusion joins two wires; in simulations in which one station of a hundred had just moved,
three witnesses were enough.
"""


_LEGS = "attached at several ports, one per VLAN"


def examine(
    observed: Observed, documented_links: Collection[tuple[PortRef, PortRef]] = (), margin: int = MARGIN
) -> list[Examined]:
    """Draws all conclusions, apart for VLANs whose trees differ. `documented_links` break ties alone."""

    def part(of: Observed, whole: bool = False) -> Examined:
        return _examine_tree(of, documented_links, margin, whole)

    examined = part(observed, True)
    if not is_torn(examined, margin):
        return [examined]
    parts = by_tree(observed, part, examined)
    return [examined] if len(parts) == 1 else [part(one) for one in parts]


def _examine_tree(
    observed: Observed, documented_links: Collection[tuple[PortRef, PortRef]], margin: int, whole: bool
) -> Examined:
    """One tree. Port states are those of the whole: a port that forwards may still block some VLANs."""
    facts = gather(observed)
    links = read_links(facts, recognise(observed, Directory.of(observed)), trust_states=whole)
    directions, wires = links.proofs()
    documented, unasked = _documented(facts, documented_links)
    networks = solve(facts, directions, wires, documented, margin)
    names = [NetworkNames.of(facts, links, unasked, network) for network in networks]
    return Examined(facts, links, networks, documented, unasked, names)


def tell(parts: list[Examined]) -> Located:
    """The conclusions in the terms of the site."""
    told = [_tell_tree(examined) for examined in parts]
    if len(told) == 1:
        return told[0]
    placements: dict[str, Placement] = {}
    for located in told:
        for mac, placement in located.placements.items():
            other = placements.get(mac)
            placements[mac] = either(other, placement, _LEGS) if other else placement
    trees = [sorted({v for vlans in set(p.facts.vlans) for v in vlans}) for p in parts]
    note = "VLANs take different ways through this network and were proved apart: " + "; ".join(
        ", ".join(map(str, vlans)) for vlans in trees
    )
    return Located(
        placements,
        {mac: why for located in told for mac, why in located.unplaced.items() if mac not in placements},
        {here: uplink for located in reversed(told) for here, uplink in located.uplinks.items()},
        tuple(dict.fromkeys(ends for located in told for ends in located.shared_wires)),
        tuple(dict.fromkeys([note, *(c for located in told for c in located.conflicts)])),
        tuple(dict.fromkeys(wire for located in told for wire in located.wires)),
    )


def _tell_tree(examined: Examined) -> Located:
    placed = place_all(examined)
    wires = wires_of(examined)
    sure = (p for p in placed.values() if p.grade in (Grade.CERTAIN, Grade.PROBABLE))
    busy = {frozenset(p.candidates) for p in sure if len(p.candidates) > 1}
    certain = [w.wire.ends for w in wires if w.wire.grade is Grade.CERTAIN]
    return Located(
        placements=placed,
        unplaced=left_out(examined, placed),
        uplinks=uplinks_of(examined, wires),
        shared_wires=tuple(ends for ends in certain if len(ends) > 2 or frozenset(ends) in busy),
        conflicts=conflicts_of(examined),
        wires=tuple(w.wire for w in wires),
    )


def _documented(
    facts: Facts, links: Collection[tuple[PortRef, PortRef]]
) -> tuple[Wires, dict[tuple[int, int], PortRef]]:
    """The documented links between asked switches, and those of asked switches to others."""
    place = {name: a for a, name in enumerate(facts.book.switches)}
    inside: Wires = []
    outside: dict[tuple[int, int], PortRef] = {}
    for pair in links:
        for one, other in (pair, pair[::-1]):
            here, there = facts.book.find(one, place), facts.book.find(other, place)
            if here and there and here[0] < there[0]:
                inside.append((*here, *there))
            elif here and other.switch not in place:
                outside[here] = other
    return inside, outside
