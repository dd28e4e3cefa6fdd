"""What is said of one station: proof first, then what little evidence says, then the map, then all that is possible."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.lazy_ports import LazyPorts
from reconcile.locate.placement import Grade, Placement
from reconcile.locate.stations import Reason
from reconcile.makers import is_guest

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reconcile.locate.facts import Facts
    from reconcile.locate.inference import Inference
    from reconcile.locate.links import Carrier
    from reconcile.locate.network_names import NetworkNames
    from reconcile.locate.placement import PortRef

_PROVED = frozenset({Reason.EDGE, Reason.WIRE, Reason.EXCLUDED, Reason.ALL_AGREE})
_LIKELY = frozenset({Reason.LAWFUL, Reason.LONE, Reason.DISPUTED})
_PLACED = _PROVED | _LIKELY
_WORDS = {
    Reason.EDGE: "heard on this port, which faces no other switch",
    Reason.WIRE: "heard from every end of a wire between switches: on an unmanaged switch there, or one not asked",
    Reason.EXCLUDED: "every other place contradicts a sighting",
    Reason.ALL_AGREE: "every arrangement of these switches that fits what they see has it here",
    Reason.LAWFUL: "the one place whose own switches all heard it",
    Reason.LONE: (
        "heard from the ends of a wire between switches: on an unmanaged switch there, or it has just moved, "
        "for hardly anybody else is heard so"
    ),
    Reason.DISPUTED: "heard on this port, while some switches see it elsewhere: it may have just moved",
    Reason.EDGES: "heard on several ports that face no other switch: it moved, or several devices have this address",
    Reason.OPEN: "its own switch has not heard it lately: the direction is known, the port is not",
    Reason.CONTRADICTED: "what the switches see of it does not fit any one place: it moved, or several devices have it",
}
_MOVED = frozenset({Reason.DISPUTED, Reason.CONTRADICTED})
_MOSTLY = 4  # sightings for a place per sighting against it from which on a disputed place is probable


_GUEST = "heard on this port, with an address such as hypervisors give: a guest behind"

_MANY_VLANS = 3  # a telephone is in two: its own and that of the computer behind it
_UNSAID = "heard on this port with others, where"


def _machine_words(name: str, guests: int) -> str:
    """Of the machine itself: what it says by LLDP comes from the other end of this very wire."""
    behind = f", with {guests} guest{'s' * (guests > 1)} behind it" if guests else ""
    return f"{_WORDS[Reason.EDGE]}, and {name} says there by LLDP that this is its address{behind}"


def _mute_words(switches: Sequence[str]) -> str:
    if not switches:
        return ""
    return f", or {switches[0] if len(switches) == 1 else f'one of {len(switches)} switches'}, which did not answer"


@cache
def _edge_words(company: int, is_guest: bool, vlans: int, mute: str) -> str:
    """A switch cannot tell what shares a port: unmanaged switch, access point, hypervisor or telephone.

    `mute`: switches that did not answer and may be there as well.
    """
    if vlans >= _MANY_VLANS:
        with_others = f", with {company - 1} more on its port" if company > 1 else ""
        return f"{_WORDS[Reason.EDGE]}, in {vlans} VLANs, as a router or firewall is{with_others}"
    if company == 1:
        return _WORDS[Reason.EDGE]
    others = "another station" if company == 2 else f"{company - 1} others"
    if is_guest:
        return (
            f"{_WORDS[Reason.EDGE]}, with {others}; its address is such as hypervisors give: a guest of a machine there"
        )
    return (
        f"{_WORDS[Reason.EDGE]}, with {others}: behind an unmanaged switch, access point, hypervisor or telephone{mute}"
    )


def _carrier_words(carrier: Carrier, is_itself: bool, company: int) -> str:
    """What the one at the other end of the wire says of itself names what a switch cannot tell apart."""
    if is_itself:
        rest = f", with {company - 1} more on its port" if company > 1 else ""
        return f"{_WORDS[Reason.EDGE]}, where {carrier.name} says by LLDP that this is its address{rest}"
    return f"{_WORDS[Reason.EDGE]}, where {carrier.name} says by LLDP that it is {carrier.what}: behind it"


class Judge:
    """Judges the stations of one network."""

    def __init__(self, facts: Facts, names: NetworkNames) -> None:
        self._facts, self._names, self._network = facts, names, names.network
        self._proved = names.network.proved
        homes = self._proved.homes
        self._mute = _mute_words(names.mute)
        self._company = np.bincount(homes.at[homes.at >= 0], minlength=1)

    def all(self) -> Iterator[Placement]:
        """A placement for every station that this network heard; the two common cases by the shortest way."""
        homes, macs, vlans = self._proved.homes, self._facts.macs, self._facts.vlans
        edge, several, unseen = int(Reason.EDGE), int(Reason.OPEN), int(Reason.UNSEEN)
        words, name, company = _WORDS[Reason.OPEN], self._names.fitting, self._company.tolist()
        mute = self._mute
        told_apart = self._names.carriers.keys() | self._names.unsaid.keys()
        plain = not (self._proved.tree.loose or self._names.strangers or self._names.unasked or self._names.astray.why)
        for x, (at, reason) in enumerate(zip(homes.at.tolist(), homes.reason.tolist(), strict=True)):
            if plain and reason == edge and at not in told_apart:
                ref, guest = self._names.refs[at], company[at] > 1 and is_guest(macs[x])
                because = _edge_words(company[at], guest, len(vlans[x]), mute)
                yield Placement(macs[x], ref, Grade.CERTAIN, (ref,), because, vlans[x])
            elif plain and reason == several:
                fitting = LazyPorts(partial(name, homes.choices[x], x))
                yield Placement(macs[x], None, Grade.AMBIGUOUS, fitting, words, vlans[x])
            elif reason != unseen:
                yield self._judge(x, Reason(reason))

    def choices(self, x: int) -> Sequence[PortRef]:
        """All ports that fit a station that several fit."""
        homes = self._proved.homes
        if int(homes.reason[x]) == Reason.EDGES:
            return self._names.edge_sightings(x)
        if homes.reason[x] in _MOVED:
            return LazyPorts(partial(self._names.in_pairs, x))
        return LazyPorts(partial(self._names.fitting, homes.choices[x], x)) if x in homes.choices else ()

    def _judge(self, x: int, reason: Reason) -> Placement:
        homes, ends = self._proved.homes, self._names.ends(self._proved, x)
        unasked, by_map = self._names.unasked_at(int(homes.at[x]), int(homes.wire[x]))
        machine = self._names.machines.get(int(homes.at[x]))
        if unasked and machine is None:
            leads = "by the map leads" if by_map else "leads"
            words = f"heard on this port, which {leads} to {unasked}, and that was not asked: it is there or on the way"
            return self._open(x, ends, words, map_broke_tie=by_map)
        if x in self._names.astray.why:
            return self._beside_tree(x, ends, reason)
        words = self._edge_words(x) if reason == Reason.EDGE else _WORDS[reason]
        words += self._mute if reason == Reason.WIRE else ""
        loose = self._proved.unless(x) if ends else ()
        if machine is not None and reason == Reason.EDGE:
            if self._facts.macs[x] not in machine:
                guest = self._probable(x, ends, f"{_GUEST} {unasked}", unless=self._names.switches(loose))
                return replace(guest, behind=unasked)
            words = _machine_words(unasked, int(self._company[homes.at[x]]) - 1)
        unsaid = self._names.unsaid.get(int(homes.at[x])) if reason == Reason.EDGE else None
        is_other = unsaid and self._facts.macs[x] not in unsaid.own and not is_guest(self._facts.macs[x])
        if unsaid and is_other and self._company[homes.at[x]] > 1:
            words = f"{_UNSAID} {unsaid.name} speaks by LLDP and does not say what it is: behind it, if it is a switch"
            return self._probable(x, ends, words, unless=self._names.switches(loose))
        if reason in _PROVED and not loose:
            return Placement(self._facts.macs[x], ends[0], Grade.CERTAIN, ends, words, self._facts.vlans[x])
        return (
            self._by_little_evidence(x)
            or self._by_map(x)
            or self._beside_loose(x, ends, loose, reason)
            or (self._conditional(x, ends, loose, words) if reason in _PROVED else None)
            or (self._likely(x, ends, loose, words) if reason in _LIKELY else None)
            or self._open(x, self.choices(x), words)
        )

    def _edge_words(self, x: int) -> str:
        at = int(self._proved.homes.at[x])
        company, carrier = int(self._company[at]), self._names.carriers.get(at)
        if carrier is None:
            guest = company > 1 and is_guest(self._facts.macs[x])
            return _edge_words(company, guest, len(self._facts.vlans[x]), self._mute)
        is_itself = self._facts.macs[x] in carrier.own
        # alone and no address of the carrier's: it did not tell all of them
        return _carrier_words(carrier, is_itself, company) if is_itself or company > 1 else _WORDS[Reason.EDGE]

    def _beside_tree(self, x: int, ends: tuple[PortRef, ...], reason: Reason) -> Placement:
        """Never certain: its VLAN may take another way than the one that was proved."""
        astray = self._names.astray
        edges = self._names.edge_sightings(x)
        if len(edges) == 1:
            return self._probable(x, edges, f"{_WORDS[Reason.EDGE]}; but {astray.why[x]}")
        if edges:
            return self._open(x, edges, f"{_WORDS[Reason.EDGES]}; {astray.why[x]}")
        if reason in _PROVED and not astray.on_way(x):
            return self._probable(x, ends, f"{_WORDS[reason]}; but {astray.why[x]}")
        return self._open(x, LazyPorts(partial(self._names.anywhere, x)), astray.why[x])

    def _by_little_evidence(self, x: int) -> Placement | None:
        """Proved, if one witness is enough."""
        likely = self._network.likely
        if likely is None or not is_proved(likely, x):
            return None
        words = f"{_WORDS[Reason(likely.homes.reason[x])]}; fewer independent witnesses than a proof takes"
        return self._probable(x, self._names.ends(likely, x), words)

    def _by_map(self, x: int) -> Placement | None:
        """Proved, if the documented links are true."""
        mapped = self._network.mapped
        if mapped is None or int(mapped.homes.reason[x]) not in _PLACED or mapped.unless(x):
            return None
        words = f"{_WORDS[Reason(mapped.homes.reason[x])]}, if the documented links between switches are true"
        return self._probable(x, self._names.ends(mapped, x), words, map_broke_tie=True)

    def _beside_loose(
        self, x: int, ends: tuple[PortRef, ...], loose: tuple[int, ...], reason: Reason
    ) -> Placement | None:
        """Open, where there are signs that a switch that nothing places is on that wire: it may have the station."""
        if not loose or reason not in _PLACED:
            return None
        best, mapped = self._network.likely or self._proved, self._network.mapped
        here = self._proved.homes.at[x]
        agrees = reason not in _PROVED or (int(best.homes.reason[x]) in _PROVED and best.homes.at[x] == here)
        is_there = not agrees or not best.settled_there.isdisjoint(best.unless(x))
        if not is_there and (mapped is None or mapped.homes.at[x] == here):
            return None
        who = self._names.names[loose[0]] if len(loose) == 1 else f"one of {len(loose)} switches"
        words = f"heard on this port, and {who} that no sighting places may be there"
        return self._open(x, self._with_loose(x, ends, loose), words)

    def _conditional(self, x: int, ends: tuple[PortRef, ...], loose: tuple[int, ...], words: str) -> Placement:
        """Certain unless a switch that nothing places is on that wire."""
        unless, candidates = self._names.switches(loose), self._with_loose(x, ends, loose)
        return Placement(
            self._facts.macs[x], ends[0], Grade.CERTAIN_UNLESS, candidates, words, self._facts.vlans[x], unless
        )

    def _with_loose(self, x: int, ends: tuple[PortRef, ...], loose: tuple[int, ...]) -> LazyPorts:
        return LazyPorts(lambda: [*ends, *self._names.loose_ports(loose, x)])

    def _likely(self, x: int, ends: tuple[PortRef, ...], loose: tuple[int, ...], words: str) -> Placement | None:
        homes = self._proved.homes
        if homes.support[x] < _MOSTLY * homes.against[x]:
            return None
        return self._probable(x, ends, words, unless=self._names.switches(loose))

    def _probable(
        self, x: int, ends: tuple[PortRef, ...], words: str, unless: tuple[str, ...] = (), map_broke_tie: bool = False
    ) -> Placement:
        vlans = self._facts.vlans[x]
        return Placement(self._facts.macs[x], ends[0], Grade.PROBABLE, ends, words, vlans, unless, map_broke_tie)

    def _open(self, x: int, candidates: Sequence[PortRef], words: str, map_broke_tie: bool = False) -> Placement:
        vlans = self._facts.vlans[x]
        return Placement(
            self._facts.macs[x], None, Grade.AMBIGUOUS, candidates, words, vlans, map_broke_tie=map_broke_tie
        )


def is_proved(inference: Inference, x: int) -> bool:
    """Whether an inference proves where a station is, without a condition."""
    return int(inference.homes.reason[x]) in _PROVED and not inference.unless(x)
