"""A physical world of switches, cords, panels, outlets and devices, and hands that change it without writing it down.

It shares no code with the explanation: faults act on cord ends, jacks, devices and port labels; what is heard follows
by tracing each port's cord. Positions count from 0.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

PANEL = 24


@dataclass
class Cord:
    """A patch cord: one end in a switch socket, the other in a panel jack (or straight in a device: jack -1)."""

    socket: int
    jack: int
    direct: str = ""


@dataclass
class Fault:
    """One thing that hands did. `who` are the documented devices that it moved, `strangers` newcomers."""

    kind: str
    who: tuple[str, ...] = ()
    strangers: tuple[str, ...] = ()
    switch: int = -1


@dataclass
class World:
    """Sockets, jacks and outlets are numbers; jack j is wired to outlet j. A label is what a socket is called."""

    rng: random.Random
    switches: int
    sockets: int
    cards: int
    cords: list[Cord] = field(default_factory=list)
    at_outlet: dict[int, str] = field(default_factory=dict)
    label: list[int] = field(default_factory=list)
    off: set[str] = field(default_factory=set)
    faults: list[Fault] = field(default_factory=list)
    used: set[object] = field(default_factory=set)  # sockets, ('jack', j), devices that a fault has touched
    count: int = 0

    def stranger(self) -> str:
        """A device that nobody documented."""
        self.count += 1
        return f"stranger-{self.count}"

    def cord_in(self, socket: int) -> Cord | None:
        """The cord plugged into a socket."""
        return next((cord for cord in self.cords if cord.socket == socket), None)

    def occupants(self) -> dict[int, str]:
        """Who is connected to each socket, by tracing every cord."""
        found = {}
        for cord in self.cords:
            who = cord.direct or self.at_outlet.get(cord.jack, "")
            if cord.socket >= 0 and who:
                found[cord.socket] = who
        return found


def documented(seed: int, switches: int, sockets: int, fill: float = 0.7) -> World:
    """A world as its map has it. Half of the switches are patched straight, half of them anyhow."""
    rng = random.Random(seed)
    world = World(rng, switches, sockets, cards=rng.choice((1, 1, 2)))
    world.label = list(range(switches * sockets))
    jacks = 0
    for switch in range(switches):
        own = list(range(jacks, jacks + sockets))
        jacks += sockets
        straight = rng.random() < 0.5
        if not straight:
            rng.shuffle(own)
        for place, jack in enumerate(own):
            if rng.random() < fill:
                world.cords.append(Cord(switch * sockets + place, jack))
                if rng.random() < 0.92:
                    world.at_outlet[jack] = f"device-{jack}"
    return world


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


# --- picking victims -------------------------------------------------------------------------------------------


def _cords_with_device(world: World, overlapping: bool) -> list[Cord]:
    """Cords of documented devices that no fault touched; overlapping ones may strike inside a renamed switch.

    Never inside a re-plugged one: where nothing has a place any more, a single fault cannot be told from the rest.
    """
    return [
        c
        for c in world.cords
        if c.socket >= 0
        and c.jack >= 0
        and world.at_outlet.get(c.jack, "").startswith("device")
        and not _touched(world, c, overlapping)
    ]


def _touched(world: World, cord: Cord, overlapping: bool) -> bool:
    struck = {cord.socket, ("jack", cord.jack), world.at_outlet.get(cord.jack)} & world.used
    switch = cord.socket // world.sockets
    return (
        bool(struck) or ("re-plugged", switch) in world.used or (not overlapping and ("switch", switch) in world.used)
    )


def _free_sockets(world: World, overlapping: bool) -> list[int]:
    """Sockets without a cord; overlapping faults may use those that another fault has freed."""
    taken = {cord.socket for cord in world.cords}
    return [
        s
        for s in range(world.switches * world.sockets)
        if s not in taken
        and (overlapping or s not in world.used)
        and ("re-plugged", s // world.sockets) not in world.used
        and (overlapping or ("switch", s // world.sockets) not in world.used)
    ]


def _free_jacks(world: World) -> list[int]:
    taken = {cord.jack for cord in world.cords}
    return [
        j
        for j in range(world.switches * world.sockets)
        if j not in taken and ("jack", j) not in world.used and j not in world.at_outlet
    ]


def _spare_cords(world: World, overlapping: bool) -> list[Cord]:
    """Cords whose outlet has nobody."""
    return [
        c
        for c in world.cords
        if c.socket >= 0 and c.jack >= 0 and c.jack not in world.at_outlet and not _touched(world, c, overlapping)
    ]


def _pick(world: World, cords: list[Cord], count: int) -> list[Cord]:
    """So many of them: neighbours, on one switch, or anywhere."""
    if len(cords) < count:
        return []
    first = world.rng.choice(cords)
    dice = world.rng.random()
    reach = world.sockets if dice > 0.4 else 4
    near = [c for c in cords if c is not first and abs(c.socket - first.socket) <= reach] if dice < 0.85 else []
    near = [c for c in near if c.socket // world.sockets == first.socket // world.sockets]
    pool = near if len(near) >= count - 1 else [c for c in cords if c is not first]
    return [first, *world.rng.sample(pool, count - 1)]


def _near_or_any(world: World, places: list[int], origin: int) -> int:
    """A free place: often on the same switch."""
    near = [p for p in places if p // world.sockets == origin // world.sockets]
    return world.rng.choice(near if near and world.rng.random() < 0.7 else places)


def _use(world: World, *things: object) -> None:
    world.used.update(things)


def _use_cord(world: World, cord: Cord) -> str:
    who = cord.direct or world.at_outlet.get(cord.jack, "")
    _use(world, cord.socket, ("jack", cord.jack), who)
    return who


# --- faults ----------------------------------------------------------------------------------------------------


def _cord_to_free_port(world: World, overlapping: bool) -> Fault | None:
    cords, free = _cords_with_device(world, overlapping), _free_sockets(world, overlapping)
    if not cords or not free:
        return None
    cord = world.rng.choice(cords)
    who = _use_cord(world, cord)
    cord.socket = _near_or_any(world, free, cord.socket)
    _use(world, cord.socket)
    return Fault("cord to free port", (who,))


def _device_to_spare_outlet(world: World, overlapping: bool) -> Fault | None:
    cords, spare = _cords_with_device(world, overlapping), _spare_cords(world, overlapping)
    if not cords or not spare:
        return None
    cord, other = world.rng.choice(cords), world.rng.choice(spare)
    who = _use_cord(world, cord)
    _use_cord(world, other)
    world.at_outlet[other.jack] = world.at_outlet.pop(cord.jack)
    return Fault("device to spare outlet", (who,))


def _device_on_a_new_cord(world: World, overlapping: bool) -> Fault | None:
    cords, free = _cords_with_device(world, overlapping), _free_sockets(world, overlapping)
    if not cords or not free:
        return None
    cord = world.rng.choice(cords)
    who = _use_cord(world, cord)
    socket = _near_or_any(world, free, cord.socket)
    _use(world, socket)
    del world.at_outlet[cord.jack]
    world.cords.append(Cord(socket, -1, direct=who))
    return Fault("device on a new cord", (who,))


def _turn(kind: str, fewest: int, most: int, part: str) -> Callable[[World, bool], Fault | None]:
    """Cords or devices that change places in a ring."""

    def fault(world: World, overlapping: bool) -> Fault | None:
        cords = _pick(world, _cords_with_device(world, overlapping), world.rng.randint(fewest, most))
        if not cords:
            return None
        who = tuple(_use_cord(world, cord) for cord in cords)
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
        if any(_touched(world, c, False) or c.direct or c.socket < 0 for c in inside):
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
            _use_cord(world, cord)
            setattr(cord, part, moved[getattr(cord, part)])
            _use_cord(world, cord)
        _use(world, *names)
        after = world.occupants()
        lost_or_got_a_cord = set(before.values()) ^ set(after.values())
        changed = {d for s, d in after.items() if before.get(s) != d} | lost_or_got_a_cord
        _use(world, *changed)
        return Fault(f"shifted at {'switch' if part == 'socket' else 'panel'}", tuple(sorted(changed)))

    return fault


def _untouched_switch(world: World) -> int:
    used = {u // world.sockets for u in world.used if isinstance(u, int)}
    used |= {c.socket // world.sockets for c in world.cords if _touched(world, c, False)}
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
    _use(world, ("switch", switch))
    world.label[first : first + n] = [first + order[i] for i in range(n)]
    who = tuple(d for s, d in world.occupants().items() if s // n == switch and world.label[s] != s)
    return Fault("renumbered", who, switch=switch)


def _boxes_exchanged(world: World, overlapping: bool) -> Fault | None:
    one = _untouched_switch(world)
    _use(world, ("switch", one))
    other = _untouched_switch(world)
    if one < 0 or other < 0:
        world.used.discard(("switch", one))
        return None
    _use(world, ("switch", other))
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
    _use(world, ("switch", switch), ("re-plugged", switch))
    who = tuple(d for s, d in world.occupants().items() if s // n == switch and before.get(s) != d)
    return Fault("re-plugged", who, switch=switch)


def _replaced(world: World, overlapping: bool) -> Fault | None:
    cords = _cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = _use_cord(world, cord)
    world.at_outlet[cord.jack] = world.stranger()
    return Fault("replaced", (who,), (world.at_outlet[cord.jack],))


def _cord_to_jack(kind: str, with_stranger: bool) -> Callable[[World, bool], Fault | None]:
    def fault(world: World, overlapping: bool) -> Fault | None:
        cords, jacks = _cords_with_device(world, overlapping), _free_jacks(world)
        if not cords or not jacks:
            return None
        cord, jack = world.rng.choice(cords), world.rng.choice(jacks)
        who = _use_cord(world, cord)
        _use(world, ("jack", jack))
        cord.jack = jack
        if with_stranger:
            world.at_outlet[jack] = world.stranger()
            return Fault(kind, (who,), (world.at_outlet[jack],))
        return Fault(kind, (who,))

    return fault


def _gone(world: World, overlapping: bool) -> Fault | None:
    cords = _cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = _use_cord(world, cord)
    del world.at_outlet[cord.jack]
    return Fault("gone", (who,))


def _cord_pulled(world: World, overlapping: bool) -> Fault | None:
    cords = _cords_with_device(world, overlapping)
    if not cords:
        return None
    cord = world.rng.choice(cords)
    who = _use_cord(world, cord)
    if world.rng.random() < 0.5:
        world.cords.remove(cord)
    else:
        cord.jack = -1
    return Fault("cord pulled", (who,))


def _come_on_a_free_port(world: World, overlapping: bool) -> Fault | None:
    free = _free_sockets(world, overlapping)
    if not free:
        return None
    socket, who = world.rng.choice(free), world.stranger()
    _use(world, socket)
    world.cords.append(Cord(socket, -1, direct=who))
    return Fault("come on a free port", (), (who,))


def _come_at_a_spare_outlet(world: World, overlapping: bool) -> Fault | None:
    spare = _spare_cords(world, overlapping)
    if not spare:
        return None
    cord, who = world.rng.choice(spare), world.stranger()
    _use_cord(world, cord)
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


def labels(world: World) -> Iterator[tuple[int, str]]:
    """What the network shows: under which port label each connected device appears."""
    for socket, who in world.occupants().items():
        yield world.label[socket], who
