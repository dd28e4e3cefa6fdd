"""Whatever a network looks like, the story accounts for everybody exactly once."""

from __future__ import annotations

from collections import Counter

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reconcile.causes.plan import Deed, Heard, Link, Plan
from reconcile.causes.story import cheapest_story

often = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def networks(draw: st.DrawFn) -> tuple[Plan, Heard]:
    """Up to three switches, any homes (two devices on one port included), anybody heard anywhere, any link state."""
    ports = draw(st.sampled_from([4, 8, 12])) * draw(st.integers(1, 3))
    devices = draw(st.integers(0, 14))
    place = st.integers(-1, ports - 1)
    homes = draw(st.lists(place, min_size=devices, max_size=devices))
    # Half of the time at home, else anywhere: so that orders and rings have a chance.
    turn = draw(st.sampled_from([0, 0, 1, 2, -1]))
    at = [draw(st.sampled_from([home, home, (home + turn) % ports])) if home >= 0 else draw(place) for home in homes]
    at = [draw(place) if draw(st.integers(0, 4)) == 0 else port for port in at]
    rows = np.arange(ports)
    link = [draw(st.sampled_from([Link.UP, Link.UP, Link.DOWN, Link.DOWN, Link.SHUT, Link.UNKNOWN])) for _ in rows]
    flags = st.lists(st.booleans(), min_size=devices, max_size=devices)
    plan = Plan(
        switch=rows // 4,
        face=rows // 4,
        rank=np.where(draw(st.booleans()), rows % 4, -1),
        block=rows // 4,
        number=rows % 4,
        panel=np.array(draw(st.lists(st.integers(-1, 1), min_size=ports, max_size=ports))),
        jack=np.array(draw(st.permutations(range(ports)))),
        room=rows % 3 - 1,
        home=np.array(homes, dtype=np.int64),
        mute=np.array(draw(flags), dtype=bool) & (np.array(at, dtype=np.int64) < 0),
    )
    heard = Heard(
        at=np.array(at, dtype=np.int64),
        firm=np.array(draw(flags), dtype=bool),
        link=np.array(link, dtype=np.int64),
        read=np.array([draw(st.integers(0, 5)) > 0 for _ in rows]),
        strangers=np.array([draw(st.sampled_from([0, 0, 0, 1, 3])) for _ in rows]),
    )
    return plan, heard


@often
@given(networks())
def test_everybody_heard_elsewhere_is_moved_there_by_exactly_one_event(network: tuple[Plan, Heard]):
    plan, heard = network
    story = cheapest_story(plan, heard)
    moves = Counter((m.device, m.target) for e in story for m in e.event.moves if heard.at[m.device] >= 0)
    told = {move: count for move, count in moves.items() if plan.home[move[0]] != move[1]}
    elsewhere = {(d, int(at)) for d, at in enumerate(heard.at.tolist()) if at >= 0 and at != plan.home[d]}
    assert told == dict.fromkeys(elsewhere, 1)


@often
@given(networks())
def test_every_port_with_strangers_has_exactly_one_newcomer(network: tuple[Plan, Heard]):
    plan, heard = network
    came = Counter(port for e in cheapest_story(plan, heard) for port in e.event.newcomers if heard.strangers[port])
    assert came == Counter(np.flatnonzero(heard.strangers).tolist())


@often
@given(networks())
def test_what_is_sure_was_heard_for_certain_and_concerns_nobody_unheard(network: tuple[Plan, Heard]):
    plan, heard = network
    for e in cheapest_story(plan, heard):
        if e.sure:
            assert e.event.deed not in (Deed.GONE, Deed.REPLACED, Deed.REPLUGGED)
            assert all(heard.at[m.device] == m.target and heard.firm[m.device] for m in e.event.moves)
            assert all(heard.strangers[port] for port in e.event.newcomers)
            assert not e.silent


@often
@given(networks(), st.randoms(use_true_random=False))
def test_the_numbering_of_devices_changes_no_bits(network: tuple[Plan, Heard], random: object):
    plan, heard = network
    order = list(range(plan.devices))
    random.shuffle(order)  # type: ignore[attr-defined]  # hypothesis hands over a random.Random
    first: dict[int, int] = {}
    for device in order:  # the first device of a port is its tenant: keep that
        first.setdefault(int(plan.home[device]), device)
    keep_tenants = all(home < 0 or device == plan.home.tolist().index(home) for home, device in first.items())
    if keep_tenants:
        turned = Plan(
            **{n: getattr(plan, n)[order] if n in ("home", "mute") else getattr(plan, n) for n in Plan.__slots__}
        )
        moved = Heard(heard.at[order], heard.firm[order], heard.link, heard.read, heard.strangers)
        bits = [sum(e.event.bits for e in cheapest_story(p, h)) for p, h in ((plan, heard), (turned, moved))]
        assert abs(bits[0] - bits[1]) < 1e-6
