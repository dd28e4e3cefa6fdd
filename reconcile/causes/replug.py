"""A switch that somebody re-plugged without any order: most of its devices sit on other ports of the same switch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import log2, sqrt

import numpy as np

from reconcile.causes.facts import Facts
from reconcile.causes.plan import Deed, Event, Move
from reconcile.causes.prices import DISPLACED

LEAST_SHARE = 0.4  # of the heard devices of a switch
_LEAST_DEVICES = 2  # a single one is a move
_MOST_SLIPS = 0.5  # of the displaced devices in crossed and rotated cords
_MANY = 3  # displaced devices of one switch that are no coincidence any more


def disturbed(facts: Facts, displaced: Iterable[int]) -> dict[int, list[int]]:
    """Switches with, for all that was heard, more than 40 % of their devices on other ports of the same switch; and
    these devices."""
    within: dict[int, list[int]] = defaultdict(list)
    for device in displaced:
        home, at = facts.home[device], facts.at[device]
        if home >= 0 and facts.switch[home] == facts.switch[at]:
            within[facts.switch[home]].append(device)
    return {switch: moved for switch, moved in sorted(within.items()) if _share(facts, switch, moved) > LEAST_SHARE}


def _share(facts: Facts, switch: int, moved: Sequence[int]) -> float:
    """The share displaced of all devices of a switch: as heard, plus one standard error where not all were heard
    (sampling without replacement)."""
    heard = facts.heard_of[switch]
    share = min(len(moved) / heard, 1.0)  # a link whose end moved is displaced without being heard
    unheard = facts.unheard_of(switch) / max(1, facts.homes_of[switch])
    return share + sqrt(share * (1 - share) / heard * unheard)


def distrusted(facts: Facts, disturbed: Mapping[int, Sequence[int]]) -> frozenset[int]:
    """Disturbed switches on which no single move can be sure: many devices are displaced, or more devices are unheard
    than are at home, so that nobody can say how many moved."""
    return frozenset(
        switch
        for switch, moved in disturbed.items()
        if len(moved) >= _MANY or facts.unheard_of(switch) > facts.at_home_of[switch]
    )


def replugs(facts: Facts, disturbed: Mapping[int, Sequence[int]], hands: Iterable[Event]) -> Iterator[Event]:
    """One event per disturbed switch of which most is not explained by rings whose members were all heard: chance
    closes few. Whether moves, crossed cords or an order explain the rest better, the bits tell."""
    slips = {d for event in hands for d in event.devices if len(event.moves) > 1 and _all_heard(facts, event)}
    for switch, moved in disturbed.items():
        if len(moved) >= _LEAST_DEVICES and len(slips & set(moved)) <= _MOST_SLIPS * len(moved):
            yield _replug(facts, np.flatnonzero(facts.plan.switch == switch).tolist(), moved)


def _all_heard(facts: Facts, event: Event) -> bool:
    return all(facts.at[device] >= 0 for device in event.devices)


def _replug(facts: Facts, ports: Sequence[int], moved: Sequence[int]) -> Event:
    """All of them, and the silent ones whose place is taken spread over the lit ports: who is where is not known."""
    lit = [p for p in ports if facts.lit(p) and (facts.tenant[p] < 0 or facts.displaced(facts.tenant[p]))]
    homeless = [
        d for d in (facts.tenant[p] for p in ports) if d >= 0 and facts.at[d] < 0 and not facts.open(facts.home[d])
    ]
    silent = [Move(d, facts.home[d], p) for d, p in zip(homeless, lit, strict=False)]
    each = log2(len(ports))
    bits = facts.prices.kind(Deed.REPLUGGED) + each * (len(moved) + len(silent))
    bits += sum(min(facts.at_bits(m.device, m.target), DISPLACED) for m in silent)
    moves = (*(Move(d, facts.home[d], facts.at[d]) for d in moved), *silent)
    return Event(Deed.REPLUGGED, bits, moves)
