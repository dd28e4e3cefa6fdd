"""What is told of the wiring between switches: uplinks, wires, and contradictions in the evidence."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, NamedTuple

import networkx as nx
import numpy as np

from reconcile.locate.astray import CONTRADICTIONS
from reconcile.locate.judgement import is_proved
from reconcile.locate.links import Life
from reconcile.locate.network_names import NetworkNames
from reconcile.locate.placement import Grade, PortRef, Uplink, Wire
from reconcile.locate.stations import Reason

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reconcile.locate.examined import Examined
    from reconcile.locate.inference import Inference

_MOST_SENTENCES = 100
_LOOP = 3  # stations on the same two ports from which on it is the ports' fault


class FoundWire(NamedTuple):
    """A wire, and whether only the documented links give it."""

    wire: Wire
    by_map: bool = False


def wires_of(examined: Examined) -> list[FoundWire]:
    """Every wire with two or more known ends, the best grade first, none told twice."""
    found: dict[tuple[PortRef, ...], FoundWire] = {}
    told: dict[PortRef, list[frozenset[PortRef]]] = defaultdict(list)  # wires that are no condition, by their ends

    def add(found_wire: FoundWire) -> None:
        wire = found_wire.wire
        if wire.ends not in found and wire.grade is not Grade.CERTAIN_UNLESS:
            for end in wire.ends:
                told[end].append(frozenset(wire.ends))
        found.setdefault(wire.ends, found_wire)

    for names in examined.names:
        network = names.network
        for wire in _proved_wires(names, network.proved):
            add(FoundWire(wire))
        for inference in (network.likely, network.mapped):
            for wire in _proved_wires(names, inference) if inference else ():
                if wire.grade is Grade.CERTAIN and not any(ends.issuperset(wire.ends) for ends in told[wire.ends[0]]):
                    found.pop(wire.ends, None)
                    add(FoundWire(wire._replace(grade=Grade.PROBABLE), inference is network.mapped))
    unasked = unasked_uplinks(examined)
    graded = [_with_strangers(unasked, f) for f in found.values()]
    return sorted(graded, key=lambda f: list(Grade).index(f.wire.grade))


def unasked_uplinks(examined: Examined) -> dict[PortRef, Uplink]:
    """Ports on which a switch that was not asked was heard, or is documented; or a machine with guests."""
    book, links = examined.facts.book, examined.links
    machines = {names.refs[flat] for names in examined.names for flat in names.machines}
    asked = {link.here for link in links.links}
    found = {}
    for end, there in examined.unasked.items():
        here = book.ref(*end)
        found[here] = Uplink(here, there, there.switch, "map", Grade.PROBABLE)
    for end, stranger in links.strangers.items():
        here = book.ref(*end)
        found[here] = Uplink(here, None, stranger.name, stranger.protocol, is_machine=here in machines)
    return {here: uplink for here, uplink in found.items() if book.number_of(here) not in asked}


def _with_strangers(unasked: dict[PortRef, Uplink], found: FoundWire) -> FoundWire:
    """A wire with a switch on it that was not asked: certain unless that one is between its ends."""
    unless = tuple(dict.fromkeys(unasked[end].peer for end in found.wire.ends if end in unasked))
    if not unless:
        return found
    grade = Grade.CERTAIN_UNLESS if found.wire.grade is Grade.CERTAIN else found.wire.grade
    return found._replace(wire=Wire(found.wire.ends, grade, found.wire.unless + unless))


def _proved_wires(names: NetworkNames, inference: Inference) -> Iterator[Wire]:
    tables, tree = inference.tables, inference.tree

    def refs(ends: Iterable[tuple[int, int]]) -> tuple[PortRef, ...]:
        return tuple(sorted(names.refs[tables.flat(*end)] for end in ends))

    if inference.agreed_links:
        for agreed in nx.connected_components(nx.Graph(list(inference.agreed_links))):
            yield Wire(refs(agreed), Grade.CERTAIN)
    for w, ends in enumerate(tree.wires):
        groups = inference.joined(w)
        for group in groups:
            if len(group) > 1:
                yield Wire(refs(group), Grade.CERTAIN)
        if len(groups) > 1:
            loose = np.flatnonzero(inference.openings.on_wire[w])
            unless = tuple(names.names[tree.loose[k]] for k in loose.tolist())
            yield Wire(refs(ends), Grade.CERTAIN_UNLESS, unless)


def uplinks_of(examined: Examined, wires: list[FoundWire]) -> dict[PortRef, Uplink]:
    """Every port that faces a switch: proved first, then what neighbours say, then what an address alone shows."""
    book = examined.facts.book
    protocols = {(book.ref(*link.here), book.switches[link.peer]): link.protocol for link in examined.links.links}
    uplinks = unasked_uplinks(examined)
    for wire, _ in wires:
        if wire.grade is Grade.CERTAIN:
            uplinks = {here: _across(here, wire, protocols, "inferred") for here in wire.ends} | uplinks
    for link in examined.links.links:
        here = book.ref(*link.here)
        there = book.ref(*link.there) if link.there else None
        grade = Grade.PROBABLE if link.life is Life.UNKNOWN else Grade.CERTAIN
        carries = link.life is not Life.BLOCKED
        uplinks.setdefault(here, Uplink(here, there, book.switches[link.peer], link.protocol, grade, carries))
    for wire, by_map in wires:
        for here in wire.ends:
            if wire.grade is Grade.PROBABLE:
                uplinks.setdefault(here, _across(here, wire, protocols, "map" if by_map else "inferred"))
    for here, peer in _heard_switches(examined):
        uplinks.setdefault(here, Uplink(here, None, peer, "inferred"))
    for wire, _ in wires:
        for here in wire.ends:  # somebody may be between: it faces a switch, and nobody knows which
            uplinks.setdefault(here, Uplink(here, None, "", "inferred", wire.grade))
    return uplinks


def _across(here: PortRef, wire: Wire, protocols: dict[tuple[PortRef, str], str], source: str) -> Uplink:
    """What one end of a wire has on the other side."""
    others = [end for end in wire.ends if end != here]
    peers = list(dict.fromkeys(end.switch for end in others))
    told = [protocols[here, peer] for peer in peers if (here, peer) in protocols]
    there = others[0] if len(others) == 1 else None
    return Uplink(here, there, ", ".join(peers), told[0] if told else source, wire.grade)


def _heard_switches(examined: Examined) -> Iterator[tuple[PortRef, str]]:
    """Ports on which the own address of a switch was heard."""
    book = examined.facts.book
    for network in examined.networks:
        for a, row in enumerate(network.proved.tables.direct):
            ports, first = np.unique(row, return_index=True)
            for port, b in zip(ports.tolist(), first.tolist(), strict=True):
                if port >= 0:
                    yield book.ref(network.switches[a], port), book.switches[network.switches[b]]


def conflicts_of(examined: Examined) -> tuple[str, ...]:
    """Contradictions in the evidence, one sentence each."""
    sentences = list(dict.fromkeys([*_of_switches(examined), *_beside_tree(examined), *_of_stations(examined)]))
    rest = len(sentences) - _MOST_SENTENCES
    if rest > 0:
        sentences[_MOST_SENTENCES:] = [f"{rest} more contradictions of the same kinds"]
    return tuple(sentences)


def _of_switches(examined: Examined) -> Iterator[str]:
    book = examined.facts.book
    for end in examined.links.loops:
        yield f"{book.ref(*end)} hears its own switch: a cord joins two ports of it, or there is a loop behind it"
    for a, p, x in examined.facts.echoes:
        yield (
            f"{book.ref(a, p)} has learned {examined.facts.macs[x]}, an address of its own switch: frames come back, "
            "as from a loop behind that port, or another device has that address"
        )
    yield from _circles(examined)
    for a, b in examined.facts.own_clashes:
        yield f"{book.switches[a]} sees addresses of {book.switches[b]} on several ports: its direction is left open"
    for network in examined.networks:
        for b in network.proved.doubted:
            yield (
                f"what other switches see of {book.switches[network.switches[b]]} cannot all be true: it was left out "
                "of the proof; it may have been plugged in elsewhere just now"
            )
        for a, b in sorted(network.proved.closure.clashes):
            one, other = (book.switches[network.switches[c]] for c in (a, b))
            yield f"what {one} and {other} both see does not fit any two ports: stale tables, or a loop"


def _circles(examined: Examined) -> Iterator[str]:
    """A sentence for each circle of links, or for two switches that several links join."""
    book = examined.facts.book
    graph: nx.Graph[int] = nx.Graph((link.here[0], link.peer) for link in examined.links.rings)
    for members in nx.connected_components(graph):
        ends = {(link.here, link.there) for link in examined.links.rings if link.here[0] in members}
        cords = dict.fromkeys(
            f"{book.ref(*min(here, there))} - {book.ref(*max(here, there))}" for here, there in sorted(ends) if there
        )
        known = f" ({_some(list(cords))})" if cords else ""
        yield (
            f"{_some([book.switches[a] for a in sorted(members)])} are joined in a circle, or twice{known}, and each "
            "link carries traffic: an aggregation that the switch does not tell, separate trees for some VLANs, or a "
            "loop"
        )


def _beside_tree(examined: Examined) -> Iterator[str]:
    for names in examined.names:
        for flat, clause in names.astray.ways.items():
            count = len(names.astray.heard[flat])
            heard = f"{count} station{'s' * (count > 1)}"
            yield f"{names.refs[flat]}, {clause}, hears {heard}: no proof of where that comes from is possible"
        yield from names.astray.vlans.values()


def _of_stations(examined: Examined) -> Iterator[str]:
    facts = examined.facts
    for names in examined.names:
        network = names.network
        homes, tables = network.proved.homes, network.proved.tables
        together: dict[tuple[PortRef, ...], list[str]] = defaultdict(list)
        for x in np.flatnonzero(np.isin(homes.reason, CONTRADICTIONS)).tolist():
            if x in names.astray.why or (network.likely is not None and is_proved(network.likely, x)):
                continue  # told for the whole port or VLAN, or no contradiction once the tree is known
            mac = facts.macs[x]
            if homes.reason[x] == Reason.EDGES:
                together[names.edge_sightings(x)].append(mac)
            elif homes.reason[x] == Reason.DISPUTED:
                place = names.refs[int(homes.at[x])]
                against = "one switch sees" if homes.against[x] == 1 else f"{homes.against[x]} switches see"
                yield f"{mac} is heard on {place}, while {against} it elsewhere: it may have moved"
            else:
                seen = tables.port[:, tables.switches + x]
                who = [names.names[a] for a in np.flatnonzero(seen >= 0).tolist()]
                yield f"what {_some(who)} see of {mac} does not fit any one place: it moved, or several devices have it"
        for ports, macs in together.items():
            yield from _at_once(_some([str(p) for p in ports]), macs)
    at_once: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for x, rows in facts.twice.items():
        if x not in facts.barred and facts.owner[x] < 0 and not facts.has_legs(x):
            at_once[tuple(dict.fromkeys(str(facts.book.ref(a, p)) for a, p, _ in rows))].append(facts.macs[x])
    for places, macs in at_once.items():
        yield from _at_once(_some(list(places)), macs)


def _at_once(where: str, macs: list[str]) -> Iterator[str]:
    """Stations that are heard on the same ports at once: many are the ports' fault."""
    if len(macs) >= _LOOP:
        yield f"{len(macs)} stations are heard on {where} at once: a loop, or a cord that joins these ports"
    else:
        yield from (f"{m} is heard on {where} at once: it moved, or several devices have it" for m in macs)


def _some(names: list[str]) -> str:
    """At most four names, and how many more."""
    if len(names) <= 1:
        return "".join(names)
    if len(names) <= 4:
        return ", ".join(names[:-1]) + " and " + names[-1]
    return ", ".join(names[:3]) + f" and {len(names) - 3} more"
