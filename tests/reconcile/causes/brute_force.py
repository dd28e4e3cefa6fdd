"""Every story of a small network, counted out one by one: an outside judge of the cheapest story and of 'sure'.

It shares the table of prices with the explanation and nothing else: it draws up no list of likely events, cuts nothing
into parts and asks no solver. A world says where everybody is; its price is that of the cheapest way in which single
hands can have made it. Orders of many cords are no part of it: the networks that it judges leave no room for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product
from math import inf

from reconcile.causes.plan import Deed, Heard, Link, Plan
from reconcile.causes.prices import DISPLACED, FURTHER, MUTE_NEWCOMER, SHARED, Prices, distance, prices_of

NOWHERE = -1
STRANGER, SILENT_NEWCOMER = "stranger", "silent newcomer"
_LONGEST_RING = 6

World = tuple[int, ...]
"""Where each device is: a port or nowhere."""


@dataclass(frozen=True)
class Judge:
    """One plan and one hearing. Homes must be different from one another."""

    plan: Plan
    heard: Heard

    @cached_property
    def worlds(self) -> Mapping[World, float]:
        """The price of every world that fits what was heard."""
        return {world: bits for world in self._possible() if (bits := self.bits(world)) < inf}

    def _possible(self) -> Iterator[World]:
        """Heard devices are where they were heard; the others at home, nowhere, or, where their own port is dark or
        taken, alone on a port where nobody was heard."""
        taken = {int(port) for port in self.heard.at if port >= 0}
        taken |= {port for port in range(self.plan.ports) if self.heard.strangers[port]}
        quiet = [port for port in range(self.plan.ports) if port not in taken]
        choices = []
        for home, at in zip(self.plan.home.tolist(), self.heard.at.tolist(), strict=True):
            lost = home in taken or self.heard.link[home] == Link.DOWN
            choices.append([at] if at >= 0 else [NOWHERE, *quiet] if lost else [NOWHERE, home])
        for world in product(*choices):
            silent = [port for port, at in zip(world, self.heard.at, strict=True) if at < 0 and port >= 0]
            if len(set(silent)) == len(silent):
                yield world

    def bits(self, world: World) -> float:
        """The cheapest way to this world."""
        return self._fates(world) + self._arrivals(world) + self._movements(world)

    def around(self, world: World, devices: set[int], ports: set[int]) -> object:
        """What a world says of some devices and ports. Off at home and gone look alike, and mean the same walk."""
        off = {d for d in devices if self._dark_at_home(d, world[d])}
        where = {d: NOWHERE if d in off else world[d] for d in devices}
        return where, {port: self._newcomer(world, port) for port in ports}

    def near(self, bits: float) -> list[World]:
        """Worlds that cost less than so many bits more than the cheapest."""
        least = min(self.worlds.values())
        return [world for world, price in self.worlds.items() if price < least + bits]

    def _dark_at_home(self, device: int, port: int) -> bool:
        unheard, home = self.heard.at[device] < 0, self.plan.home[device]
        return bool(unheard and port == home and home >= 0 and self.heard.link[home] == Link.DOWN)

    def _newcomer(self, world: World, port: int) -> str:
        if self.heard.strangers[port]:
            return STRANGER
        lit = self.heard.link[port] == Link.UP and port not in world
        return SILENT_NEWCOMER if lit else ""

    @cached_property
    def _prices(self) -> Prices:
        return prices_of(self.plan, self.heard)

    def _presence(self, device: int, port: int) -> float:
        """Being on a port without being heard: silent where the link is up, without power where it is down."""
        if self.heard.at[device] >= 0:
            return 0.0
        if self.heard.link[port] == Link.UP:
            return 0.0 if self.plan.mute[device] or not self.heard.read[port] else self._prices.silent
        return self._prices.dark if self.heard.link[port] == Link.DOWN else 0.0

    def _fates(self, world: World) -> float:
        """Whoever is at home or nowhere."""
        bits = 0.0
        for device, port in enumerate(world):
            home = int(self.plan.home[device])
            if port >= 0 and port == home:
                bits += self._presence(device, port)
            elif port < 0 and not self._is_replaced(device):
                bits += DISPLACED if home >= 0 and self._anybody_heard(home) else self._prices.dark
        return bits

    def _arrivals(self, world: World) -> float:
        """Whoever came: a stranger heard, or somebody silent where the link is up and nobody is."""
        bits = 0.0
        for port in range(self.plan.ports):
            newcomer = self._newcomer(world, port)
            replaced = [d for d, at in enumerate(world) if at < 0 and self.plan.home[d] == port]
            if newcomer == STRANGER:
                bits += self._prices.kind(Deed.REPLACED if replaced else Deed.COME)
            elif newcomer:
                silence = min(self._prices.silent, MUTE_NEWCOMER) if self.heard.read[port] else 0.0
                bits += self._prices.kind(Deed.COME) + silence
        return bits

    def _is_replaced(self, device: int) -> bool:
        home = self.plan.home[device]
        return bool(home >= 0 and self.heard.strangers[home])

    def _anybody_heard(self, port: int) -> bool:
        return bool(self.heard.strangers[port] or port in self.heard.at)

    def _movements(self, world: World) -> float:
        """Whoever is elsewhere: each a move, or a ring at once where that is cheaper."""
        moved = {d: port for d, port in enumerate(world) if port >= 0 and port != self.plan.home[d]}
        singly = {d: self._move(d, port, world) for d, port in moved.items()}
        bits = 0.0
        for ring in self._rings(moved):
            bits += min(self._ring(ring, moved), sum(singly.pop(d) for d in ring))
        return bits + sum(singly.values())

    def _rings(self, moved: Mapping[int, int]) -> Iterator[list[int]]:
        """Rings of which no two in a row were unheard: such a one looks like a shorter ring, and the report says so."""
        owner = {int(home): d for d, home in enumerate(self.plan.home) if home >= 0}
        after = {d: owner.get(port, -1) for d, port in moved.items() if self.plan.home[d] >= 0}
        for first in after:
            ring = [first]
            while (follower := after.get(ring[-1], -1)) not in (*ring, -1):
                ring.append(follower)
            unheard = [self.heard.at[d] < 0 for d in (*ring, first)]
            told_apart = not any(one and other for one, other in pairwise(unheard))
            if follower == first == min(ring) and len(ring) <= _LONGEST_RING and told_apart:
                yield ring

    def _move(self, device: int, port: int, world: World) -> float:
        if self.heard.at[device] < 0 and not self.heard.read[port]:
            return inf  # where nobody could listen, nobody kept silent
        at_home = any(at == port == self.plan.home[d] and self.heard.at[d] == at for d, at in enumerate(world))
        bits = self._prices.kind(Deed.MOVED) + self._step(int(self.plan.home[device]), port)
        return bits + (SHARED if at_home else 0.0) + self._presence(device, port)

    def _ring(self, ring: list[int], moved: Mapping[int, int]) -> float:
        """One place, and the way from each to the next; the last way closes by itself: the dearest is that one."""
        homes = [int(self.plan.home[d]) for d in ring]
        ways = [self._step(a, b) for a, b in pairwise([*homes, homes[0]])]
        presence = sum(self._presence(d, moved[d]) for d in ring)
        kind = self._prices.kind(Deed.CROSSED if len(ring) == 2 else Deed.ROTATED) + FURTHER * max(0, len(ring) - 3)
        return kind + sum(ways) - max(ways) + presence

    def _step(self, origin: int, target: int) -> float:
        """How many bits name the place where a cord went."""
        if origin < 0:
            return self._prices.anywhere
        plan, steps = self.plan, []
        shared = (c for c in (plan.switch, plan.panel, plan.room) if c[origin] >= 0 and c[origin] == c[target])
        mates = [int((column == column[origin]).sum()) for column in shared]
        if plan.switch[origin] == plan.switch[target] and plan.block[origin] == plan.block[target]:
            steps.append(int(plan.number[target] - plan.number[origin]))
        if plan.panel[origin] >= 0 and plan.panel[origin] == plan.panel[target]:
            steps.append(int(plan.jack[target] - plan.jack[origin]))
        return distance(steps, min(mates, default=0), self._prices)
