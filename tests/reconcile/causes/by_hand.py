"""A small plan written by hand: one or more rows of ports, who lives where, who was heard where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from reconcile.causes.certainty import Explained
from reconcile.causes.plan import Deed, Event, Heard, Link, Plan
from reconcile.causes.story import cheapest_story


@dataclass
class Bench:
    """Ports 0 to `ports`-1 on each switch; port p of switch s has the row s * ports + p. Every port leads straight to
    the jack of its own number unless `jacks` says otherwise; port i of the only switch is home of device i unless
    `homes` says otherwise. Whoever is not in `heard` was heard at home."""

    ports: int = 24
    switches: int = 1
    homes: Sequence[int] = ()
    heard: Mapping[int, int] = field(default_factory=dict)  # device: port, -1 for nowhere
    dark: Sequence[int] = ()  # ports without link; others are up when anybody lives or was heard there
    lit: Sequence[int] = ()  # further ports with link
    shut: Sequence[int] = ()
    strangers: Sequence[int] = ()
    unread: Sequence[int] = ()  # ports of whose switch the forwarding table is not whole
    mute: Sequence[int] = ()
    doubtful: Sequence[int] = ()  # devices placed with less than certainty
    cards: int = 1  # line cards of each switch
    jacks: Mapping[int, int] = field(default_factory=dict)

    def story(self) -> list[Explained]:
        """The cheapest story."""
        return cheapest_story(self.plan(), self.hearing())

    def plan(self) -> Plan:
        """The map."""
        rows = np.arange(self.ports * self.switches)
        card = self.ports // self.cards
        homes = np.array(self.homes or range(len(rows)))
        jack = np.array([self.jacks.get(int(row), int(row) % self.ports) for row in rows])
        return Plan(
            switch=rows // self.ports,
            face=rows // self.ports,
            rank=rows % self.ports,
            block=rows // card,
            number=rows % card,
            panel=rows // self.ports,
            jack=jack,
            room=np.full(len(rows), -1),
            home=homes,
            mute=np.isin(np.arange(len(homes)), list(self.mute)),
        )

    def hearing(self) -> Heard:
        """The network."""
        plan = self.plan()
        at = np.array([self.heard.get(device, int(home)) for device, home in enumerate(plan.home)])
        rows = np.arange(plan.ports)
        inhabited = np.isin(rows, plan.home) | np.isin(rows, at) | np.isin(rows, [*self.lit, *self.strangers])
        link = np.where(inhabited & ~np.isin(rows, list(self.dark)), Link.UP, Link.DOWN)
        link[list(self.shut)] = Link.SHUT
        return Heard(
            at=at,
            firm=~np.isin(np.arange(plan.devices), list(self.doubtful)),
            link=link,
            read=~np.isin(rows, list(self.unread)),
            strangers=np.isin(rows, list(self.strangers)).astype(np.int64),
        )


def deeds(story: Sequence[Explained]) -> list[tuple[Deed, dict[int, int]]]:
    """What happened, in an order of its own: each deed with who is where now."""
    told = [(e.event.deed, where(e.event)) for e in story]
    return sorted(told, key=lambda one: (one[0].value, sorted(one[1].items())))


def where(event: Event) -> dict[int, int]:
    """Who is where now; a newcomer has the number -1."""
    return {move.device: move.target for move in event.moves} | dict(zip([-1], event.newcomers, strict=False))


def only(story: Sequence[Explained]) -> Explained:
    """The one event of a story that has one."""
    assert len(story) == 1, [e.event for e in story]
    return story[0]


def alternatives(explained: Explained) -> list[set[Deed]]:
    """The deeds of each other story."""
    return [{event.deed for event in story} for story in explained.others]
