"""What people do to a network and forget to write down: each function changes the reality and leaves the map alone."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from reconcile.patchmap.model import End
from tests.worlds.model import Box, Cable, Station, World, end


def unplug(world: World, at: str) -> World:
    """Pulls the cord whose plug is there, and takes it away."""
    return replace(world, cables=tuple(cable for cable in world.cables if cable is not cord_at(world, at)))


def replug(world: World, at: str, to: str) -> World:
    """Pulls the plug that is at `at` and puts it into `to`."""
    moved = cord_at(world, at)
    return _with_cable(world, moved, _with_end(moved, end(at), end(to)))


def cross(world: World, one: str, other: str) -> World:
    """Exchanges the two plugs at `one` and `other`: two crossed cords."""
    first, second = cord_at(world, one), cord_at(world, other)
    world = _with_cable(world, first, _with_end(first, end(one), end(other)))
    return _with_cable(world, second, _with_end(second, end(other), end(one)))


def plug(world: World, a: str, b: str, label: str = "") -> World:
    """A further cord between two free places."""
    return replace(world, cables=(*world.cables, Cable(label, end(a), end(b))))


def add_box(world: World, box: Box, at: str) -> World:
    """An undocumented box, its first socket plugged in at `at`."""
    world = replace(world, boxes=(*world.boxes, box))
    return plug(world, at, f"{box.name}:{box.sockets[0]}")


def replace_box(world: World, name: str, **fields: Any) -> World:
    """Changes a box where it stands: other stations, no power, silence."""
    boxes = tuple(replace(box, **fields) if box.name == name else box for box in world.boxes)
    return replace(world, boxes=boxes)


def new_address(world: World, name: str, mac: str) -> World:
    """Another unit with another address in the place of a device with one address."""
    old = world.box(name).stations
    return replace_box(world, name, stations=tuple(Station(mac, s.vlan, s.socket, s.ip) for s in old))


def switch_off(world: World, name: str) -> World:
    """A device without power."""
    return replace_box(world, name, powered=False)


def silence(world: World, name: str) -> World:
    """A device with link that has said nothing for longer than the ageing time."""
    return replace_box(world, name, stations=(), adverts=())


def shut(world: World, at: str) -> World:
    """Shuts a switch port by configuration."""
    return change_port(world, at, admin_up=False)


def change_port(world: World, at: str, **fields: Any) -> World:
    """Changes the configuration of a switch port."""
    place = end(at)
    switch = world.switch(place.name)
    ports = tuple(replace(port, **fields) if port.name == place.position else port for port in switch.ports)
    return change_switch(world, switch.name, ports=ports)


def change_switch(world: World, name: str, **fields: Any) -> World:
    """Changes a switch: its dialect, its ports, whether it answers."""
    switches = tuple(replace(switch, **fields) if switch.name == name else switch for switch in world.switches)
    return replace(world, switches=switches)


def cord_at(world: World, at: str) -> Cable:
    """The cord, not a fixed cable, with a plug at this place. KeyError where there is none."""
    fixed = {frozenset((cable.a, cable.b)) for cable in world.record.fixed_cables}
    for cable in world.cables:
        if cable.ends_at(end(at)) and frozenset((cable.a, cable.b)) not in fixed:
            return cable
    raise KeyError(f"no cord at {at}")


def _with_end(cable: Cable, old: End, new: End) -> Cable:
    return replace(cable, a=new if cable.a == old else cable.a, b=new if cable.b == old else cable.b)


def _with_cable(world: World, old: Cable, new: Cable) -> World:
    return replace(world, cables=tuple(new if cable is old else cable for cable in world.cables))
