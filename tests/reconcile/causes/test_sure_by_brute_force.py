"""The cheapest story is the cheapest, and what is called sure is so in every story of about equal cost.

Both are counted out over all worlds that fit what was heard (`brute_force.py`).
"""

from __future__ import annotations

import random
from itertools import pairwise

import numpy as np
import pytest

from reconcile.causes.certainty import Explained
from reconcile.causes.plan import Deed, Heard, Link, Plan
from reconcile.causes.prices import EQUAL
from reconcile.causes.story import cheapest_story
from tests.reconcile.causes.brute_force import NOWHERE, Judge, World

FAR_APART = 20  # between the numbers of two ports: no block of neighbours can be shifted
LINKS = (Link.UP, Link.UP, Link.UP, Link.DOWN, Link.DOWN, Link.DOWN, Link.SHUT, Link.UNKNOWN)
NETWORKS, ALL_NETWORKS = 400, 4_000


def network(seed: int) -> Judge:
    """Five to eight ports on one or two switches, three to six devices, most of them at home, up to three unheard."""
    rng = random.Random(seed)
    ports = rng.randint(5, 8)
    devices = rng.randint(3, min(6, ports))
    rows = np.arange(ports)
    homes = rng.sample(range(ports), devices)
    if rng.random() < 0.2:
        homes[-1] = NOWHERE
    at = heard_places(rng, homes, ports)
    strangers = np.array([rng.random() < 0.12 for _ in rows]).astype(np.int64)
    up = np.isin(rows, at) | (strangers > 0)
    link = np.array([Link.UP if lit else rng.choice(LINKS) for lit in up])
    switch = rows * rng.choice((1, 2)) // ports
    panel = np.array([rng.choice((-1, 0)) for _ in rows])
    plan = Plan(
        switch=switch,
        face=switch,
        rank=np.full(ports, -1),  # no order of the ports is known: no map of them can be renumbered
        block=switch,
        number=rows * FAR_APART,
        panel=panel,
        jack=rows * FAR_APART,
        room=np.array([rng.choice((-1, 0, 1)) for _ in rows]),
        home=np.array(homes),
        mute=np.array([place < 0 and rng.random() < 0.1 for place in at]),
    )
    heard = Heard(
        at=np.array(at),
        firm=np.ones(devices, dtype=bool),
        link=link,
        read=np.array([rng.random() < 0.9 for _ in rows]),
        strangers=strangers,
    )
    return Judge(plan, heard)


def heard_places(rng: random.Random, homes: list[int], ports: int) -> list[int]:
    """Now and then a few in one another's place; the others at home, anywhere or, three at most, not heard."""
    at = [home if home >= 0 else rng.randrange(ports) for home in homes]
    mixed = rng.sample(range(len(homes)), rng.choice((0, 0, 2, 2, 3)))
    for one, other in pairwise(mixed):
        at[one], at[other] = at[other], at[one]
    for device in rng.sample(range(len(homes)), rng.randint(0, 2)):
        at[device] = rng.randrange(ports)
    for device in rng.sample(range(len(homes)), rng.choice((0, 0, 1, 1, 2, 3))):
        at[device] = NOWHERE if homes[device] >= 0 else at[device]
    return at


def world_of(judge: Judge, story: list[Explained]) -> World:
    """Where a story has everybody."""
    where = [int(at) if at >= 0 else int(home) for home, at in zip(judge.plan.home, judge.heard.at, strict=True)]
    for e in story:
        for move in e.event.moves:
            where[move.device] = move.target
    dark = [d for d, port in enumerate(where) if port < 0 and judge.heard.link[judge.plan.home[d]] == Link.DOWN]
    open_home = [d for d in dark if judge.plan.home[d] >= 0 and judge.plan.home[d] not in where]
    for device in open_home:  # off at home is what 'gone' from a dark port says as well, at the same price
        where[device] = int(judge.plan.home[device])
    return tuple(where)


def check_cheapest(seed: int) -> None:
    judge = network(seed)
    story = cheapest_story(judge.plan, judge.heard)
    if any(e.event.deed is Deed.REPLUGGED for e in story):
        return  # an order of its own, not one of single hands
    least = min(judge.worlds.values())
    told = judge.worlds[world_of(judge, story)]
    assert told <= least + 1e-6, (seed, told - least, story)


def check_sure(seed: int) -> None:
    judge = network(seed)
    near = judge.near(EQUAL)
    for e in cheapest_story(judge.plan, judge.heard):
        if e.sure:
            ports = {p for m in e.event.moves for p in m[1:] if p >= 0} | set(e.event.newcomers)
            owners = {d for d, home in enumerate(judge.plan.home.tolist()) if home in ports}
            devices = owners | set(e.event.devices)
            said = [judge.around(world, devices, ports) for world in near]
            assert all(one == said[0] for one in said), (seed, e.event, said)
            targets = dict(move[::2] for move in e.event.moves)
            assert all(world[d] == port for world in near for d, port in targets.items()), (seed, e.event)


@pytest.mark.parametrize("first", range(0, NETWORKS, 100))
def test_no_story_of_single_hands_is_cheaper_than_the_one_told(first: int):
    for seed in range(first, first + 100):
        check_cheapest(seed)


@pytest.mark.parametrize("first", range(0, NETWORKS, 100))
def test_what_is_sure_is_so_in_every_story_of_about_equal_cost(first: int):
    for seed in range(first, first + 100):
        check_sure(seed)


@pytest.mark.long
@pytest.mark.parametrize("first", range(NETWORKS, ALL_NETWORKS, 400))
def test_ten_times_as_many_networks_tell_nothing_else(first: int):
    for seed in range(first, first + 400):
        check_cheapest(seed)
        check_sure(seed)
