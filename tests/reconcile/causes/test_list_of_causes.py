"""Each cause that there is, from a change of the physical world to what a person reads: one entry of the list each.

Every one says which findings it explains, what undoes it by hand, how sure it is, what looks the same from the
switches, and which observation would decide.
"""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

import pytest

from reconcile.findings import Kind
from tests.reconcile.causes.rack import documented, explained, port, replugged
from tests.worlds import changes
from tests.worlds.equipment import host
from tests.worlds.model import World

STRANGER = "dc:a6:32:9e:04:5b"


class Entry(NamedTuple):
    """What happened, and what must be told of it. `undo`, `same` and `decides` are words that must stand there."""

    world: World
    kind: str
    findings: dict[Kind, int]
    sure: bool
    undo: str
    same: str
    decides: str


def _ring(ports: list[int]) -> dict[str, str]:
    """Each cord goes to the port of the next."""
    return {port(a): port(b) for a, b in zip(ports, ports[1:] + ports[:1], strict=True)}


def _asleep(world: World, *names: str) -> World:
    for name in names:
        world = changes.switch_off(world, name)
    return world


WITHOUT_ORDER = [13, 4, 16, 10, 2, 15, 7, 1, 12, 5, 14, 3, 8, 11, 6]
USED = [n for n in range(1, 17) if n != 9] + [20, 24]

LIST = {
    "a cord end moved": Entry(
        replugged(documented(), {port(5): port(18)}),
        "moved", {Kind.MOVED_DEVICE: 1}, True,
        "move cord C5 from sw-wet port Gi1/0/18 back to sw-wet port Gi1/0/5",
        "moved to a socket that an undocumented cord joins to sw-wet port Gi1/0/18",
        "read the label of the cord in sw-wet port Gi1/0/18",
    ),
    "two cords crossed": Entry(
        changes.cross(documented(), port(3), port(7)),
        "crossed", {Kind.MOVED_DEVICE: 2}, True,
        "pull cord C3 from sw-wet port Gi1/0/7 and hold it",
        "crossed at the panel, jacks PP:3 and PP:7",
        "cord C3 means that the crossing is not at the switch",
    ),
    "three and more rotated": Entry(
        replugged(documented(), _ring([2, 11, 6, 14])),
        "rotated", {Kind.MOVED_DEVICE: 4}, True,
        "pull cord C2 from sw-wet port Gi1/0/11 and hold it",
        "the cords are rotated at the panel",
        "read the labels of the cords",
    ),
    "a block shifted by one": Entry(
        replugged(documented(), {port(n): port(n + 1) for n in (12, 13, 14, 15, 16)}),
        "shifted", {Kind.MOVED_DEVICE: 5}, True,
        "move cord C12 from sw-wet port Gi1/0/13 to sw-wet port Gi1/0/12",
        "off by as much at the panel",
        "cord C12 means that the cords were shifted at the switch",
    ),
    # Port 9 was never used; dev-12 sleeps: it was heard nowhere, its old port is taken, its new one dark.
    "a block shifted by one, with a gap and a sleeping member": Entry(
        replugged(_asleep(documented(), "dev-12"), {port(n): port(n + 1) for n in (7, 8, *range(10, 17))}),
        "shifted", {Kind.MOVED_DEVICE: 8, Kind.OTHER_DEVICE: 1}, False,
        "move cord C12 from sw-wet port Gi1/0/13 to sw-wet port Gi1/0/12",
        "off by as much at the panel",
        "cord C7 means that the cords were shifted at the switch",
    ),
    "a block shifted by three": Entry(
        replugged(documented(), {port(n): port(n + 3) for n in (13, 14, 15, 16)}),
        "shifted", {Kind.MOVED_DEVICE: 4}, True,
        "move cord C13 from sw-wet port Gi1/0/16 to sw-wet port Gi1/0/13",
        "off by as much at the panel",
        "read the label of the cord",
    ),
    "a whole switch renumbered by a map of its ports": Entry(
        replugged(documented(), {port(n): port(25 - n) for n in USED}),
        "renumbered", {Kind.MOVED_DEVICE: 15, Kind.UPLINK_ELSEWHERE: 1}, True,
        "nothing to re-plug: write the new port names into the map",
        "all cords were moved in this order",
        "follow one cord from the socket",
    ),
    "a device replaced": Entry(
        changes.new_address(documented(), "dev-5", STRANGER),
        "replaced", {Kind.OTHER_DEVICE: 1}, False,
        "write its address into the map, or put dev-5 back",
        "a new network card",
        "read the type label of the device at the outlet",
    ),
    "a device moved to another outlet": Entry(
        changes.replug(documented(), "WL-5:1", "WL-20:1"),
        "moved", {Kind.MOVED_DEVICE: 1}, True,
        "carry dev-5 back to outlet WL-5:1",
        "cord C5 was moved at the switch or panel so that outlet WL-5:1 reaches",
        "look at which outlet dev-5 stands",
    ),
    "a device gone": Entry(
        changes.unplug(documented(), "WL-5:1"),
        "gone", {Kind.DEAD_PORT: 1}, False,
        "look for dev-5",
        "the cord is pulled at the switch, the panel or the outlet",
        "go to the outlet",
    ),
    "a device come": Entry(
        changes.add_box(documented(), host("stranger", STRANGER), port(18)),
        "undocumented device", {Kind.UNDOCUMENTED_DEVICE: 1}, True,
        "find out whose it is",
        "a device that the map has elsewhere, or nowhere yet, under a new address",
        "follow the cord to the device",
    ),
    "an uplink moved": Entry(
        changes.replug(documented(), port(24), port(23)),
        "uplink moved", {Kind.UPLINK_ELSEWHERE: 1}, True,
        "move cord U1 from sw-wet port Gi1/0/23 back to sw-wet port Gi1/0/24",
        "the configuration of both ports was moved with it",
        "ask who changed the switch's configuration last",
    ),
    "a whole switch re-plugged without pattern": Entry(
        replugged(documented(), _ring(WITHOUT_ORDER)),
        "re-plugged without order", {Kind.MOVED_DEVICE: 15}, False,
        "take what was seen as the new record of sw-wet instead of undoing it",
        "many single cords were moved one by one",
        "ask who worked at this rack",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", LIST)
def test_what_happened_is_one_cause_told_in_full(name: str):
    entry = LIST[name]
    result = explained(entry.world)
    kinds = [cause.kind for cause in result.causes]
    assert kinds == [entry.kind], [cause.story for cause in result.causes]
    (cause,) = result.causes
    assert Counter(finding.kind for finding in result.findings) == entry.findings
    assert sorted(cause.findings) == sorted(finding.key for finding in result.findings)
    assert cause.sure is entry.sure
    assert any(entry.undo in step for step in cause.undo), cause.undo
    assert any(entry.same in same for same in cause.same_in_effect), cause.same_in_effect
    assert entry.decides in cause.decides
