"""From proofs to what the rest of the program reads: a placement for every station, or the reason why it has none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from collectors.names import AddressKind
from reconcile.locate.facts import NEVER_PLACED
from reconcile.locate.judgement import Judge
from reconcile.locate.placement import Grade, Placement

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from reconcile.locate.examined import Examined
    from reconcile.locate.facts import Facts

_LEGS = "heard on several ports, each in a VLAN of its own: one device with several legs, such as a router or firewall"
_TWICE = "heard on several ports of one switch in one VLAN: it moved while the table was read, or a loop"
_SHARED = ("02:bf", "03:bf")
_SOFTWARE_GIVEN = (
    "heard on this port alone; software gave its address: a server of a load-balancing cluster may have it"
)
_TWO_NETWORKS = "heard in networks that share hardly any other address"


def place_all(examined: Examined) -> dict[str, Placement]:
    """A placement for every station that some network sees; one that several see is told of all of them."""
    placed: dict[str, Placement] = {}
    for names in examined.names:
        for placement in Judge(examined.facts, names).all():
            other = placed.get(placement.mac)
            placed[placement.mac] = either(other, placement, _TWO_NETWORKS) if other else placement
    for x, placement in _exceptions(examined):
        placed[examined.facts.macs[x]] = placement
    return placed


def either(one: Placement, other: Placement, because: str) -> Placement:
    """What two proofs say of one station: the one place that they name, or all that fit."""
    if one.at is not None and one.at == other.at:
        return replace(one, vlans=tuple(sorted({*one.vlans, *other.vlans})))
    if (one.at is None) != (other.at is None):
        return one if one.at is not None else other
    if not one.candidates or not other.candidates:
        return one if one.candidates else other
    both = tuple(dict.fromkeys([*one.candidates, *other.candidates]))
    return Placement(one.mac, None, Grade.AMBIGUOUS, both, because, tuple(sorted({*one.vlans, *other.vlans})))


def _exceptions(examined: Examined) -> Iterator[tuple[int, Placement]]:
    """Addresses that one switch has on several ports, and those that are configured and were not heard."""
    facts = examined.facts
    on_wires = {
        (network.switches[a], p) for network in examined.networks for ends in network.proved.tree.wires for a, p in ends
    }
    for x in facts.twice:
        if x in facts.barred or facts.owner[x] >= 0:
            continue
        ports = tuple(facts.book.ref(a, p) for a, p in _places(facts, x, on_wires))
        yield (
            x,
            Placement(
                facts.macs[x], None, Grade.AMBIGUOUS, ports, _LEGS if facts.has_legs(x) else _TWICE, facts.vlans[x]
            ),
        )
    yield from _maybe_shared(facts, on_wires)
    for x, places in facts.configured.items():
        if x in facts.barred or facts.owner[x] >= 0:
            continue
        ports = tuple(facts.book.ref(a, p) for a, p in sorted(places))
        at = ports[0] if len(ports) == 1 else None
        grade = Grade.PROBABLE if at else Grade.AMBIGUOUS
        because = "entered in the table of this switch by its configuration, not heard"
        yield x, Placement(facts.macs[x], at, grade, ports, because, facts.vlans[x])


def _maybe_shared(facts: Facts, on_wires: Collection[tuple[int, int]]) -> Iterator[tuple[int, Placement]]:
    """Addresses such as the servers of a cluster have, which software may give to anybody: likely where they are alone.

    A load balancer's server sends as 02 and its own number, 01 to 20 (hexadecimal), so that every switch learns it in
    one place; the address that all of them share begins with 02:bf or 03:bf (published lists of well-known addresses).
    """
    shared = [x for x, why in facts.barred.items() if why == NEVER_PLACED[AddressKind.CLUSTER]]
    for x in shared:
        seen = facts.port[:, facts.switches + x]
        edges = [(a, int(seen[a])) for a in np.flatnonzero(seen >= 0).tolist() if (a, seen[a]) not in on_wires]
        if len(edges) == 1 and x not in facts.twice and not facts.macs[x].startswith(_SHARED):
            at = facts.book.ref(*edges[0])
            yield x, Placement(facts.macs[x], at, Grade.PROBABLE, (at,), _SOFTWARE_GIVEN, facts.vlans[x])


def _places(facts: Facts, x: int, on_wires: Collection[tuple[int, int]]) -> list[tuple[int, int]]:
    """Ports of an address that some switch has on several. Of a leg's VLAN those on trunk wires only show the way."""
    places: list[tuple[int, int]] = []
    for vlan in dict.fromkeys(vlan for *_, vlan in facts.twice[x]):
        here = [(a, p) for a, p, v in facts.twice[x] if v == vlan]
        legs = [end for end in here if end not in on_wires] if facts.has_legs(x) else []
        places += legs or here
    once = facts.port[:, facts.switches + x]
    single = [(a, int(once[a])) for a in np.flatnonzero(once >= 0).tolist()]
    return list(dict.fromkeys([*places, *(end for end in single if end not in on_wires)]))


def left_out(examined: Examined, placed: dict[str, Placement]) -> dict[str, str]:
    """Every sighted address that has no placement, and why."""
    facts = examined.facts
    reasons: dict[str, str] = {}
    for x, mac in enumerate(facts.macs):
        if mac in placed:
            continue
        if facts.owner[x] >= 0:
            reasons[mac] = f"an address of the switch {facts.book.switches[facts.owner[x]]} itself"
        else:
            reasons[mac] = facts.barred.get(x, "no switch that knows it names a port for it")
    return reasons
