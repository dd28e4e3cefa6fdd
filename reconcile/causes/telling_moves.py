"""Tells a single move for people: who went where, and whose place that was."""

from __future__ import annotations

from reconcile.causes.attach import Told
from reconcile.causes.names import Names
from reconcile.causes.plan import Move
from reconcile.causes.tale import Tale


def moved(told: Told, names: Names) -> Tale:
    """One end of one cord, or one device, in another place."""
    move = told.lead.event.moves[0]
    if names.missing(move.origin):
        return _misnamed(told, move, names)
    if names.tenant(move.device).link:
        return _link_moved(move, names)
    if move.origin < 0:
        return _plugged_in(told, move, names)
    if carrier := names.carrier(move.device):
        return _from_behind(move, carrier, names)
    company = _company(told, move, names)
    if names.outlet(move.origin) and names.outlet(move.target) and not company:
        return _carried(told, move, names)
    who, old, now = names.who(move.device), names.port(move.origin), names.port(move.target)
    cord, free = names.cord(move), "" if names.channel(move.target) else "the free "
    same = (f"{who} was moved to a socket that an undocumented cord joins to {now}",)
    return Tale(
        f"{who} {_was(told)} moved from {old} to {free}{now}{company}.",
        (f"move {cord} from {now} back to {old}, or write the new place into the map",),
        same if free and names.outlet(move.origin) else (),
        f"read the label of the cord in {now}, or follow it: is it {cord}?",
    )


def _was(told: Told) -> str:
    return "seems to have been" if told.lead.silent else "was"


def _company(told: Told, move: Move, names: Names) -> str:
    """Who has the place by the map: somebody who is still there, or who had to give way."""
    gone = [m.device for e in told.others for m in e.event.moves if m.origin == move.target]
    if gone:
        return f", the place of {names.who(gone[0])}, which was heard nowhere"
    owner = names.at_home(move.target)
    return f", where {names.who(owner)} still is: a small switch must be between them" if owner >= 0 else ""


def _misnamed(told: Told, move: Move, names: Names) -> Tale:
    """A port that is not there can be left by nobody: most likely the map names it wrongly."""
    who, old, now = names.who(move.device), names.port(move.origin), names.port(move.target)
    return Tale(
        f"{who} is at {now}{_company(told, move, names)}; the map names {old}, which the switch does not have.",
        (f"write {now} into the map instead of {old}",),
        (
            "the port was mistyped in the map, or the switch counts its ports otherwise than the map",
            f"{who} was moved as well, and its old port is gone with a module or an older switch",
        ),
        f"read the label of the cord in {now}: is it {names.cord(move)}? And read how the ports of "
        f"{names.switch(move.origin)} are named on the box",
        kind="port name",
    )


def _plugged_in(told: Told, move: Move, names: Names) -> Tale:
    who, now = names.who(move.device), names.port(move.target)
    return Tale(
        f"{who}, which the map connects to no switch port, is plugged in at {now}{_company(told, move, names)}.",
        (f"write {who} into the map at {now}, or unplug it there",),
        ("its outlet was patched and nobody wrote it down",),
        f"read the label of the cord in {now}",
    )


def _from_behind(move: Move, carrier: str, names: Names) -> Tale:
    who, now = names.who(move.device), names.port(move.target)
    return Tale(
        f"{who} is no longer behind {carrier} ({names.port(move.origin)}), but at {now}.",
        (f"plug {who} back in behind {carrier}, or write {now} into the map",),
        decides=f"follow the cord in {now}",
    )


def _carried(told: Told, move: Move, names: Names) -> Tale:
    """From outlet to outlet: both ends of both cords at the rack may be as they were."""
    who, now = names.who(move.device), names.port(move.target)
    old_outlet, new_outlet = names.outlet(move.origin), names.outlet(move.target)
    return Tale(
        f"{who} {_was(told)} carried from outlet {old_outlet} to outlet {new_outlet} ({now}).",
        (f"carry {who} back to outlet {old_outlet}, or write outlet {new_outlet} into the map",),
        (f"{names.cord(move)} was moved at the switch or panel so that outlet {old_outlet} reaches {now}",),
        f"look at which outlet {who} stands",
    )


def _link_moved(move: Move, names: Names) -> Tale:
    link, old, new = names.who(move.device), names.port(move.origin), names.port(move.target)
    return Tale(
        f"{link} was moved from {old} to {new}.",
        (
            f"find out which cord is in {new} and follow it to its other end before you touch it",
            f"move {names.cord(move)} from {new} back to {old}, or write the new port into the map",
        ),
        ("the configuration of both ports was moved with it on purpose",),
        f"read the label of the cord in {new}, and ask who changed the switch's configuration last",
        kind="uplink moved",
    )
