"""A rack of the marine station for causes: an access switch with sixteen devices behind a panel, and a core switch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from reconcile.patchmap.model import PatchMap
from reconcile.pipeline import reconcile
from reconcile.result import Cause, Result
from tests.worlds import changes
from tests.worlds.build import Builder
from tests.worlds.dialects import PLAIN_ETHERNET, STACKED
from tests.worlds.equipment import host, phone
from tests.worlds.model import World, end
from tests.worlds.snapshots import snapshot_of

VLANS = {1: "default", 20: "voice"}
DEVICES = 16


@cache
def documented() -> World:
    """Device `dev-N` stands at outlet WL-N, on jack PP:N, cord CN, port Gi1/0/N of sw-wet; port 9 is never used."""
    site = Builder("Saltmarsh Field Station")
    for number, (name, dialect) in enumerate((("sw-wet", STACKED), ("sw-core", PLAIN_ETHERNET))):
        site.switch(name, dialect, 24, mac=f"d0:43:1e:77:0{number}:00", vlans=VLANS, trunks=(24,), room="comms room")
    site.panel("PP", 24, room="comms room")
    for jack in range(1, 25):
        site.outlet(f"WL-{jack}", room="wet lab")
        site.fixed(f"F{jack}", f"PP:{jack}", f"WL-{jack}:1")
    for number in range(1, DEVICES + 1):
        if number != 9:
            site.cord(f"C{number}", f"sw-wet:Gi1/0/{number}", f"PP:{number}")
            site.device(host(f"dev-{number}", f"00:1b:1c:00:00:{number:02x}"), at=f"WL-{number}:1", kind="workstation")
    site.cord("C20", "sw-wet:Gi1/0/20", "PP:20", note="kept live for visitors")
    for number in range(1, 5):
        site.device(host(f"server-{number}", f"00:1b:1c:00:01:{number:02x}"), at=f"sw-core:Ethernet{number}")
    site.device(
        phone("desk-phone", "00:1b:1c:00:02:01", 20, ip="10.0.0.9", pc="pc"),
        at="sw-core:Ethernet8", kind="phone", carries=True, macs=("00:1b:1c:00:02:01",),
    )  # fmt: skip
    site.device(host("desk-pc", "00:1b:1c:00:02:02"), at="desk-phone:pc", kind="workstation")
    site.cord("U1", "sw-wet:Gi1/0/24", "sw-core:Ethernet24")
    return site.build()


def port(number: int) -> str:
    """A port of the access switch."""
    return f"sw-wet:Gi1/0/{number}"


def replugged(world: World, moves: Mapping[str, str]) -> World:
    """Pulls the plugs that are in these places, all at once, and puts each into its new place."""
    places = {end(old): end(new) for old, new in moves.items()}
    cords = [changes.cord_at(world, old) for old in moves]
    cables = (
        replace(cable, a=places.get(cable.a, cable.a), b=places.get(cable.b, cable.b)) if cable in cords else cable
        for cable in world.cables
    )
    return replace(world, cables=tuple(cables))


def explained(world: World, record: PatchMap | None = None) -> Result:
    """What a run says of it."""
    return reconcile(record or world.record, snapshot_of(world))


def only(world: World) -> Cause:
    """The one cause of a run that has one, after checking that it explains all findings."""
    result = explained(world)
    assert len(result.causes) == 1, [cause.story for cause in result.causes]
    cause = result.causes[0]
    assert sorted(cause.findings) == sorted(finding.key for finding in result.findings)
    return cause
