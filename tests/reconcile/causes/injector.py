"""A physical world of switches, cords, panels, outlets and devices, and hands that change it without writing it down.

It shares no code with the explanation: faults act on cord ends, jacks, devices and port labels; what is heard follows
by tracing each port's cord. Positions count from 0.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
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


def labels(world: World) -> Iterator[tuple[int, str]]:
    """What the network shows: under which port label each connected device appears."""
    for socket, who in world.occupants().items():
        yield world.label[socket], who


def cords_with_device(world: World, overlapping: bool) -> list[Cord]:
    """Cords of documented devices that no fault touched; overlapping ones may strike inside a renamed switch.

    Never inside a re-plugged one: where nothing has a place any more, a single fault cannot be told from the rest.
    """
    return [
        c
        for c in world.cords
        if c.socket >= 0
        and c.jack >= 0
        and world.at_outlet.get(c.jack, "").startswith("device")
        and not touched(world, c, overlapping)
    ]


def touched(world: World, cord: Cord, overlapping: bool) -> bool:
    struck = {cord.socket, ("jack", cord.jack), world.at_outlet.get(cord.jack)} & world.used
    switch = cord.socket // world.sockets
    return (
        bool(struck) or ("re-plugged", switch) in world.used or (not overlapping and ("switch", switch) in world.used)
    )


def free_sockets(world: World, overlapping: bool) -> list[int]:
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


def free_jacks(world: World) -> list[int]:
    taken = {cord.jack for cord in world.cords}
    return [
        j
        for j in range(world.switches * world.sockets)
        if j not in taken and ("jack", j) not in world.used and j not in world.at_outlet
    ]


def spare_cords(world: World, overlapping: bool) -> list[Cord]:
    """Cords whose outlet has nobody."""
    return [
        c
        for c in world.cords
        if c.socket >= 0 and c.jack >= 0 and c.jack not in world.at_outlet and not touched(world, c, overlapping)
    ]


def pick(world: World, cords: list[Cord], count: int) -> list[Cord]:
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


def near_or_any(world: World, places: list[int], origin: int) -> int:
    """A free place: often on the same switch."""
    near = [p for p in places if p // world.sockets == origin // world.sockets]
    return world.rng.choice(near if near and world.rng.random() < 0.7 else places)


def use(world: World, *things: object) -> None:
    world.used.update(things)


def use_cord(world: World, cord: Cord) -> str:
    who = cord.direct or world.at_outlet.get(cord.jack, "")
    use(world, cord.socket, ("jack", cord.jack), who)
    return who
