"""The mirror of hand movements: what was plugged elsewhere is documented elsewhere.

Two documented objects can tell the same truth: the ends of the cords at the switch, or the plugs of the devices at
their outlets. The cords follow where their new ports are free; where a port leads to an outlet that is kept live, the
device was carried there, and its plug follows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from reconcile.adopt.scene import Scene, Spot, plug_of
from reconcile.adopt.wish import By, Plan, Wish
from reconcile.causes.attach import Told
from reconcile.causes.names import Names
from reconcile.causes.plan import Deed, Move
from reconcile.channels import Channel, StepKind
from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.edit.changes import AddCord, DropCord, DropDevice, MovePlug, Replug
from reconcile.patchmap.model import Device, End, fold


@dataclass(frozen=True, slots=True, eq=False)
class Relocation:
    """Somebody who is documented at `port`, with `plug`, and is at `target`. A link has no device."""

    who: str
    port: End | None
    device: Device | None
    plug: End | None
    target: PortRef


def relocations(told: Told, scene: Scene) -> list[Relocation]:
    """Everybody whom the events of a cause moved to a port. Raises UsageError for what was only guessed."""
    names = Names(scene.reading)
    found = []
    for explained in (told.lead, *told.others):
        event = explained.event
        if event.deed is Deed.GONE:
            continue
        for move in event.moves:
            if event.deed is Deed.REPLUGGED and move.device in explained.silent:
                continue  # somewhere on that switch, and nobody can tell where
            if move.target < 0:
                who = names.who(move.device)
                raise UsageError(who, "was pushed off the row, and nobody can tell where to", f"--off {who}")
            found.append(_relocation(move, scene, names))
    return found


def _relocation(move: Move, scene: Scene, names: Names) -> Relocation:
    tenant = scene.reading.tenants[move.device]
    target = scene.reading.ports[move.target]
    meant = scene.reading.ground.meant
    if tenant.link:
        ends = (tenant.channel.port, tenant.channel.far_port)
        port = next(end for end in ends if end is not None and meant(end) == tenant.home)
        return Relocation(names.who(move.device), port, None, None, target)
    channels = [c for d in tenant.devices for c in scene.picture.channels.of_device(d.name)]
    at_home = [c for c in channels if tenant.home is not None and c.port and meant(c.port) == tenant.home]
    return relocation_of(at_home[0] if at_home else tenant.channel, target, names.who(move.device))


def relocation_of(channel: Channel, target: PortRef, who: str = "") -> Relocation:
    """A device that the map has on this channel, and that is at `target`."""
    assert channel.device is not None  # channels of devices only
    return Relocation(who or channel.device.name, channel.port, channel.device, plug_of(channel), target)


def relocate(moved: Sequence[Relocation], plan: Plan, scene: Scene, wish: Wish) -> None:
    """Adds the changes for all of them at once. Raises UsageError where no documented object can follow."""
    off = frozenset(map(fold, wish.off))
    stay = [one for one in moved if not (one.device and fold(one.device.name) in off)]
    loose = [one for one in stay if one.port is None]
    bound = [one for one in stay if one.port is not None]
    for one in loose:
        _plug_in(one, plan, scene, off)
    if not bound:
        return
    spots = {one: _spot(one, scene, off) for one in bound}
    left = {scene.places.key(one.port) for one in moved if one.port is not None}
    by_cords = [one for one in bound if spots[one].free or scene.places.key(spots[one].end) in left]
    by_plugs = [one for one in bound if one.device and one.plug and _clear(spots[one], left, scene)]
    can = {By.CORDS: len(by_cords) == len(bound), By.DEVICES: len(by_plugs) == len(bound)}
    if wish.by is not None and not can[wish.by]:
        raise _obstacle(bound, by_cords if wish.by is By.CORDS else by_plugs, spots, scene, wish.by)
    if wish.by is By.CORDS or (wish.by is None and can[By.CORDS]):
        _by_cords(bound, plan, spots, also=can[By.DEVICES] and any(one.plug != one.port for one in bound), scene=scene)
    elif can[By.DEVICES]:
        _by_plugs(bound, plan, spots, also=can[By.CORDS], scene=scene)
    else:
        raise _obstacle(bound, [one for one in bound if one in by_cords or one in by_plugs], spots, scene, None)


def elsewhere(one: Relocation, where: PortRef | End, plan: Plan, scene: Scene, wish: Wish) -> None:
    """The same for one whose place a person gave: a port, an outlet's jack, or a socket of another device."""
    if isinstance(where, PortRef):
        relocate([replace(one, target=where)], plan, scene, wish)
        return
    if one.device is None:
        raise UsageError(str(where), f"{one.who} ends at switch ports", "--at SWITCH:PORT")
    _plug(one.device, one.plug, where, plan, scene)
    patch_through(where, one.target, plan, scene)


