"""Why a station is told to be where it is: the rows that prove it, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from collectors.names import mac_to_int
from reconcile.locate.arrays import UNKNOWN
from reconcile.locate.results import left_out, place_all

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reconcile.locate.examined import Examined
    from reconcile.locate.network_names import NetworkNames
    from reconcile.locate.placement import Placement, PortRef

_MOST = 6  # things of one kind that are named; the rest is counted


def why(parts: list[Examined], mac: str) -> list[str]:
    """One sentence per row: the verdict, who saw it where, and what that rests on. `mac` is a canonical address."""
    told: list[str] = []
    for examined in parts:
        placed = place_all(examined)
        if mac in placed:
            told += [*_verdict(placed[mac]), *_rows(examined, mac, placed[mac].at)]
            x = examined.facts.macs.index(mac)
            for names in examined.names:
                told += (
                    _proof(examined, names, placed[mac], x)
                    if placed[mac].at
                    else _openness(examined, names, placed[mac], x)
                )
            told += [] if placed[mac].at else _order(examined, mac, placed[mac])
        elif mac in (unplaced := left_out(examined, placed)):
            told += [f"it is not placed: {unplaced[mac]}", *_rows(examined, mac)]
    return list(dict.fromkeys(told)) or ["no switch that was asked has seen it"]


def _verdict(placement: Placement) -> Iterator[str]:
    if placement.at is not None:
        yield f"{placement.grade}: at {placement.at}, {placement.because}"
    else:
        places = _some([str(port) for port in placement.candidates])
        yield f"{placement.grade}: {placement.because}; possible: {places}"
    for name in placement.unless:
        yield f"nothing that was seen says where {name} is: it may be on that wire, and the station behind it"
    if placement.map_broke_tie:
        yield "observation left this open, and the documented links between switches decided it"


def _rows(examined: Examined, mac: str, at: PortRef | None = None) -> Iterator[str]:
    """What the forwarding tables say, its own switch first."""
    seen = sorted(examined.facts.sightings(mac_to_int(mac)), key=lambda row: at is None or row.switch != at.switch)
    for row in seen[: 2 * _MOST]:
        vlan = f", VLAN {row.vlan}" if row.vlan is not None else ""
        when = f", read {row.at:.0f} s into the snapshot" if row.at is not None else ""
        where = row.port or "a port that it does not name"
        yield f"{row.switch} has it on {where} ({row.status}{vlan}{when})"
    if len(seen) > 2 * _MOST:
        yield f"{len(seen) - 2 * _MOST} more switches have it"


def _proof(examined: Examined, names: NetworkNames, placement: Placement, x: int) -> Iterator[str]:
    """What the place rests on: the directions of switches, and who agrees."""
    at = names.number_of(placement.at)
    if at is None:
        return
    a, p = at
    proved = names.network.proved
    seen = proved.tables.port[:, proved.tables.switches + x]
    towards = proved.towards
    if (machine := proved.tables.flat(a, p)) in names.machines:
        yield (
            f"{names.strangers[machine]} says on this port by LLDP that it bridges; but only its own address and such "
            "as software gives are heard there: it looks like a machine with guests, not like a switch"
        )
    on_wire = int(proved.tree.wire_of[a, p]) >= 0
    if on_wire:
        ends = names.wire_ends(proved, int(proved.tree.wire_of[a, p]))
        yield f"one wire, or unmanaged equipment, joins {_some([str(end) for end in ends])}"
        switches = [c for c, _ in proved.tree.wires[int(proved.tree.wire_of[a, p])]]
        facing = [(c, d) for c in switches for d in switches if c != d and towards[c, d] >= 0]
        told = [f"{names.names[d]} is behind {names.ref(c, int(towards[c, d]))}" for c, d in facing]
        yield _some([f"{one} ({_how(examined, names, *pair)})" for one, pair in zip(told, facing, strict=True)])
    else:
        others = [b for b in range(len(towards)) if b != a]
        elsewhere = [b for b in others if towards[a, b] >= 0]
        if others and len(elsewhere) == len(others):
            yield f"no switch is behind {placement.at}: {_some([_direction(examined, names, a, b) for b in others])}"
    agree = [b for b in range(len(towards)) if b != a and seen[b] >= 0 and seen[b] == towards[b, a]]
    if agree:
        told = [f"{names.names[b]} on {names.ref(b, int(seen[b])).port}" for b in agree]
        yield f"seen where {names.names[a]} is seen: {_some(told)}"
    against = [b for b in range(len(towards)) if b != a and seen[b] >= 0 and 0 <= towards[b, a] != seen[b]]
    for b in against:
        yield (
            f"against it: {names.names[b]} has it on {names.ref(b, int(seen[b])).port}, and {names.names[a]} on "
            f"{names.ref(b, int(towards[b, a])).port}"
        )
    silent = int(np.count_nonzero(seen < 0)) - int(seen[a] < 0)
    if silent:
        rest = "another switch has" if silent == 1 else f"{silent} other switches have"
        yield f"{rest} not heard it lately, which says nothing"


def _openness(examined: Examined, names: NetworkNames, placement: Placement, x: int) -> Iterator[str]:
    """What is known of a station whose place is open: which switches are where it was heard, and who has not."""
    proved = names.network.proved
    seen = proved.tables.port[:, proved.tables.switches + x]
    for a in np.flatnonzero(seen >= 0).tolist()[:_MOST]:
        behind = np.flatnonzero(proved.towards[a] == seen[a]).tolist()
        if behind:
            told = [f"{names.names[b]} ({_how(examined, names, a, b)})" for b in behind]
            yield f"behind {names.ref(a, int(seen[a]))} {'is' if len(told) == 1 else 'are'} {_some(told)}"
        elif names.strangers.get(names.network.proved.tables.flat(a, int(seen[a]))) is None:
            yield f"no switch that was asked is known to be behind {names.ref(a, int(seen[a]))}"
    among = {port.switch for port in placement.candidates}
    silent = [name for a, name in enumerate(names.names) if seen[a] == UNKNOWN and name in among]
    if silent:
        yield f"not heard lately, so possibly on any port of them: {_some(silent)}"


def _order(examined: Examined, mac: str, placement: Placement) -> Iterator[str]:
    """Which of the ports that have a station was read last: where it is now, if it moved between two readings."""
    ports = {str(port) for port in placement.candidates} if len(placement.candidates) <= _MOST else set()
    seen = examined.facts.sightings(mac_to_int(mac))
    read = sorted((row.at, f"{row.switch}:{row.port}") for row in seen if row.at is not None)
    read = [(at, port) for at, port in read if port in ports]
    if len({port for _, port in read}) > 1 and read[-1][0] - read[0][0] >= 1:
        yield (
            f"{read[-1][1]} was read {read[-1][0] - read[0][0]:.0f} s after {read[0][1]}: if the station moved in "
            f"between, it is at {read[-1][1]} now"
        )


def _direction(examined: Examined, names: NetworkNames, a: int, b: int) -> str:
    """On which port a sees b, and how that is known."""
    port = int(names.network.proved.towards[a, b])
    return f"{names.names[b]} is behind {names.ref(a, port).port} ({_how(examined, names, a, b)})"


def _how(examined: Examined, names: NetworkNames, a: int, b: int) -> str:
    """How it is known on which port a sees b."""
    proved = names.network.proved
    port = int(proved.towards[a, b])
    here = (names.network.switches[a], port)
    by_neighbour = {link.here: link.protocol for link in examined.links.links if link.peer == names.network.switches[b]}
    if here in by_neighbour:
        return by_neighbour[here].upper()
    return "its own address" if proved.tables.direct[a, b] >= 0 else "by what both see"


def _some(items: list[str]) -> str:
    """A few, and how many more."""
    if len(items) > _MOST:
        items = [*items[: _MOST - 1], f"{len(items) - _MOST + 1} more"]
    return "; ".join(items)
