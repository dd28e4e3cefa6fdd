"""Many cords that went in one order: a block of a row shifted by k, and a whole switch whose ports count otherwise.

Every member counts: those heard at their new place prove the order, silent ones may follow it, and whoever
contradicts it is exempt at a price and needs a story of his own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from scipy.optimize import linear_sum_assignment

from reconcile.causes.facts import Facts
from reconcile.causes.maps import order_maps
from reconcile.causes.plan import NOWHERE, Deed, Event, Ints, Move, Order
from reconcile.causes.prices import LENGTH, map_bits, step_bits

LONGEST_STEP = 8
_LEAST_BLOCK = 3  # devices; two neighbours off by the same step are two moves
_STRAYS = 2  # witnesses at either end that may not belong to a block
_SLEEPERS = 4  # silent cords at either end of a block that may belong to it
_LEAST_WITNESSES = 2  # heard devices that must agree on a port-order map; only prunes, the bits decide
_LEAST_AGREEMENT = 0.4  # of the displaced ones that they are among
_MAPS_TRIED = 4  # per face


@dataclass(frozen=True, slots=True)
class Ordered:
    """An order, and where it sends each device that it concerns, those included that contradict it."""

    event: Event
    sends: Mapping[int, int]
    exempt: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Cord:
    """One cord of a row that may have moved along: whom it would bring, to which port. Either may be nobody."""

    device: int
    target: int


@dataclass(frozen=True, slots=True)
class _Row:
    """A line card or a panel: the port of each place, and the device documented there, in order of places."""

    along: str
    ident: int
    port_at: Mapping[int, int]
    device_at: Mapping[int, int]


def shifts(facts: Facts, displaced: Iterable[int]) -> Iterator[Ordered]:
    """Blocks of a line card or of a panel whose cords are all off by the same step."""
    found: dict[tuple[str, int], set[int]] = defaultdict(set)
    for device in displaced:
        home, at = facts.home[device], facts.at[device]
        if home < 0:
            continue
        for along, rows, place in (("switch", facts.block, facts.number), ("panel", facts.panel, facts.jack)):
            step = place[at] - place[home]
            if rows[home] >= 0 and rows[home] == rows[at] and 0 < abs(step) <= LONGEST_STEP:
                found[along, rows[home]].add(step)
    seen: set[tuple[Move, ...]] = set()
    for (along, ident), steps in sorted(found.items()):
        row = _row(facts, along, ident)
        for step in sorted(steps):
            for ordered in _blocks(facts, row, step):
                if ordered.event.moves not in seen:
                    seen.add(ordered.event.moves)
                    yield ordered


def _row(facts: Facts, along: str, ident: int) -> _Row:
    column, places = (facts.plan.block, facts.number) if along == "switch" else (facts.plan.panel, facts.jack)
    port_at = {places[port]: port for port in np.flatnonzero(column == ident).tolist()}
    port_at = dict(sorted(port_at.items()))
    return _Row(along, ident, port_at, {place: facts.tenant[port] for place, port in port_at.items()})


def _blocks(facts: Facts, row: _Row, step: int) -> Iterator[Ordered]:
    """Stretches of cords between those that certainly stayed."""
    stretch: list[_Cord] = []
    for cord in _cords(facts, row, step):
        if cord is None:
            yield from _stretch(facts, row, step, stretch)
            stretch = []
        else:
            stretch.append(cord)
    yield from _stretch(facts, row, step, stretch)


def _cords(facts: Facts, row: _Row, step: int) -> Iterator[_Cord | None]:
    """What each cord of the row brings where after the step; None for a cord that stayed.

    On a switch the cord takes its device along, `step` ports on. On a panel its port stays, and it now brings
    whoever is documented `step` jacks before it: seen from the devices the same step.
    """
    for place, port in row.port_at.items():
        tenant = facts.tenant[port]
        stayed = tenant >= 0 and facts.at[tenant] == port
        if row.along == "panel":
            yield None if stayed else _Cord(row.device_at.get(place - step, NOWHERE), port)
        elif tenant >= 0:
            target = row.port_at.get(place + step, NOWHERE)
            yield None if stayed or target < 0 else _Cord(tenant, target)


def _stretch(facts: Facts, row: _Row, step: int, stretch: Sequence[_Cord]) -> Iterator[Ordered]:
    """Blocks from about the first witness to about the last."""
    order = Order(row.along, row.ident, f"shifted by {step:+d}", step)
    for start in _starts(facts, stretch):
        for end in _starts(facts, stretch[::-1]):
            sends = _sends(facts, row, stretch[start : len(stretch) - end])
            replaced = {device for device, port in sends.items() if port < 0 and _stranger_in_place_of(facts, device)}
            for apart in (set(), replaced) if replaced else (set(),):
                ordered = _shifted(facts, order, sends, apart)
                if len(ordered.event.moves) >= _LEAST_BLOCK:
                    yield ordered


def _stranger_in_place_of(facts: Facts, device: int) -> bool:
    """True when a device lost its cord to the shift, or else a stranger has replaced it: there is one at its port."""
    return facts.at[device] < 0 and facts.strangers[facts.home[device]] > 0


def _starts(facts: Facts, stretch: Sequence[_Cord]) -> list[int]:
    """Where a block may begin: at one of the first witnesses, for the very first may have moved by chance beside the
    block, or at one of the silent cords before them."""
    witnesses = [i for i, cord in enumerate(stretch) if cord.device >= 0 and facts.at[cord.device] == cord.target]
    if not witnesses:
        return []
    silent = _sleepers(facts, stretch[: witnesses[0]][::-1])
    return [*range(witnesses[0] - silent, witnesses[0]), *witnesses[: 1 + _STRAYS]]


def _sleepers(facts: Facts, neighbours: Sequence[_Cord]) -> int:
    """How many cords in a row may have gone along although nobody was heard on them."""
    for count, cord in enumerate(neighbours[:_SLEEPERS]):
        fits = facts.at_bits(cord.device, cord.target) < inf if cord.device >= 0 else not facts.lit(cord.target)
        if (cord.device >= 0 and facts.at[cord.device] >= 0) or not fits:
            return count
    return min(len(neighbours), _SLEEPERS)


def _sends(facts: Facts, row: _Row, block: Sequence[_Cord]) -> dict[int, int]:
    """Where everyone goes: on a panel, whoever lost his cord and got no other, nowhere."""
    sends = {cord.device: cord.target for cord in block if cord.device >= 0}
    if row.along == "panel":
        left = (facts.tenant[cord.target] for cord in block)
        sends = {device: NOWHERE for device in left if device >= 0} | sends
    return sends


def _shifted(facts: Facts, order: Order, sends: Mapping[int, int], apart: Container[int]) -> Ordered:
    """One block, without those members that something else happened to (`apart`)."""
    bits = facts.prices.kind(Deed.SHIFTED) + LENGTH + step_bits(order.step)
    bits += sum(facts.prices.exempt(len(sends)) for device in sends if device in apart)
    along = {device: port for device, port in sends.items() if device not in apart}
    return _ordered(facts, Deed.SHIFTED, bits, order, along)


def _ordered(facts: Facts, deed: Deed, bits: float, order: Order, sends: Mapping[int, int]) -> Ordered:
    moves, exempt = [], []
    for device, port in sends.items():
        silence = facts.at_bits(device, port)
        if silence == inf:
            exempt.append(device)
            stayed = facts.at[device] == facts.home[device]
            # Whoever is at home although the order sends him elsewhere must have been moved back on purpose.
            bits += facts.move_bits(port, facts.home[device]) if stayed else facts.prices.exempt(len(sends))
        elif port != facts.home[device]:
            moves.append(Move(device, facts.home[device], port))
            bits += silence
    return Ordered(Event(deed, bits, tuple(moves), order=order), sends, tuple(exempt))


def renumberings(facts: Facts, displaced: Iterable[int]) -> Iterator[Ordered]:
    """Switches whose ports answer to other numbers than documented, or that stand in for one another."""
    rank = facts.plan.rank.tolist()
    face = facts.plan.face.tolist()
    pairs: dict[tuple[int, int], list[int]] = defaultdict(list)
    for device in displaced:
        home, at = facts.home[device], facts.at[device]
        if home >= 0 and rank[home] >= 0 and rank[at] >= 0:
            pairs[face[home], face[at]].append(device)
    strong = {pair: found for pair, found in pairs.items() if len(found) >= _LEAST_WITNESSES}
    stand_ins = set(_stand_ins(facts, strong))
    for (here, onto), witnesses in sorted(strong.items()):
        if here == onto or (here, onto) in stand_ins:
            yield from _maps(facts, here, onto, witnesses)


def _stand_ins(facts: Facts, pairs: Mapping[tuple[int, int], Sequence[int]]) -> Iterator[tuple[int, int]]:
    """Which box took over from which, by the stations that they share: the assignment that keeps most of them."""
    across = [pair for pair in pairs if pair[0] != pair[1]]
    faces = sorted({face for pair in across for face in pair})
    index = {face: i for i, face in enumerate(faces)}
    shared = np.zeros((len(faces), len(faces)))
    for here, onto in across:
        shared[index[here], index[onto]] = len(pairs[here, onto])
    at_home = _at_home(facts)
    shared[np.arange(len(faces)), np.arange(len(faces))] = [at_home[face] for face in faces]
    for row, column in zip(*linear_sum_assignment(-shared), strict=True):
        if row != column and shared[row, column]:
            yield faces[row], faces[column]


def _at_home(facts: Facts) -> Counter[int]:
    homes = facts.plan.home[(facts.heard.at == facts.plan.home) & (facts.plan.home >= 0)]
    return Counter(facts.plan.face[homes].tolist())


def _maps(facts: Facts, here: int, onto: int, witnesses: Sequence[int]) -> Iterator[Ordered]:
    """The port-order maps that most witnesses agree on."""
    port_of, members = _face_ports(facts, onto), _face_members(facts, here)
    names, orders = order_maps(max(len(port_of), 1 + max(rank for rank, _ in members)))
    home = facts.plan.rank[[facts.home[d] for d in witnesses]]
    at = facts.plan.rank[[facts.at[d] for d in witnesses]]
    agree = (orders[:, home] == at).sum(axis=1)
    least = max(_LEAST_WITNESSES, _LEAST_AGREEMENT * len(witnesses))
    for row in np.argsort(-agree, kind="stable")[:_MAPS_TRIED].tolist():
        if agree[row] >= least:
            order = Order("switch", here, names[row], onto=onto)
            bits = facts.prices.kind(Deed.RENUMBERED) + map_bits(row, len(names))
            bits += 0.0 if here == onto else facts.prices.anywhere
            sends = {device: _port(port_of, orders[row], rank) for rank, device in members}
            ordered = _ordered(facts, Deed.RENUMBERED, bits, order, sends)
            if len(ordered.event.moves) >= _LEAST_WITNESSES:
                yield ordered


def _face_ports(facts: Facts, face: int) -> dict[int, int]:
    ports = np.flatnonzero((facts.plan.face == face) & (facts.plan.rank >= 0))
    return dict(zip(facts.plan.rank[ports].tolist(), ports.tolist(), strict=True))


def _face_members(facts: Facts, face: int) -> list[tuple[int, int]]:
    found = _face_ports(facts, face)
    return [(rank, facts.tenant[port]) for rank, port in sorted(found.items()) if facts.tenant[port] >= 0]


def _port(port_of: Mapping[int, int], order: Ints, rank: int) -> int:
    return port_of.get(int(order[rank]), NOWHERE)
