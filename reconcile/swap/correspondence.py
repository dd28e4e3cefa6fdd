"""The matching port of every port: itself, or for a switch that was replaced, the one that pairing finds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import MapIndex, Place
from reconcile.patchmap.model import End, PatchMap, fold
from reconcile.swap.likeness import traits
from reconcile.swap.look import Look
from reconcile.swap.model import Certainty, SwitchPair
from reconcile.swap.orders import describe
from reconcile.swap.pairing import pair_ports


class Replacement(NamedTuple):
    """One switch by its names before and after; they may be the same."""

    old: str
    new: str


@dataclass(frozen=True)
class Correspondence:
    """`pairs` for switches that were paired anew; every other port stands for itself."""

    switches: tuple[SwitchPair, ...] = ()
    rename: Mapping[str, str] = field(default_factory=dict)
    pairs: Mapping[PortRef, PortRef | None] = field(default_factory=dict)

    def new(self, port: PortRef) -> PortRef | None:
        """Where what was at an old port belongs now; None when no port stands for it."""
        return self.pairs[port] if port in self.pairs else PortRef(self.name(port.switch), port.port)

    def name(self, switch: str) -> str:
        """The name of a switch now."""
        return self.rename.get(switch, switch)


def correspond(
    before: Look, after: Look, replaced: Sequence[Replacement], given: Mapping[PortRef, PortRef]
) -> Correspondence:
    """Pairs the ports of the switches in `replaced`, and of those that no longer have a port that was in use.

    `given` are pairs that a person wrote down. Raises UsageError for a switch or port that is not there.
    """
    _check(before, after, replaced, given)
    named = {one.old: one.new for one in replaced}
    for port, there in given.items():
        named.setdefault(port.switch, there.switch)
    rename = {old: new for old, new in named.items() if old != new}
    for switch in before.sockets:
        if switch in after.sockets and switch not in named and _lost_ports(switch, before, after):
            named[switch] = switch
    switches: list[SwitchPair] = []
    pairs: dict[PortRef, PortRef | None] = {}
    for old, new in named.items():
        if old not in before.sockets or new not in after.sockets:
            continue  # one of them did not answer: the gap says so
        found = _pair(Replacement(old, new), before, after, rename, given)
        switches.append(found)
        for pair in found.pairs:
            position = pair.new.removeprefix(f"{new}:")
            pairs[PortRef(old, pair.old.removeprefix(f"{old}:"))] = PortRef(new, position) if position else None
    return Correspondence(tuple(switches), rename, pairs)


def _pair(
    one: Replacement, before: Look, after: Look, rename: dict[str, str], given: Mapping[PortRef, PortRef]
) -> SwitchPair:
    old, new = traits(before, one.old, rename), traits(after, one.new, {})
    fixed = {a.port: b.port for a, b in given.items() if a.switch == one.old and b.switch == one.new}
    pairs = pair_ports(old, new, fixed)
    sure = [
        (pair.old.removeprefix(f"{one.old}:"), pair.new.removeprefix(f"{one.new}:"))
        for pair in pairs
        if pair.new and pair.certainty in (Certainty.CERTAIN, Certainty.GIVEN)
    ]
    orders = describe(sure, [t.ref.port for t in old], [t.ref.port for t in new])
    return SwitchPair(old=one.old, new=one.new, orders=tuple(orders), pairs=tuple(pairs))


def _lost_ports(switch: str, before: Look, after: Look) -> bool:
    """True when a port that had link is no longer there under its name: another box, or another number in its stack."""
    there = set(after.sockets[switch])
    return any(port not in there and before.link_up(port) for port in before.sockets[switch])


def _check(before: Look, after: Look, replaced: Iterable[Replacement], given: Mapping[PortRef, PortRef]) -> None:
    old_names = {*before.sockets, *before.picture.coverage.failed}
    new_names = {*after.sockets, *after.picture.coverage.failed}
    for one in replaced:
        for name, names, when in ((one.old, old_names, "before"), (one.new, new_names, "now")):
            if name not in names:
                hint = "one of " + ", ".join(sorted(names)) if names else "add it to toneout.toml"
                raise UsageError(f"--replaced {one.old}={one.new}", f"{name} was not asked {when}", hint)
    for pair in given.items():
        for port, seen, when in zip(pair, (before, after), ("before", "now"), strict=True):
            if port.switch in seen.sockets and port not in seen.sockets[port.switch]:
                raise UsageError(str(port), f"{port.switch} has no such port {when}", "the name that the switch uses")
    if len(set(given.values())) < len(given):
        values = list(given.values())
        twice = next(port for port in values if values.count(port) > 1)
        raise UsageError(str(twice), "is the new port of several old ones", "each port once")


def end_changes(correspondence: Correspondence, before: Look) -> list[tuple[End, End]]:
    """For every documented end at a port that is paired with another: the end as the map writes it, and the new one.

    Open pairs are left out: nobody should write a guess into the map.
    """
    open_ports = {
        pair.old for switch in correspondence.switches for pair in switch.pairs if pair.certainty is Certainty.OPEN
    }
    found: dict[tuple[str, str], tuple[End, End]] = {}
    index = before.picture.channels.index or MapIndex(before.picture.patch_map)
    for end in _documented_ends(before.picture.patch_map):
        place = index.place(end)
        port = before.picture.port_of(place.end) if isinstance(place, Place) else None
        new = correspondence.new(port) if port else None
        if port is None or new is None or new == port or str(port) in open_ports:
            continue
        found.setdefault(end.key, (end, End(new.switch, new.port)))
    return list(found.values())


def _documented_ends(patch_map: PatchMap) -> Iterable[End]:
    switches = {fold(switch.name) for switch in patch_map.switches}
    for cable in patch_map.cables():
        yield from (end for end in (cable.a, cable.b) if fold(end.name) in switches)
    for device in patch_map.devices:
        if device.at is not None and fold(device.at.name) in switches:
            yield device.at
