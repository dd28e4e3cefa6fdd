"""Plan and network side by side: who lives where, who was heard where, and what each place costs a device."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

from reconcile.causes.plan import NOWHERE, Deed, Heard, Link, Plan
from reconcile.causes.prices import DISPLACED, MUTE_NEWCOMER, SHARED, Prices, distance, prices_of

_TOO_FEW_TO_VOUCH = 2


class Facts:
    """Look-ups over one plan and one network, as lists: single look-ups dominate here, not columns."""

    def __init__(self, plan: Plan, heard: Heard) -> None:
        self.plan, self.heard = plan, heard
        self.prices: Prices = prices_of(plan, heard)
        self.home: list[int] = plan.home.tolist()
        self.at: list[int] = heard.at.tolist()
        self.link: list[int] = heard.link.tolist()
        self.mute: list[bool] = plan.mute.tolist()
        self.read: list[bool] = heard.read.tolist()
        self.strangers: list[int] = heard.strangers.tolist()
        self.switch: list[int] = plan.switch.tolist()
        self.block: list[int] = plan.block.tolist()
        self.number: list[int] = plan.number.tolist()
        self.panel: list[int] = plan.panel.tolist()
        self.jack: list[int] = plan.jack.tolist()
        self.room: list[int] = plan.room.tolist()
        self.tenant = [NOWHERE] * plan.ports
        for device in range(plan.devices - 1, -1, -1):
            if self.home[device] >= 0:
                self.tenant[self.home[device]] = device
        # The first device of a port is its tenant; another one documented there but heard elsewhere left alone.
        self.heard_at: dict[int, list[int]] = defaultdict(list)
        for device, port in enumerate(self.at):
            if port >= 0:
                self.heard_at[port].append(device)
        self.homes_of = Counter(
            self.switch[home] for home, mute in zip(self.home, self.mute, strict=True) if home >= 0 and not mute
        )
        self.at_home_of = Counter(self.switch[a] for a, home in zip(self.at, self.home, strict=True) if a == home >= 0)
        # How many devices of each switch were heard anywhere.
        self.heard_of = Counter(
            self.switch[home] for home, at in zip(self.home, self.at, strict=True) if min(home, at) >= 0
        )
        self._mates = {"switch": Counter(self.switch), "panel": Counter(self.panel), "room": Counter(self.room)}

    def parties(self, port: int) -> int:
        """How many different parties were heard on a port; all strangers count as one."""
        return len(self.heard_at.get(port, ())) + (self.strangers[port] > 0)

    def open(self, port: int) -> bool:
        """True when nobody was heard there."""
        return not self.strangers[port] and port not in self.heard_at

    def lit(self, port: int) -> bool:
        """True when a link is up and nobody was heard on it: somebody silent is there."""
        return self.link[port] == Link.UP and self.open(port)

    def displaced(self, device: int) -> bool:
        """True when a device was heard at another port than its own."""
        return self.at[device] >= 0 and self.at[device] != self.home[device]

    def unheard_of(self, switch: int) -> int:
        """How many documented devices of a switch were heard nowhere."""
        return self.homes_of[switch] - self.heard_of[switch]

    def vouched(self, port: int) -> bool:
        """True when somebody of that switch is where the map has him, so that its port names mean what they say.

        A switch with one or two documented devices can have no such witness, and is believed.
        """
        switch = self.switch[port]
        return self.at_home_of[switch] > 0 or self.homes_of[switch] <= _TOO_FEW_TO_VOUCH

    def at_bits(self, device: int, port: int) -> float:
        """What it costs that a device is at a port: nothing if heard there, silence, darkness, or impossible."""
        if self.at[device] >= 0:
            return 0.0 if self.at[device] == port else inf
        if port < 0:
            return 0.0
        if not self.open(port):
            return inf
        if self.link[port] == Link.NO_PORT:  # its own device is somewhere, under another name
            return 0.0 if port == self.home[device] else inf
        if self.link[port] == Link.UP:
            return 0.0 if self.mute[device] or not self.read[port] else self.prices.silent
        return self.prices.dark if self.link[port] == Link.DOWN else 0.0

    def gone_bits(self, device: int) -> float:
        """What it costs that a device is at no port at all."""
        if self.at[device] >= 0:
            return inf
        home = self.home[device]
        return DISPLACED if home >= 0 and not self.open(home) else self.prices.dark

    def come_bits(self, port: int) -> float:
        """What it costs that an undocumented device came to a port."""
        if self.strangers[port]:
            return self.prices.kind(Deed.COME)
        silence = min(self.prices.silent, MUTE_NEWCOMER) if self.read[port] else 0.0
        return self.prices.kind(Deed.COME) + silence if self.lit(port) else inf

    def step_bits(self, origin: int, target: int) -> float:
        """What it costs to name the place where a cord went, given where it was."""
        if origin < 0:
            return self.prices.anywhere
        steps, mates = [], []
        if self.switch[origin] == self.switch[target]:
            mates.append(self._mates["switch"][self.switch[origin]])
            if self.block[origin] == self.block[target]:
                steps.append(self.number[target] - self.number[origin])
        for name, column in (("panel", self.panel), ("room", self.room)):
            if column[origin] >= 0 and column[origin] == column[target]:
                mates.append(self._mates[name][column[origin]])
        if self.panel[origin] >= 0 and self.panel[origin] == self.panel[target]:
            steps.append(self.jack[target] - self.jack[origin])
        return distance(steps, min(mates, default=0), self.prices)

    def move_bits(self, origin: int, target: int) -> float:
        """What it costs that one cord went from here to there, the silence of its device apart."""
        tenant = self.tenant[target]
        shared = SHARED if tenant >= 0 and self.at[tenant] == target else 0.0
        return self.prices.kind(Deed.MOVED) + self.step_bits(origin, target) + shared


@dataclass(frozen=True, slots=True)
class Layout:
    """Who lives where: as documented, or as documented and then put in another order by some events.

    `home` and `tenant` hold only what those orders change; `order_of` has the number of the event by device.
    """

    facts: Facts
    home: Mapping[int, int]
    tenant: Mapping[int, int]
    order_of: Mapping[int, int]

    def needs(self, devices: Iterable[int]) -> tuple[int, ...]:
        """The orders without which these devices would live elsewhere."""
        return tuple(sorted({self.order_of[d] for d in devices if d in self.order_of}))

    def home_of(self, device: int) -> int:
        """The port of a device under this order; -1 when the order leads it to none."""
        found = self.home.get(device)
        return self.facts.home[device] if found is None else found

    def tenant_of(self, port: int) -> int:
        """The device that this order puts at a port."""
        found = self.tenant.get(port)
        return self.facts.tenant[port] if found is None else found


def as_documented(facts: Facts) -> Layout:
    """The layout of the map itself."""
    return Layout(facts, {}, {}, {})


def reordered(facts: Facts, orders: Mapping[int, Mapping[int, int]]) -> Layout:
    """The layout after orders, given by their numbers, sent each of their devices to a port (-1: to none)."""
    sends = {device: port for order in orders.values() for device, port in order.items()}
    tenant = {facts.home[device]: NOWHERE for device in sends}
    tenant |= {port: device for device, port in sends.items() if port >= 0}
    return Layout(facts, sends, tenant, {device: number for number, order in orders.items() for device in order})
