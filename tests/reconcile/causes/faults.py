"""What hands do to a physical world without writing it down: a function for each kind of fault.

Each picks its victims, changes cords, devices or labels, and says whom it moved; None when it finds no room.
Overlapping faults may strike inside a renamed switch and use places that others have freed.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from tests.reconcile.causes.injector import (
    PANEL,
    Cord,
    Fault,
    World,
    cords_with_device,
    free_jacks,
    free_sockets,
    near_or_any,
    pick,
    spare_cords,
    touched,
    use,
    use_cord,
)


def strike(world: World, kinds: list[str], overlapping: bool = False) -> None:
    """Lets these faults happen one after another; a fault that finds no room is left out."""
    order = sorted(kinds, key=lambda k: k not in ("renumbered", "boxes exchanged", "re-plugged"))
    for kind in order:
        for _ in range(8):
            fault = FAULTS[kind](world, overlapping)
            if fault is not None:
                world.faults.append(fault)
                break


MIX = {
    "cord to free port": 14, "device to spare outlet": 8, "device on a new cord": 6,
    "crossed at switch": 8, "crossed at panel": 6, "devices exchanged": 4,
    "rotated": 3, "shifted at switch": 4, "shifted at panel": 3,
    "renumbered": 2, "boxes exchanged": 0.5, "re-plugged": 1,
    "replaced": 10, "cord to a stranger's jack": 3, "gone": 6, "cord pulled": 5, "cord to an empty jack": 2,
    "come on a free port": 8, "come at a spare outlet": 4,
}  # fmt: skip
"""Shares of the faults, set by hand and not those of the explanation's price table."""


def draw_kinds(rng: random.Random, count: int) -> list[str]:
    """So many kinds of fault."""
    return rng.choices(list(MIX), weights=list(MIX.values()), k=count)


def _cord_to_free_port(world: World, overlapping: bool) -> Fault | None:
    cords, free = cords_with_device(world, overlapping), free_sockets(world, overlapping)
    if not cords or not free:
        return None
    cord = world.rng.choice(cords)
    who = use_cord(world, cord)
    cord.socket = near_or_any(world, free, cord.socket)
    use(world, cord.socket)
    return Fault("cord to free port", (who,))


def _device_to_spare_outlet(world: World, overlapping: bool) -> Fault | None:
    cords, spare = cords_with_device(world, overlapping), spare_cords(world, overlapping)
    if not cords or not spare:
        return None
    cord, other = world.rng.choice(cords), world.rng.choice(spare)
    who = use_cord(world, cord)
    use_cord(world, other)
    world.at_outlet[other.jack] = world.at_outlet.pop(cord.jack)
    return Fault("device to spare outlet", (who,))


def _device_on_a_new_cord(world: World, overlapping: bool) -> Fault | None:
    cords, free = cords_with_device(world, overlapping), free_sockets(world, overlapping)
    if not cords or not free:
        return None
    cord = world.rng.choice(cords)
    who = use_cord(world, cord)
    socket = near_or_any(world, free, cord.socket)
    use(world, socket)
    del world.at_outlet[cord.jack]
    world.cords.append(Cord(socket, -1, direct=who))
    return Fault("device on a new cord", (who,))


def _turn(kind: str, fewest: int, most: int, part: str) -> Callable[[World, bool], Fault | None]:
    """Cords or devices that change places in a ring."""

    def fault(world: World, overlapping: bool) -> Fault | None:
        cords = pick(world, cords_with_device(world, overlapping), world.rng.randint(fewest, most))
        if not cords:
            return None
        who = tuple(use_cord(world, cord) for cord in cords)
        what = part or world.rng.choice(("socket", "jack", "device"))
        if what == "device":
            there = [world.at_outlet[c.jack] for c in cords]
            for cord, device in zip(cords, there[1:] + there[:1], strict=True):
                world.at_outlet[cord.jack] = device
        else:
            ends = [getattr(c, what) for c in cords]
            for cord, end in zip(cords, ends[1:] + ends[:1], strict=True):
                setattr(cord, what, end)
        return Fault(kind, who)

    return fault


