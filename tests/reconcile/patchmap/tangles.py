"""Maps built from few words: panels, cords and cables, and any tangle of them."""

from __future__ import annotations

import random

from hypothesis import strategies as st

from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch


def end(text: str) -> End:
    name, _, position = text.partition(":")
    return End(name, position)


def cord(label: str, a: str, b: str) -> Cord:
    return Cord(label=label, a=end(a), b=end(b))


def fixed(label: str, a: str, b: str) -> FixedCable:
    return FixedCable(label=label, a=end(a), b=end(b))


def panel(name: str, jacks: int = 4) -> Panel:
    return Panel(name=name, jacks=tuple(str(n) for n in range(1, jacks + 1)))


@st.composite
def tangles(draw: st.DrawFn) -> PatchMap:
    """Any cabling at all over few places: loops, double use, unknown ends, devices at each other."""
    places = [f"{n}:{p}" for n in ("SW-1", "SW-2", "PP-A", "PP-B", "WL-1") for p in ("1", "2")]
    ends = st.sampled_from([*places, "PP-A:9", "NOWHERE:1", "PP-B", "D-1", "D-2", "D-2:x"])
    pairs = draw(st.lists(st.tuples(ends, ends, st.booleans()), max_size=9))
    return PatchMap(
        switches=[Switch(name="SW-1"), Switch(name="SW-2", ports=("1", "2"))],
        panels=[panel("PP-A", 2), panel("PP-B", 2)],
        outlets=[Outlet(name="WL-1", jacks=("1", "2"))],
        fixed_cables=[fixed(f"F{n}", a, b) for n, (a, b, installed) in enumerate(pairs) if installed],
        cords=[cord(f"C{n}", a, b) for n, (a, b, installed) in enumerate(pairs) if not installed],
        devices=[
            Device(name="D-1", carries=draw(st.booleans()), at=draw(st.none() | ends.map(end))),
            Device(name="D-2", carries=draw(st.booleans()), at=draw(st.none() | ends.map(end))),
        ],
    )


def shuffled(the_map: PatchMap, chance: random.Random) -> PatchMap:
    """The same rows in another order."""
    tables = ("switches", "panels", "outlets", "fixed_cables", "cords", "devices")
    rows = {name: getattr(the_map, name) for name in tables}
    return the_map.model_copy(update={name: chance.sample(table, len(table)) for name, table in rows.items()})
