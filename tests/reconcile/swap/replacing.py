"""Puts another switch into the place of one of a world: other port names, another name, another address."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from reconcile.patchmap.model import End
from tests.worlds.dialects import Dialect
from tests.worlds.model import World


def replace_switch(
    world: World,
    old: str,
    new: str,
    name_of: Callable[[int], str],
    *,
    moved: Mapping[int, int] | None = None,
    dialect: Dialect | None = None,
) -> World:
    """Every cord goes to the port of the same number, or to that of `moved`; the map is left alone."""
    box = world.switch(old)
    ports = tuple(replace(port, name=name_of(port.number)) for port in box.ports)
    to = {End(old, port.name): End(new, name_of((moved or {}).get(port.number, port.number))) for port in box.ports}
    other = replace(box, name=new, mac="00:11:22:33:44:00", ports=ports, dialect=dialect or box.dialect)
    return replace(
        world,
        switches=tuple(other if switch is box else switch for switch in world.switches),
        cables=tuple(replace(cable, a=to.get(cable.a, cable.a), b=to.get(cable.b, cable.b)) for cable in world.cables),
    )