def _shifted(part: str) -> Callable[[World, bool], Fault | None]:
    """A stretch of a card or of a panel, put back some places off; it ends in free places. Not on a switch that has
    another order already: an order of an order is not in anybody's reach."""

    def fault(world: World, overlapping: bool) -> Fault | None:
        row = world.sockets // world.cards if part == "socket" else PANEL
        rows = world.switches * world.sockets // row
        start = world.rng.randrange(rows) * row
        step = world.rng.choice((-3, -2, -1, -1, 1, 1, 2, 3))
        low = start + world.rng.randrange(row - 3)
        high = min(start + row, low + world.rng.randint(4, 16))
        inside = [c for c in world.cords if low <= getattr(c, part) < high]
        if any(touched(world, c, False) or c.direct or c.socket < 0 for c in inside):
            return None
        moved = {getattr(c, part): getattr(c, part) + step for c in inside}
        stay = {getattr(c, part) for c in world.cords} - set(moved)
        who = [world.at_outlet[c.jack] for c in inside if c.jack in world.at_outlet]
        if len(who) < 3 or set(moved.values()) & stay or not all(start <= p < start + row for p in moved.values()):
            return None
        places = set(moved) | set(moved.values())
        names = places if part == "socket" else {("jack", p) for p in places}
        if names & world.used:
            return None
        before = world.occupants()
        for cord in inside:
            use_cord(world, cord)
            setattr(cord, part, moved[getattr(cord, part)])
            use_cord(world, cord)
        use(world, *names)
        after = world.occupants()
        lost_or_got_a_cord = set(before.values()) ^ set(after.values())
        changed = {d for s, d in after.items() if before.get(s) != d} | lost_or_got_a_cord
        use(world, *changed)
        return Fault(f"shifted at {'switch' if part == 'socket' else 'panel'}", tuple(sorted(changed)))

    return fault


