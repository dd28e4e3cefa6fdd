"""From proofs to what the rest of the program reads: a placement for every station, or the reason why it has none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reconcile.locate.judgement import Judge
from reconcile.locate.placement import Grade, Placement

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reconcile.locate.examined import Examined

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
    for x, rows in facts.twice.items():
        if x in facts.barred or facts.owner[x] >= 0:
            continue
        ports = tuple(dict.fromkeys(facts.book.ref(a, p) for a, p, _ in rows))
        vlans = {vlan for _, _, vlan in rows}
        if len(vlans) == len(rows):
            because = "heard on several ports of one switch, each in a VLAN of its own: one device with several legs"
        else:
            because = "heard on several ports of one switch in one VLAN: it moved while the table was read, or a loop"
        yield x, Placement(facts.macs[x], None, Grade.AMBIGUOUS, ports, because, facts.vlans[x])
    for x, places in facts.configured.items():
        if x in facts.barred or facts.owner[x] >= 0:
            continue
        ports = tuple(facts.book.ref(a, p) for a, p in sorted(places))
        at = ports[0] if len(ports) == 1 else None
        grade = Grade.PROBABLE if at else Grade.AMBIGUOUS
        because = "entered in the table of this switch by its configuration, not heard"
        yield x, Placement(facts.macs[x], at, grade, ports, because, facts.vlans[x])


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