def patch_through(jack: End, port: PortRef, plan: Plan, scene: Scene) -> None:
    """Adds the cord from a free port to the panel jack behind an outlet that no port leads to yet."""
    spot = scene.spot(port)
    if not spot.free:
        return
    for channel in (*scene.picture.channels.spare, *scene.picture.channels.resolved):
        ends = [step for step in (channel.steps[0], channel.steps[-1]) if channel.port is None and step.end is not None]
        if any(scene.places.same(step.end, jack) for step in ends):
            panel = next((s.end for s in ends if s.kind is StepKind.JACK and not scene.places.same(s.end, jack)), None)
            if panel is not None:
                plan.changes.append(AddCord(spot.end, panel))
                plan.says.append(f"a cord joins {spot.end} and {panel}, which leads to {jack}")
            return


def _spot(one: Relocation, scene: Scene, off: Iterable[str]) -> Spot:
    """The place where somebody is; a device or cord there that is taken off the map leaves it open or free."""
    spot = scene.spot(one.target)
    if spot.channel is None:
        return spot
    cord = scene.cord_at(spot.end)
    if cord is not None and off_names(cord.label, spot.end) & set(off):
        return Spot(spot.end, None, spot.end, None)
    if spot.device is not None and fold(spot.device.name) in off:
        at_port = scene.places.same(spot.outer, spot.end)
        return Spot(spot.end, None if at_port else spot.channel, spot.outer, None)
    return spot


def off_names(label: str, port: End) -> set[str]:
    """The folded words that `--off` may call a cord by."""
    return {fold(label), fold(str(port))} - {""}


def _clear(spot: Spot, left: set[tuple[str, str]], scene: Scene) -> bool:
    """True when the far end of what is at the port is open, or its device goes elsewhere as well."""
    nobody = spot.device is None and (spot.channel is None or spot.channel.far_port is None)
    return nobody or (spot.device is not None and scene.places.key(spot.end) in left)


def _by_cords(
    moved: Sequence[Relocation], plan: Plan, spots: dict[Relocation, Spot], *, also: bool, scene: Scene
) -> None:
    for one in moved:
        assert one.port is not None  # those that are at no port are told apart before
        cord = scene.cord_at(one.port)
        what = f"cord {cord.label}" if cord and cord.label else f"the cord of {one.who}"
        plan.changes.append(Replug(one.port, spots[one].end))
        plan.says.append(f"{what} leads to {spots[one].end}, no longer to {one.port}")
    if also:
        plan.mind.append(
            "the ends of cords at the switch follow, and devices stay at their outlets; --by devices if devices were "
            "carried to other outlets instead"
        )


def _by_plugs(
    moved: Sequence[Relocation], plan: Plan, spots: dict[Relocation, Spot], *, also: bool, scene: Scene
) -> None:
    for one in moved:
        assert one.device is not None  # links are never told by plugs
        _plug(one.device, one.plug, spots[one].outer, plan, scene)
    if also:
        plan.mind.append("the plugs of devices follow; --by cords if cords were moved at the switch or panel instead")
        return
    cords = [cord.label for one in moved if (cord := scene.cord_at(spots[one].end)) and cord.label]
    if len(moved) == 1 and cords:
        mind = f"if a cord in the rack was moved instead, in the place of {cords[0]}: --by cords --off {cords[0]}"
        plan.mind.append(mind)


