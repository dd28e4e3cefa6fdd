"""From proofs to what the rest of the program reads: a placement for every station, with its reason in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import TYPE_CHECKING, overload

import numpy as np

from reconcile.locate.placement import Grade, Placement, PortRef
from reconcile.locate.stations import Reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reconcile.locate.arrays import Indexes
    from reconcile.locate.engine import Examined
    from reconcile.locate.inference import Inference
    from reconcile.locate.networks import Network
    from reconcile.locate.stations import Choice

PROVED = frozenset({Reason.EDGE, Reason.WIRE, Reason.EXCLUDED, Reason.ALL_AGREE})
_LIKELY = frozenset({Reason.LAWFUL, Reason.LONE, Reason.DISPUTED})
_WORDS = {
    Reason.EDGE: "heard on this port, which faces no other switch",
    Reason.WIRE: "heard from every end of a wire between switches, where unmanaged equipment must be",
    Reason.EXCLUDED: "every other place contradicts a sighting",
    Reason.ALL_AGREE: "every arrangement of these switches that fits what they see has it here",
    Reason.LAWFUL: "the one place whose own switches all heard it",
    Reason.LONE: "heard from the ends of a wire between switches, but hardly anybody else is: it may have moved",
    Reason.DISPUTED: "heard on this port, while some switches still see it elsewhere",
    Reason.EDGES: "heard on several ports that face no other switch: it moved, or several devices have this address",
    Reason.OPEN: "its own switch has not heard it lately: the direction is known, the port is not",
    Reason.CONTRADICTED: "what the switches see of it does not fit any one place: it moved, or several devices have it",
}
_TWO_NETWORKS = "heard in networks that share hardly any other address"
_MOSTLY = 4  # sightings for a place per sighting against it from which on a disputed place is probable


@dataclass(slots=True)
class NetworkNames:
    """One network with the port references of its switches by flat port number, made once."""

    network: Network
    refs: list[PortRef]
    strangers: dict[int, str]
    unasked: dict[int, str]  # by the map alone
    names: list[str]

    @classmethod
    def of(cls, examined: Examined, network: Network) -> NetworkNames:
        """Looks the names up."""
        book = examined.facts.book
        refs: list[PortRef] = []
        strangers: dict[int, str] = {}
        unasked: dict[int, str] = {}
        for a, count in zip(network.switches, network.proved.tables.ports, strict=True):
            for p in range(count):
                if (a, p) in examined.links.strangers:
                    strangers[len(refs)] = examined.links.strangers[a, p].name
                if (a, p) in examined.unasked:
                    unasked[len(refs)] = examined.unasked[a, p].switch
                refs.append(PortRef(book.switches[a], book.names[a][p]))
        return cls(network, refs, strangers, unasked, [book.switches[a] for a in network.switches])

    def ref(self, a: int, p: int) -> PortRef:
        """A port by the numbers of this network."""
        return self.refs[self.network.proved.tables.flat(a, p)]

    def number_of(self, ref: PortRef | None) -> tuple[int, int] | None:
        """The inverse of `ref`; None for a port that this network does not have."""
        return self.network.proved.tables.end(self.refs.index(ref)) if ref in self.refs else None

    def wire_ends(self, inference: Inference, w: int) -> list[PortRef]:
        """The ports on a trunk wire."""
        return [self.refs[inference.tables.flat(*end)] for end in inference.tree.wires[w]]

    def unasked_at(self, at: int, wire: int) -> tuple[str, bool]:
        """A switch on this port, or on any end of this wire, that was not asked; and whether only the map has it."""
        tables, tree = self.network.proved.tables, self.network.proved.tree
        ends = [tables.flat(*end) for end in tree.wires[wire]] if wire >= 0 else [at]
        for known, by_map in ((self.strangers, False), (self.unasked, True)):
            for n in ends:
                if n in known:
                    return known[n], by_map
        return "", False


def place_all(examined: Examined) -> dict[str, Placement]:
    """A placement for every station that some network sees; one that several see is told of all of them."""
    placed: dict[str, Placement] = {}
    for names in examined.names:
        for placement in _of_network(examined, names):
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


def _of_network(examined: Examined, names: NetworkNames) -> Iterator[Placement]:
    facts, proved = examined.facts, names.network.proved
    homes = proved.homes
    company = np.bincount(homes.at[homes.at >= 0], minlength=1)
    columns = (homes.at.tolist(), homes.wire.tolist(), homes.reason.tolist())
    edge, several, unseen = int(Reason.EDGE), int(Reason.OPEN), int(Reason.UNSEEN)
    words = _WORDS[Reason.OPEN]
    plain = not proved.tree.loose and not names.strangers and not names.unasked
    for x, (at, wire, reason) in enumerate(zip(*columns, strict=True)):
        if reason == unseen:
            continue
        mac, vlans = facts.macs[x], facts.vlans[x]
        if plain and reason == edge:
            ref = names.refs[at]
            yield Placement(mac, ref, Grade.CERTAIN, (ref,), _edge_words(int(company[at])), vlans)
        elif plain and reason == several:
            yield Placement(mac, None, Grade.AMBIGUOUS, _Choices(names, x, homes.choices[x]), words, vlans)
        else:
            yield _judge(names, x, mac, vlans, at, wire, Reason(reason), company)


@cache
def _edge_words(company: int) -> str:
    """A switch cannot tell what shares a port: unmanaged switch, access point, hypervisor or telephone."""
    if company == 1:
        return _WORDS[Reason.EDGE]
    others = "another station" if company == 2 else f"{company - 1} others"
    return f"{_WORDS[Reason.EDGE]}, with {others}: behind an unmanaged switch, access point, hypervisor or telephone"


def _judge(
    names: NetworkNames,
    x: int,
    mac: str,
    vlans: tuple[int, ...],
    at: int,
    wire: int,
    reason: Reason,
    company: Indexes,
) -> Placement:
    """Proof first, then what little evidence says, then the map, then all that is possible."""
    network = names.network
    ends = _ends(names, network.proved, at, wire)
    unasked, by_map = names.unasked_at(at, wire)
    if unasked:
        words = f"heard on this port, which {'by the map ' if by_map else ''}leads to {unasked}, and that was not asked"
        return Placement(mac, None, Grade.AMBIGUOUS, ends, words, vlans, map_broke_tie=by_map)
    words = _edge_words(int(company[at])) if reason == Reason.EDGE else _WORDS[reason]
    loose = network.proved.unless(x) if at >= 0 else ()
    if reason in PROVED and not loose:
        return Placement(mac, ends[0], Grade.CERTAIN, ends, words, vlans)
    likely = network.likely
    if likely and likely.homes.reason[x] in PROVED and not likely.unless(x):
        ends = _ends(names, likely, int(likely.homes.at[x]), int(likely.homes.wire[x]))
        words = f"{_WORDS[Reason(likely.homes.reason[x])]}; fewer independent witnesses than a proof takes"
        return Placement(mac, ends[0], Grade.PROBABLE, ends, words, vlans)
    if network.mapped and network.mapped.homes.reason[x] in PROVED | _LIKELY and not network.mapped.unless(x):
        ends = _ends(names, network.mapped, int(network.mapped.homes.at[x]), int(network.mapped.homes.wire[x]))
        words = f"{_WORDS[Reason(network.mapped.homes.reason[x])]}, if the documented links between switches are true"
        return Placement(mac, ends[0], Grade.PROBABLE, ends, words, vlans, map_broke_tie=True)
    if reason in PROVED:
        unless = tuple(names.names[g] for g in loose)
        others = _loose_ports(names, network.proved, loose, x)
        best = likely or network.proved
        agrees = int(best.homes.reason[x]) in PROVED and best.homes.at[x] == at
        is_there = any(best.is_there(g) for g in best.unless(x)) if agrees else True
        if is_there or (network.mapped and network.mapped.homes.at[x] != at):
            words = f"heard on this port, and {' or '.join(unless)}, which no sighting places, may be there"
            return Placement(mac, None, Grade.AMBIGUOUS, ends + others, words, vlans)
        return Placement(mac, ends[0], Grade.CERTAIN_UNLESS, ends + others, words, vlans, unless)
    against, support = int(network.proved.homes.against[x]), int(network.proved.homes.support[x])
    if reason in _LIKELY and support >= _MOSTLY * against:
        unless = tuple(names.names[g] for g in loose)
        return Placement(mac, ends[0], Grade.PROBABLE, ends, words, vlans, unless)
    return Placement(mac, None, Grade.AMBIGUOUS, choices_of(names, x), words, vlans)


def _ends(names: NetworkNames, inference: Inference, at: int, wire: int) -> tuple[PortRef, ...]:
    """The port, or all ports of a wire, the one nearest to the root first."""
    if at < 0:
        return ()
    ends = names.wire_ends(inference, wire) if wire >= 0 else []
    return tuple(dict.fromkeys([names.refs[at], *ends]))


def _loose_ports(names: NetworkNames, inference: Inference, loose: Iterable[int], x: int) -> tuple[PortRef, ...]:
    """Ports of switches that nothing places, where the station may be instead."""
    tables = inference.tables
    found: list[PortRef] = []
    for g in loose:
        seen = int(tables.port[g, tables.switches + x])
        ports = [seen] if seen >= 0 else np.flatnonzero(tables.is_open[g, : tables.ports[g]]).tolist()
        found += [names.refs[tables.flat(g, p)] for p in ports]
    return tuple(r for r in found if r.port)


def choices_of(names: NetworkNames, x: int) -> Sequence[PortRef]:
    """All ports that fit."""
    inference = names.network.proved
    tables, homes, tree = inference.tables, inference.homes, inference.tree
    if homes.reason[x] in (Reason.EDGES, Reason.DISPUTED):
        seen = tables.port[:, tables.switches + x]
        edge = [
            tables.flat(a, int(seen[a])) for a in np.flatnonzero(seen >= 0).tolist() if tree.wire_of[a, seen[a]] < 0
        ]
        return tuple(names.refs[n] for n in edge)
    choice = homes.choices.get(x)
    return _Choices(names, x, choice) if choice else ()


class _Choices(Sequence[PortRef]):
    """All ports that fit one station, named when somebody asks: of a large site there may be thousands for each."""

    def __init__(self, names: NetworkNames, x: int, choice: Choice) -> None:
        self._names, self._x, self._choice = names, x, choice

    @cached_property
    def _refs(self) -> tuple[PortRef, ...]:
        inference = self._names.network.proved
        tables, tree = inference.tables, inference.tree
        ends = [tables.flat(*end) for w in self._choice.wires().tolist() for end in tree.wires[w]]
        flat = ends + self._choice.flat_ports(tables, tree).tolist()
        refs = [ref for n in flat if (ref := self._names.refs[n]).port]
        return (*refs, *_loose_ports(self._names, inference, tree.loose, self._x))

    def __len__(self) -> int:
        return len(self._refs)

    @overload
    def __getitem__(self, index: int) -> PortRef: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[PortRef, ...]: ...
    def __getitem__(self, index: int | slice) -> PortRef | tuple[PortRef, ...]:
        return self._refs[index]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._refs == tuple(other)

    def __hash__(self) -> int:
        return hash(self._refs)

    def __repr__(self) -> str:
        return repr(self._refs)


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