def _untouched_switch(world: World) -> int:
    used = {u // world.sockets for u in world.used if isinstance(u, int)}
    used |= {c.socket // world.sockets for c in world.cords if touched(world, c, False)}
    switches = [s for s in range(world.switches) if ("switch", s) not in world.used and s not in used]
    return world.rng.choice(switches) if switches else -1


def _renumbered(world: World, overlapping: bool) -> Fault | None:
    switch = _untouched_switch(world)
    if switch < 0:
        return None
    first, n = switch * world.sockets, world.sockets
    orders = [list(range(n))[::-1], [i ^ 1 for i in range(n)], [(i + n // 2) % n for i in range(n)]]
    down_and_across = [*range(0, n, 2), *range(1, n, 2)]
    orders += [down_and_across, [down_and_across.index(i) for i in range(n)]]
    orders += [[(i + k) % n for i in range(n)] for k in (1, 2, n - 1)]
    order = world.rng.choice(orders)
    use(world, ("switch", switch))
    world.label[first : first + n] = [first + order[i] for i in range(n)]
    who = tuple(d for s, d in world.occupants().items() if s // n == switch and world.label[s] != s)
    return Fault("renumbered", who, switch=switch)


def _boxes_exchanged(world: World, overlapping: bool) -> Fault | None:
    one = _untouched_switch(world)
    use(world, ("switch", one))
    other = _untouched_switch(world)
    if one < 0 or other < 0:
        world.used.discard(("switch", one))
        return None
    use(world, ("switch", other))
    n = world.sockets
    for i in range(n):
        a, b = one * n + i, other * n + i
        world.label[a], world.label[b] = b, a
    who = tuple(d for s, d in world.occupants().items() if s // n == one)
    world.faults.append(Fault("boxes exchanged", tuple(d for s, d in world.occupants().items() if s // n == other)))
    return Fault("boxes exchanged", who, switch=one)


def _re_plugged(world: World, overlapping: bool) -> Fault | None:
    """Somebody pulled most cords of a switch and put them back wherever there was room."""
    switch = _untouched_switch(world)
    if switch < 0:
        return None
    first, n = switch * world.sockets, world.sockets
    own = [c for c in world.cords if c.socket // n == switch]
    pulled = world.rng.sample(own, max(1, int(len(own) * world.rng.uniform(0.7, 1.0))))
    left = {c.socket for c in own} - {c.socket for c in pulled}
    room = [s for s in range(first, first + n) if s not in left]
    before = world.occupants()
    for cord, socket in zip(pulled, world.rng.sample(room, len(pulled)), strict=True):
        cord.socket = socket
    use(world, ("switch", switch), ("re-plugged", switch))
    who = tuple(d for s, d in world.occupants().items() if s // n == switch and before.get(s) != d)
    return Fault("re-plugged", who, switch=switch)


def _replaced(world: World, overlapping: bool) -> Fault | None:
    cords = cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = use_cord(world, cord)
    world.at_outlet[cord.jack] = world.stranger()
    return Fault("replaced", (who,), (world.at_outlet[cord.jack],))


def _cord_to_jack(kind: str, with_stranger: bool) -> Callable[[World, bool], Fault | None]:
    def fault(world: World, overlapping: bool) -> Fault | None:
        cords, jacks = cords_with_device(world, overlapping), free_jacks(world)
        if not cords or not jacks:
            return None
        cord, jack = world.rng.choice(cords), world.rng.choice(jacks)
        who = use_cord(world, cord)
        use(world, ("jack", jack))
        cord.jack = jack
        if with_stranger:
            world.at_outlet[jack] = world.stranger()
            return Fault(kind, (who,), (world.at_outlet[jack],))
        return Fault(kind, (who,))

    return fault


def _gone(world: World, overlapping: bool) -> Fault | None:
    cords = cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = use_cord(world, cord)
    del world.at_outlet[cord.jack]
    return Fault("gone", (who,))


def _cord_pulled(world: World, overlapping: bool) -> Fault | None:
    cords = cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = use_cord(world, cord)
    if world.rng.random() < 0.5:
        world.cords.remove(cord)
    else:
        cord.jack = -1
    return Fault("cord pulled", (who,))


def _come_on_a_free_port(world: World, overlapping: bool) -> Fault | None:
    free = free_sockets(world, overlapping)
    if not free:
        return None
    socket, who = world.rng.choice(free), world.stranger()
    use(world, socket)
    world.cords.append(Cord(socket, -1, direct=who))
    return Fault("come on a free port", (), (who,))


def _come_at_a_spare_outlet(world: World, overlapping: bool) -> Fault | None:
    spare = spare_cords(world, overlapping)
    if not spare:
        return None
    cord, who = world.rng.choice(spare), world.stranger()
    use_cord(world, cord)
    world.at_outlet[cord.jack] = who
    return Fault("come at a spare outlet", (), (who,))


FAULTS: dict[str, Callable[[World, bool], Fault | None]] = {
    "cord to free port": _cord_to_free_port,
    "device to spare outlet": _device_to_spare_outlet,
    "device on a new cord": _device_on_a_new_cord,
    "crossed at switch": _turn("crossed at switch", 2, 2, "socket"),
    "crossed at panel": _turn("crossed at panel", 2, 2, "jack"),
    "devices exchanged": _turn("devices exchanged", 2, 2, "device"),
    "rotated": _turn("rotated", 3, 6, ""),
    "shifted at switch": _shifted("socket"),
    "shifted at panel": _shifted("jack"),
    "renumbered": _renumbered,
    "boxes exchanged": _boxes_exchanged,
    "re-plugged": _re_plugged,
    "replaced": _replaced,
    "cord to a stranger's jack": _cord_to_jack("cord to a stranger's jack", True),
    "gone": _gone,
    "cord pulled": _cord_pulled,
    "cord to an empty jack": _cord_to_jack("cord to an empty jack", False),
    "come on a free port": _come_on_a_free_port,
    "come at a spare outlet": _come_at_a_spare_outlet,
}