def _plug_in(one: Relocation, plan: Plan, scene: Scene, off: frozenset[str]) -> None:
    """Somebody whom the map has at no port: its outlet was patched, or its plug is elsewhere."""
    assert one.device is not None  # a link has two ports
    spot = _spot(one, scene, off)
    if not spot.free and not spot.open and not (spot.device is None and spot.channel and spot.channel.far_port is None):
        raise _taken(spot, scene)
    channel = next(iter(scene.picture.channels.of_device(one.device.name)), None)
    if spot.free and channel is not None and channel.behind is None and channel.next_device is None:
        jack = next((s.end for s in channel.steps[3:] if s.kind is StepKind.JACK and s is channel.steps[-1]), None)
        if jack is not None:
            plan.changes.append(AddCord(spot.end, jack))
            plan.says.append(f"a cord joins {spot.end} and {jack}, which leads to {one.device.name}")
            return
    _plug(one.device, one.plug, spot.outer, plan, scene)


def _plug(device: Device, was: End | None, now: End, plan: Plan, scene: Scene) -> None:
    """A plug that is elsewhere; the room of the device's row goes along where it is that of the old place."""
    left, came = (getattr(scene.places.index.holder(end.name), "room", "") if end else "" for end in (was, now))
    moved = came if came and device.room and fold(device.room) == fold(left) != fold(came) else ""
    plan.changes.append(MovePlug(device.name, was, now, moved))
    room = f" in {moved}" if moved else ""
    plan.says.append(f"{device.name} is plugged in at {now}{room}" + (f", no longer at {was}" if was else ""))


def _obstacle(
    moved: Sequence[Relocation],
    fine: Sequence[Relocation],
    spots: dict[Relocation, Spot],
    scene: Scene,
    by: By | None,
) -> UsageError:
    one = next(one for one in moved if one not in fine) if len(fine) < len(moved) else moved[0]
    spot = spots[one]
    if spot.open and by is By.CORDS:
        cord = scene.cord_at(spot.end)
        label = cord.label if cord and cord.label else str(spot.end)
        return UsageError(str(spot.end), f"the map has {label} in it, to {spot.outer}", f"--off {label} as well")
    if by is By.DEVICES and one.device is None:
        return UsageError(one.who, "is no device: a link follows by its cord", "without --by devices")
    if spot.device is None and spot.channel is None:
        return UsageError(one.who, "some of these follow by cords, others by their plugs", "the change by hand")
    return _taken(spot, scene)


def _taken(spot: Spot, scene: Scene) -> UsageError:
    """Why nobody else can be documented at a port, and what to do."""
    if spot.device is None:
        return UsageError(str(spot.end), f"the map has {spot.channel} there", "adopt that difference first")
    name = spot.device.name
    if spot.device.carries:
        return UsageError(str(spot.end), f"is the place of {name}, which carries others", f"--at {name}:SOCKET")
    here = next((j for j in scene.comparison.judgements if j.channel is spot.channel), None)
    if here is not None and here.saw.name == "AS_DOCUMENTED":
        problem = f"{name} is still there: a small switch must be between them"
        return UsageError(str(spot.end), problem, "write that switch into the map, with yes in carries")
    return UsageError(str(spot.end), f"the map has {name} there, which was not seen", f"--off {name} if it is gone")


def dropped(wish: Wish, plan: Plan, scene: Scene) -> None:
    """Adds what is taken off the map on request. Raises UsageError for a name that is neither device nor cord."""
    for text in wish.off:
        device = scene.device(text)
        if device is not None:
            plan.changes.append(DropDevice(device.name))
            plan.says.append(f"{device.name} is off the map, and its own lead")
            continue
        cords = scene.patch_map.cords
        cord = next((c for c in cords if fold(text) in (fold(c.label), fold(str(c.a)), fold(str(c.b)))), None)
        if cord is None:
            problem = "the map has no device and no cord of this name"
            raise UsageError(f"--off {text}", problem, "a device, a cord's label, or SWITCH:PORT")
        plan.changes.append(DropCord(cord.a, cord.b))
        plan.says.append(
            f"{f'cord {cord.label}' if cord.label else 'the cord'} from {cord.a} to {cord.b} is off the map"
        )
