"""Kinds of drift that are one row of the map: a device that is gone, a port that is called otherwise, a link's end."""

from __future__ import annotations

from reconcile.adopt.moves import elsewhere, relocate, relocation_of
from reconcile.adopt.scene import Scene
from reconcile.adopt.wish import Plan, Wish
from reconcile.causes.plain import place_words
from reconcile.channels import StepKind
from reconcile.errors import UsageError
from reconcile.findings import Finding
from reconcile.locate.placement import PortRef
from reconcile.patchmap.edit.changes import Replug
from reconcile.patchmap.model import End, fold


def device_elsewhere(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A device that was heard elsewhere, where no event tells more. Raises UsageError for one of several ports."""
    channels = scene.picture.channels.of_device(finding.device)
    home = PortRef(finding.where.switch, finding.where.port)
    channel = next((c for c in channels if c.port and scene.picture.port_of(c.port) == home), channels[0])
    to = finding.moved_to
    if wish.at:
        elsewhere(relocation_of(channel, _target(finding) or home), scene.place(wish.at), plan, scene, wish)
    elif to is not None and to.port:
        relocate([relocation_of(channel, PortRef(to.switch, to.port))], plan, scene, wish)
    else:
        raise UsageError(finding.device, finding.seen, "--at SWITCH:PORT with the one that is true")


def _target(finding: Finding) -> PortRef | None:
    return PortRef(finding.moved_to.switch, finding.moved_to.port) if finding.moved_to else None


def gone(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """Nothing is there: only a person knows whether it is gone for good, so `--off` has to say what."""
    channel = scene.spot(PortRef(finding.where.switch, finding.where.port)).channel
    if channel is None:
        raise UsageError(finding.key, "the map has nothing there", "toneout reconcile")
    cords = [s.label for s in channel.steps if s.kind is StepKind.CORD and s.label]
    device = channel.device.name if channel.device else ""
    names = {fold(name) for name in (device, *cords, str(channel.port), str(channel.far_port)) if name}
    if names & set(map(fold, wish.off)):
        return
    where = place_words(finding.where)
    if device:
        problem = f"no link at {where} does not say that {device} is gone for good"
        also = f" (and --off {cords[0]} if its cord is as well)" if cords else ""
        raise UsageError(finding.key, problem, f"--off {device} if it is{also}")
    off = " ".join(f"--off {name}" for name in cords or [str(channel.port)])
    raise UsageError(finding.key, f"no link at {where} does not say that the cord is gone for good", f"{off} if it is")


def uplink(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A link that leads elsewhere than documented, where no event tells which end was moved."""
    was = scene.spot(PortRef(finding.where.switch, finding.where.port)).end
    if wish.at:
        now = scene.place(wish.at)
    elif finding.moved_to is not None and finding.moved_to.port:
        now = PortRef(finding.moved_to.switch, finding.moved_to.port)
    else:
        problem = f"{finding.seen}: at which port this link ends now was not seen"
        raise UsageError(str(was), problem, "--at SWITCH:PORT, or --off CORD if there is no such link any more")
    if isinstance(now, End):
        raise UsageError(str(now), "is no switch port", "--at SWITCH:PORT")
    spot = scene.spot(now)
    if not spot.free:
        raise UsageError(str(spot.end), f"the map has {spot.channel} there", "adopt that difference first")
    plan.changes.append(Replug(was, spot.end))
    plan.says.append(f"the cord in {was} is in {spot.end} now")


def port_name(finding: Finding, plan: Plan, scene: Scene, wish: Wish) -> None:
    """A port that its switch calls otherwise. One likely name is taken; of several a person has to choose."""
    found = scene.picture.matching.not_found
    end = next(e for c in scene.picture.channels.resolved for e in (c.port,) if e and _means(e, finding, scene))
    likely = found[end.key].nearest
    if wish.at:
        now = scene.place(wish.at)
    elif len(likely) == 1:
        now = PortRef(finding.where.switch, likely[0])
        plan.mind.append(f"{likely[0]} is the only port with a name like {end.position}; another one: --at SWITCH:PORT")
    else:
        choices = " or ".join(f"--at {finding.where.switch}:{name}" for name in likely)
        raise UsageError(str(end), finding.seen, choices or f"--at {finding.where.switch}:PORT")
    if isinstance(now, End):
        raise UsageError(str(now), "is no switch port", "--at SWITCH:PORT")
    plan.changes.append(Replug(end, scene.spot(now).end))
    plan.says.append(f"what is documented at {end} is at {scene.spot(now).end}")


def _means(end: End, finding: Finding, scene: Scene) -> bool:
    place = finding.where
    here = scene.picture.switch_of(end) == place.switch and end.position == place.port
    return here and end.key in scene.picture.matching.not_found
