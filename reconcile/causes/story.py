"""The core in one place: from a plan and what was heard to the cheapest story. Pure numbers, no names."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reconcile.causes.certainty import Explained, alone, explained
from reconcile.causes.cover import Cover, Variant
from reconcile.causes.facts import Facts, as_documented, reordered
from reconcile.causes.hands import hand_events, silent_moves
from reconcile.causes.orders import Ordered, renumberings, shifts
from reconcile.causes.plan import NOWHERE, Deed, Event, Heard, Link, Move, Plan
from reconcile.causes.replug import disturbed, replugs

__all__ = ["cheapest_story"]


def cheapest_story(plan: Plan, heard: Heard) -> list[Explained]:
    """The set of events that explains everything heard at least cost, each with how sure it is."""
    facts = Facts(plan, heard)
    displaced = [d for d, at in enumerate(facts.at) if at >= 0 and at != facts.home[d]]
    unruly = disturbed(facts, displaced)
    events = [*_events(facts, displaced), *replugs(facts, unruly)]
    cover = Cover(facts, events)
    best = cover.solve(Variant(i) for i in range(len(cover.components)))
    story = explained(facts, cover, best, frozenset(unruly))
    told = {move.device for e in story if e.event.deed is Deed.GONE for move in e.event.moves}
    asleep = [event for e in story for event in _left_dark(facts, e.event) if event.moves[0].device not in told]
    return [*story, *(alone(facts, event) for event in (*asleep, *_untouched(facts, cover)))]


def _events(facts: Facts, displaced: list[int]) -> list[Event]:
    """Every event that may have happened: single hands first, then orders, each with what happened within it."""
    homeless = [
        d for d in np.flatnonzero((facts.heard.at < 0) & (facts.plan.home >= 0)).tolist() if _homeless(facts, d)
    ]
    events = list(hand_events(as_documented(facts), [*displaced, *homeless]))
    events += silent_moves(facts, homeless)
    for ordered in (*shifts(facts, displaced), *renumberings(facts, displaced)):
        needs = len(events)
        events.append(ordered.event)
        events += _within(facts, ordered, needs, displaced)
    return events


def _homeless(facts: Facts, device: int) -> bool:
    """True for a device, heard nowhere, whose own port is dark or taken."""
    home = facts.home[device]
    return facts.link[home] == Link.DOWN or not facts.open(home)


def _within(facts: Facts, ordered: Ordered, needs: int, displaced: list[int]) -> Iterator[Event]:
    """What hands did to those whom an order concerns but who do not follow it."""
    if ordered.exempt:
        freed = {ordered.sends[d] for d in ordered.exempt}
        outside = [d for d in displaced if facts.at[d] in freed and d not in ordered.sends]
        yield from hand_events(reordered(facts, ordered.sends, needs), [*ordered.exempt, *outside])


def _left_dark(facts: Facts, event: Event) -> Iterator[Event]:
    """Members of an order that went along without a link: off or unplugged at their new place."""
    if event.order is None:
        return
    for move in event.moves:
        if facts.at[move.device] < 0 and (move.target < 0 or facts.link[move.target] == Link.DOWN):
            yield Event(Deed.GONE, facts.prices.dark, (move._replace(target=NOWHERE),))


def _untouched(facts: Facts, cover: Cover) -> Iterator[Event]:
    """Dark ports and arrivals that no event competes for: each is a story of its own."""
    plan, heard = facts.plan, facts.heard
    quiet = np.flatnonzero((heard.at < 0) & (plan.home >= 0))
    for device in quiet[heard.link[plan.home[quiet]] == Link.DOWN].tolist():
        if device not in cover.devices:
            yield Event(Deed.GONE, facts.prices.dark, (Move(device, facts.home[device], NOWHERE),))
    for port in np.flatnonzero((heard.link == Link.UP) | (heard.strangers > 0)).tolist():
        if port not in cover.ports and (facts.strangers[port] or (facts.lit(port) and facts.tenant[port] < 0)):
            yield Event(Deed.COME, facts.come_bits(port), newcomers=(port,))
