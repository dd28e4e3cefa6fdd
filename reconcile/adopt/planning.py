"""From keys to plans: which cause a key belongs to, and the changes that make the map follow it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from reconcile.adopt.arrivals import link, newcomer, replaced
from reconcile.adopt.moves import dropped, elsewhere, relocate, relocations
from reconcile.adopt.ports import listed_ports
from reconcile.adopt.records import device_elsewhere, gone, port_name, uplink
from reconcile.adopt.scene import Scene
from reconcile.adopt.wish import Plan, Wish
from reconcile.causes.attach import Told
from reconcile.causes.names import Names
from reconcile.causes.plan import Deed
from reconcile.errors import UsageError
from reconcile.findings import QUALITY, Finding, Kind
from reconcile.waivers import nearest


class Unit(NamedTuple):
    """What is adopted together: the findings of one cause, and the events behind them, if any."""

    told: Told | None
    findings: tuple[Finding, ...]


def plans(scene: Scene, wish: Wish) -> list[Plan]:
    """A plan for each cause that the keys belong to. Raises UsageError for what cannot be adopted, and why."""
    units = list({unit.findings[0].key: unit for unit in (_unit(key, scene) for key in wish.keys)}.values())
    if wish.particular and len(units) > 1:
        problem = f"--at, --name, --mac and --behind are about one cause, and these keys belong to {len(units)}"
        raise UsageError(", ".join(wish.keys), problem, "one key at a time")
    found = [_plan(unit, scene, wish) for unit in units]
    dropped(wish, found[-1], scene)
    for plan in found:
        listed_ports(plan, scene)
        if not plan.changes:
            raise UsageError(plan.keys[0], "there is nothing to write", "toneout reconcile")
    return found


def _unit(text: str, scene: Scene) -> Unit:
    finding = scene.findings[_key(text, scene)]
    told = next((one for one in scene.told if finding in one.findings), None)
    return Unit(told, tuple(told.findings) if told else (finding,))


def _key(text: str, scene: Scene) -> str:
    """The finding of that key, or of the only key that begins so. Raises UsageError."""
    word, found = text.strip(), scene.findings
    if word in found:
        return word
    starting = [key for key in found if word and key.startswith(word)]
    if len(starting) == 1:
        return starting[0]
    if starting:
        raise UsageError(text, f"{len(starting)} keys begin so", " or ".join(starting[:4]))
    causes = scene.comparison.result.causes
    if word.isascii() and word.isdecimal() and len(word) < 10 and 0 < int(word) <= len(causes):
        problem = "is the number of a cause, and numbers change from run to run; give a key of it"
        raise UsageError(text, problem, causes[int(word) - 1].findings[0])
    raise UsageError(text, "no difference of this snapshot has this key", nearest(word, list(found)))


def _plan(unit: Unit, scene: Scene, wish: Wish) -> Plan:
    main = unit.findings[0]
    plan = Plan(scene.cause_of(main.key).story, tuple(finding.key for finding in unit.findings))
    if main.kind in QUALITY:
        problem = "is about how good a link is, not about where it leads: the map has nothing to follow"
        raise UsageError(main.key, problem, f"{main.advice}; or toneout waive {main.key}")
    if unit.told is not None and unit.told.lead.event.deed not in (Deed.GONE, Deed.COME, Deed.REPLACED):
        _moved(unit.told, plan, scene, wish)
        return plan
    for finding in _telling(unit.findings):
        _BY_KIND[finding.kind](finding, plan, scene, wish)
    return plan


def _telling(findings: Iterable[Finding]) -> list[Finding]:
    """The findings that say who is there now; who is missing follows from them."""
    told = list(findings)
    present = [finding for finding in told if finding.kind not in (Kind.DEAD_PORT, Kind.SHUT_PORT)]
    return present or told


def _moved(told: Told, plan: Plan, scene: Scene, wish: Wish) -> None:
    """Everybody whom one event moved, together."""
    names, lead = Names(scene.reading), told.lead
    silent = [names.who(device) for device in lead.silent]
    moved = relocations(told, scene)
    if wish.at and len(moved) > 1:
        raise UsageError(f"--at {wish.at}", "these moved together, each to a port of its own", "without --at")
    if lead.event.deed is Deed.MOVED and silent and not wish.at:
        seems = f"{moved[0].target.switch}:{moved[0].target.port}"
        raise UsageError(silent[0], f"was not heard; it seems to be at {seems}", f"--at {seems} if it is")
    if silent and len(moved) > 1:
        plan.mind.append(f"{', '.join(silent)}: not heard; taken to be where the others leave room")
    if wish.at:
        where = scene.place(wish.at)
        elsewhere(moved[0], where, plan, scene, wish)
    else:
        relocate(moved, plan, scene, wish)


_BY_KIND: Mapping[Kind, Callable[[Finding, Plan, Scene, Wish], None]] = {
    Kind.MOVED_DEVICE: device_elsewhere,
    Kind.OTHER_DEVICE: replaced,
    Kind.UNDOCUMENTED_DEVICE: newcomer,
    Kind.UNEXPECTED_LINK: link,
    Kind.DEAD_PORT: gone,
    Kind.SHUT_PORT: gone,
    Kind.UPLINK_ELSEWHERE: uplink,
    Kind.PORT_NOT_FOUND: port_name,
}
