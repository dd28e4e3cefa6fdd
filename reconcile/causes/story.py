"""The core in one place: from a plan and what was heard to the cheapest story. Pure numbers, no names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from reconcile.causes.certainty import Explained, alone, explained
from reconcile.causes.cover import Cover, Variant
from reconcile.causes.facts import Facts, Layout, as_documented, reordered
from reconcile.causes.hands import hand_events, silent_moves
from reconcile.causes.orders import Ordered, renumberings, shifts
from reconcile.causes.plan import NOWHERE, Deed, Event, Heard, Link, Move, Plan
from reconcile.causes.replug import distrusted, disturbed, replugs

__all__ = ["cheapest_story"]


def cheapest_story(plan: Plan, heard: Heard) -> list[Explained]:
    """The set of events that explains everything heard at least cost, each with how sure it is."""
    facts = Facts(plan, heard)
    displaced = [d for d, at in enumerate(facts.at) if at >= 0 and at != facts.home[d]]
    unruly = disturbed(facts, displaced)
    events = _events(facts, displaced, unruly)
    cover = Cover(facts, events)
    best = cover.solve(Variant(i) for i in range(len(cover.components)))
    story = explained(facts, cover, best, distrusted(facts, unruly))
    told = {move.device for e in story if e.event.deed is Deed.GONE for move in e.event.moves}
    asleep = [event for e in story for event in _left_dark(facts, e.event) if event.moves[0].device not in told]
    return [*story, *(alone(facts, event) for event in (*asleep, *_untouched(facts, cover)))]


def _events(facts: Facts, displaced: Sequence[int], unruly: Mapping[int, Sequence[int]]) -> list[Event]:
    """Every event that may have happened: single hands first, then orders, each with what happened within it."""
    homeless = [
        d for d in np.flatnonzero((facts.heard.at < 0) & (facts.plan.home >= 0)).tolist() if _homeless(facts, d)
    ]
    events = list(hand_events(as_documented(facts), [*displaced, *homeless]))
    events += list(replugs(facts, unruly, events))
    events += silent_moves(facts, homeless)
    replaced = {event.moves[0].device: i for i, event in enumerate(events) if event.deed is Deed.REPLACED}
    orders: dict[int, Ordered] = {}
    for ordered in (*shifts(facts, displaced), *renumberings(facts, displaced)):
        number = len(events)
        orders[number] = ordered
        # A stranger at the documented port of a member that the order sends elsewhere did not replace this member.
        events.append(replace(ordered.event, excludes=tuple(replaced[d] for d in ordered.exempt if d in replaced)))
        events += _within(facts, {number: ordered})
    return [*events, *_across(facts, orders)]


def _homeless(facts: Facts, device: int) -> bool:
    """True for a device, heard nowhere, whose own port is dark or taken."""
    home = facts.home[device]
    return facts.link[home] == Link.DOWN or not facts.open(home)


def _within(facts: Facts, orders: Mapping[int, Ordered]) -> Iterator[Event]:
    """What hands did to those whom orders concern but who do not follow them."""
    exempt = [d for ordered in orders.values() for d in ordered.exempt]
    if exempt:
        layout = reordered(facts, {number: ordered.sends for number, ordered in orders.items()})
        yield from (event for event in hand_events(layout, _pushed_along(layout, exempt)) if event.needs)


def _pushed_along(layout: Layout, first: Sequence[int]) -> list[int]:
    """These devices, who was heard in their places, in whose places they were heard, and so on."""
    facts = layout.facts
    found = dict.fromkeys(first)
    ahead = list(first)
    while ahead:
        device = ahead.pop()
        pushed = [layout.tenant_of(facts.at[device])] if facts.at[device] >= 0 else []
        for other in (*facts.heard_at.get(layout.home_of(device), ()), *pushed):
            if other >= 0 and other not in found and facts.displaced(other):
                found[other] = None
                ahead.append(other)
    return list(found)


def _across(facts: Facts, orders: Mapping[int, Ordered]) -> Iterator[Event]:
    """Hands that reached from one renumbered switch to another: under the likeliest map of each, both needed."""
    likeliest: dict[int, int] = {}
    for number, ordered in orders.items():
        order = ordered.event.order
        if order is not None and ordered.event.deed is Deed.RENUMBERED:
            best = likeliest.setdefault(order.row, number)
            if len(ordered.exempt) < len(orders[best].exempt):
                likeliest[order.row] = number
    if len(likeliest) > 1:
        chosen = {number: orders[number] for number in likeliest.values()}
        yield from (event for event in _within(facts, chosen) if len(event.needs) > 1)


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
