"""What single hands may have done: moves, crossed and rotated cords, replaced devices, silent moves.

All of it relative to a layout: the documented one, or the one that a shifted block or a renumbered switch made.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from math import inf

from reconcile.causes.facts import Facts, Layout
from reconcile.causes.plan import NOWHERE, Deed, Event, Link, Move
from reconcile.causes.prices import EQUAL, FURTHER

LONGEST_ROTATION = 6
_PATHS_AT_ONCE = 12  # open paths that are tried in pairs, site-wide or on one switch; more have no telling solution
_FEW = 12  # devices without a place on the whole site, all of which may have gone anywhere
_NEAREST = 3  # dark ports, and twice as many taken ones, tried as the origin of one silent arrival


def hand_events(layout: Layout, devices: Iterable[int]) -> Iterator[Event]:
    """Everything that single hands may have done to these devices."""
    facts = layout.facts
    anomalous = list(devices)
    displaced = [d for d in anomalous if facts.at[d] >= 0 and facts.at[d] != layout.home_of(d)]
    if not layout.order_of:
        yield from (_moved(facts, device, facts.at[device]) for device in displaced)
    yield from _replaced(layout, anomalous)
    yield from _rotations(layout, displaced)


def _moved(facts: Facts, device: int, target: int) -> Event:
    origin = facts.home[device]
    bits = facts.move_bits(origin, target) + facts.at_bits(device, target)
    return Event(Deed.MOVED, bits, (Move(device, origin, target),))


def _replaced(layout: Layout, devices: Iterable[int]) -> Iterator[Event]:
    """A stranger in the place of a device that nobody heard."""
    facts = layout.facts
    for device in devices:
        port = layout.home_of(device)
        if facts.at[device] < 0 and port >= 0 and facts.strangers[port] and layout.tenant_of(port) == device:
            bits = facts.prices.kind(Deed.REPLACED)
            move = Move(device, facts.home[device], NOWHERE)
            yield Event(Deed.REPLACED, bits, (move,), (port,), needs=layout.needs([device]))


def _rotations(layout: Layout, displaced: Sequence[int]) -> Iterator[Event]:
    """Cords that changed places among one another: all heard, or closed by members that kept silent."""
    facts = layout.facts
    moving = set(displaced)
    entered = {facts.at[d] for d in displaced}
    closed: set[frozenset[int]] = set()
    open_paths: dict[int, list[list[int]]] = defaultdict(list)
    for first in displaced:
        path = _path(layout, first, moving)
        back = layout.tenant_of(facts.at[path[-1]])
        if back == first and frozenset(path) not in closed:
            closed.add(frozenset(path))
            yield from _rotation(layout, path)
        home = layout.home_of(first)
        if home >= 0 and home not in entered and back >= 0 and facts.at[back] < 0:
            path.append(back)
            open_paths[facts.switch[home]].append(path)
            yield from _rotation(layout, path)
    everywhere = [path for paths in open_paths.values() for path in paths]
    for paths in [everywhere] if len(everywhere) <= _PATHS_AT_ONCE else open_paths.values():
        yield from _joined(layout, paths)


def _path(layout: Layout, first: int, moving: set[int]) -> list[int]:
    """Follows who took whose place, as long as everyone was heard."""
    path = [first]
    while len(path) <= LONGEST_ROTATION:
        follower = layout.tenant_of(layout.facts.at[path[-1]])
        if follower not in moving or follower in path:
            break
        path.append(follower)
    return path


def _joined(layout: Layout, paths: list[list[int]]) -> Iterator[Event]:
    if len(paths) <= _PATHS_AT_ONCE:
        for one, other in combinations(paths, 2):
            if len(one) + len(other) <= LONGEST_ROTATION and not set(one) & set(other):
                yield from _rotation(layout, [*one, *other])


def _rotation(layout: Layout, members: Sequence[int]) -> Iterator[Event]:
    """Each member in the place of the next, the last in that of the first; nothing when that cannot be."""
    if not 2 <= len(members) <= LONGEST_ROTATION:
        return
    facts = layout.facts
    homes = [layout.home_of(d) for d in members]
    targets = [*homes[1:], homes[0]]
    if min(homes) < 0:
        return
    deed = Deed.CROSSED if len(members) == 2 else Deed.ROTATED
    bits = facts.prices.kind(deed) + FURTHER * max(0, len(members) - 3)
    ways = [facts.step_bits(here, there) for here, there in pairwise([*homes, homes[0]])]
    bits += sum(ways) - max(ways)  # the last way closes by itself: the dearest need not be named
    bits += sum(map(facts.at_bits, members, targets))
    if bits < inf:
        moves = tuple(Move(d, facts.home[d], t) for d, t in zip(members, targets, strict=True))
        yield Event(deed, bits, moves, needs=layout.needs(members))


def silent_moves(facts: Facts, homeless: Iterable[int]) -> Iterator[Event]:
    """Devices without a place that may be the ones who keep silent behind a link that nobody explains.

    Dark ports times lit ports would be too many pairs: for each lit port the nearest of those whose switch, panel or
    room it shares (of all, where few have lost their place), and only where a move may cost less than one gone and
    another come.
    """
    lost = list(homeless)
    mates: dict[tuple[str, int], list[int]] = defaultdict(list)
    for device in lost:
        for shared in _shared_places(facts, facts.home[device]):
            mates[shared].append(device)
    for port in range(facts.plan.ports):
        if facts.lit(port) and facts.read[port] and _unexplained(facts, port):
            near = {device for shared in _shared_places(facts, port) for device in mates.get(shared, ())}
            yield from _arrivals(facts, port, lost if len(lost) <= _FEW else near)


def _shared_places(facts: Facts, port: int) -> list[tuple[str, int]]:
    """The switch of a port, and the panel and room that it leads to."""
    places = (("switch", facts.switch[port]), ("panel", facts.panel[port]), ("room", facts.room[port]))
    return [place for place in places if place[1] >= 0]


def _unexplained(facts: Facts, port: int) -> bool:
    tenant = facts.tenant[port]
    return tenant < 0 or facts.displaced(tenant)


def _arrivals(facts: Facts, port: int, homeless: Iterable[int]) -> Iterator[Event]:
    near = sorted(homeless, key=lambda d: (facts.step_bits(facts.home[d], port), d))
    dark = [d for d in near if facts.link[facts.home[d]] == Link.DOWN][:_NEAREST]
    taken = [d for d in near if not facts.open(facts.home[d])][: 2 * _NEAREST]
    for device in (*taken, *dark):
        event = _moved(facts, device, port)
        if event.bits < facts.gone_bits(device) + facts.come_bits(port) + EQUAL:
            yield event
