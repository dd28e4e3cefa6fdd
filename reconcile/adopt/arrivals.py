"""Writes down who is there and was not documented: a newcomer, a new address of an old device, a new link."""

from __future__ import annotations

import re

from collectors.names import AddressKind, address_kind, parse_mac
from reconcile.adopt.moves import patch_through, relocate, relocation_of
from reconcile.adopt.scene import Scene, Spot
from reconcile.adopt.wish import Plan, Wish
from reconcile.causes.plain import place_words
from reconcile.errors import UsageError
from reconcile.findings import Finding
from reconcile.locate.placement import PortRef
from reconcile.patchmap.edit.changes import AddCord, AddDevice, Carry, SetAddresses
from reconcile.patchmap.model import Device, End, fold
from reconcile.rules.words import passing

_PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.\-]{0,62}")
"""Names that a neighbour may give itself in the user's map: nothing that a shell, a spreadsheet or we would act on."""


def replaced(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """Another device in the place of one: its addresses become those of the device, unless it is taken off the map."""
    device = _documented(finding, scene)
    macs = _addresses(finding, wish)
    if fold(device.name) in map(fold, wish.off):
        if wish.name:
            channel = next(c for c in scene.picture.channels.of_device(device.name) if c.port is not None)
            assert channel.port is not None  # chosen so
            _add(wish.name, scene.spot(_port(finding)).outer, macs, plan, scene)
        return
    for mac in macs:
        owner = scene.picture.device_of.get(mac)
        if owner is not None:
            raise UsageError(mac, f"is documented as an address of {owner.name}", "adopt the difference about that one")
    plan.changes.append(SetAddresses(device.name, macs))
    plan.says.append(f"{device.name} has the address {', '.join(macs)}, no longer {', '.join(device.macs) or 'none'}")
    plan.mind.append(f"taken as a replacement; if {device.name} is gone: --off {device.name} --name NEW")


def newcomer(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A station that the map does not know gets a row; or it is of a device, or behind one, that the map has."""
    macs = _addresses(finding, wish) if not wish.behind else ()
    where = _where(finding, scene, wish)
    known = scene.device(wish.name) if wish.name else None
    if known is not None:
        plan.changes.append(SetAddresses(known.name, tuple(dict.fromkeys((*known.macs, *macs)))))
        plan.says.append(f"{known.name} has the address {', '.join(macs)} as well")
        if not scene.picture.channels.of_device(known.name) or _nowhere(known, scene):
            _move_known(known, where, plan, scene, wish)
        return
    if wish.behind:
        _behind(wish.behind, where, plan, scene)
        return
    outer = _free_place(where, plan, scene)
    name = wish.name or _said_name(where, scene) or macs[0].replace(":", "-")
    _add(name, outer, macs, plan, scene)
    _lead_there(finding, where, plan, scene)
    if not wish.name:
        plan.mind.append(f"called {name} for now: --name NAME, or change it in the file")


def link(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A link where the map has nothing: to a switch, to a device that the map has elsewhere, or to a new one."""
    port = _port(finding)
    known = scene.device(wish.name) if wish.name else None
    uplink = scene.picture.uplink(port)
    if wish.behind:
        _behind(wish.behind, port, plan, scene)
    elif known is not None:
        _move_known(known, port, plan, scene, wish)
    elif uplink is not None and uplink.there is not None and not wish.name:
        _join(scene.spot(port), scene.spot(uplink.there), plan)
    else:
        name = wish.name or _said_name(port, scene)
        if not name:
            problem = "something is plugged in that did not say who it is"
            raise UsageError(place_words(finding.where), problem, "--name NAME (a device of the map moves there)")
        if any(fold(switch.name) == fold(name) for switch in scene.patch_map.switches):
            problem = f"leads to {name}, which was not read: at which of its ports does the cord end?"
            raise UsageError(place_words(finding.where), problem, "write the cord into the map by hand")
        outer = _free_place(_where(finding, scene, wish), plan, scene)
        _add(name, outer, (), plan, scene, carries=uplink is not None)
        _lead_there(finding, outer, plan, scene)


def _lead_there(finding: Finding, where: PortRef | End, plan: Plan, scene: Scene) -> None:
    """The cord to an outlet that a person named, where the map does not have it yet."""
    if isinstance(where, End) and finding.where.port:
        patch_through(where, _port(finding), plan, scene)


def _documented(finding: Finding, scene: Scene) -> Device:
    device = scene.device(finding.device)
    assert device is not None  # the finding is about a row of the map
    return device


def _addresses(finding: Finding, wish: Wish) -> tuple[str, ...]:
    """Which of the addresses that were heard. Raises UsageError where there are several and nobody said which."""
    if wish.macs:
        wanted = tuple(parse_mac(mac) or mac for mac in wish.macs)
        strange = [mac for mac in wanted if mac not in finding.macs]
        if strange:
            raise UsageError(strange[0], "was not heard there", f"--mac with one of {', '.join(finding.macs[:6])}")
        return wanted
    lasting = tuple(mac for mac in finding.macs if not passing(mac)) or finding.macs
    if len(lasting) > 1:
        where = place_words(finding.where)
        problem = f"{len(lasting)} addresses were heard there ({', '.join(lasting[:6])})"
        raise UsageError(where, problem, "--mac MAC for one of them, or --behind NAME for the small switch between")
    if address_kind(lasting[0]) is AddressKind.LOCAL and passing(lasting[0]):
        problem = "this address is made up by its device and may change from day to day"
        raise UsageError(lasting[0], problem, f"--mac {lasting[0]} if it stays")
    return lasting


def _port(finding: Finding) -> PortRef:
    return PortRef(finding.where.switch, finding.where.port)


def _where(finding: Finding, scene: Scene, wish: Wish) -> PortRef | End:
    """The place of a newcomer. Raises UsageError where nobody can tell and nobody said."""
    if wish.at:
        return scene.place(wish.at)
    if finding.where.port:
        return _port(finding)
    raise UsageError(finding.macs[0], f"nobody can tell at which port it is ({finding.seen})", "--at SWITCH:PORT")


def _nowhere(device: Device, scene: Scene) -> bool:
    """True for a device that the map plugs in nowhere."""
    return all(len(channel.steps) == 1 for channel in scene.picture.channels.of_device(device.name))


def _move_known(device: Device, where: PortRef | End, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A device of the map is what is there."""
    if isinstance(where, End):
        raise UsageError(str(where), "is not where something was seen", "--at SWITCH:PORT")
    channel = scene.picture.channels.of_device(device.name)[0]
    relocate([relocation_of(channel, where)], plan, scene, wish)


def _free_place(where: PortRef | End, plan: Plan, scene: Scene) -> End:
    """The outlet, jack or port for a new plug. Raises UsageError for one that is taken."""
    if isinstance(where, End):
        return where
    spot = scene.spot(where)
    if spot.free:
        plan.mind.append(
            f"the map has no cord in {spot.end}: written as plugged into the port itself; --at OUTLET:JACK"
        )
        return spot.end
    if spot.open:
        return spot.outer
    if spot.device is not None:
        name = spot.device.name
        hint = f"--name {name} if it is an address of that device, --behind {name} if it carries others"
        raise UsageError(str(spot.end), f"is the place of {name}", hint)
    raise UsageError(str(spot.end), f"the map has {spot.channel} there", "adopt that difference first")


def _behind(name: str, where: PortRef | End, plan: Plan, scene: Scene) -> None:
    """Everybody heard there is behind a device that carries others: one of the map, or a new one."""
    known = scene.device(name)
    if known is not None:
        plan.changes.append(Carry(known.name))
        plan.says.append(f"{known.name} carries others")
        return
    _add(name, _free_place(where, plan, scene), (), plan, scene, carries=True)


def _add(name: str, at: End, macs: tuple[str, ...], plan: Plan, scene: Scene, *, carries: bool = False) -> None:
    holder = scene.places.index.holder(name)
    if holder is not None:
        raise UsageError(name, f"is a name of the map already ({holder.origin})", "--name with another one")
    room = getattr(scene.places.index.holder(at.name), "room", "")
    plan.changes.append(AddDevice(name, at, macs, carries=carries, room=room))
    address = f" with the address {', '.join(macs)}" if macs else ""
    plan.says.append(
        f"{name} is a new device{address}, plugged in at {at}" + ("; it carries others" if carries else "")
    )


def _said_name(where: PortRef | End, scene: Scene) -> str:
    """What whoever is there calls itself, where that can stand in a map; else ''."""
    if isinstance(where, End):
        return ""
    uplink = scene.picture.uplink(where)
    said = [uplink.peer] if uplink is not None and uplink.peer else []
    said += [row.system_name.split(".")[0] for row in scene.picture.neighbours.get(where, ())]
    names = [name for name in said if _PLAIN_NAME.fullmatch(name) and parse_mac(name) is None]
    return names[0] if names else ""


def _join(here: Spot, there: Spot, plan: Plan) -> None:
    for spot in (here, there):
        if not spot.free:
            raise UsageError(str(spot.end), f"the map has {spot.channel} there", "adopt that difference first")
    plan.changes.append(AddCord(here.end, there.end))
    plan.says.append(f"a cord joins {here.end} and {there.end}; it has no label yet")
