"""After a swap: what is documented at the ports of an old switch is documented at those of the new one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from reconcile.adopt.ports import port_lists
from reconcile.adopt.wish import Plan
from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.edit.changes import Change, RenameSwitch, Replug
from reconcile.patchmap.model import End, PatchMap, fold
from reconcile.swap.correspondence import correspond, end_changes
from reconcile.swap.look import Look


def swapped(before: Look, after: Look, given: Mapping[PortRef, PortRef]) -> Plan:
    """The plan for the pairs of a file, and for the certain ones of the pairing where the file has none.

    Both looks are with the map of now. Raises UsageError where nothing is left to write.
    """
    found = correspond(before, after, (), given)
    pairs = end_changes(found, before)
    if not pairs:
        raise UsageError("--ports", "the map has nothing at a port that is called otherwise now", "toneout swap check")
    patch_map = before.picture.patch_map
    names = ", ".join(f"{pair.old} is {pair.new} now" if pair.old != pair.new else pair.old for pair in found.switches)
    plan = Plan(f"Ports of a switch that was replaced or renumbered: {names}.", ())
    plan.changes += _renamed(found.rename, pairs, patch_map, plan)  # first: what has no pair keeps its port
    plan.changes += [Replug(was, now) for was, now in pairs]
    plan.says += [f"what is documented at {was} is at {now}" for was, now in pairs]
    renames = {change.was: change.now for change in plan.changes if isinstance(change, RenameSwitch)}
    plan.changes += port_lists(plan.changes, patch_map, after.picture, plan.says, renames)
    return plan


def _renamed(
    rename: Mapping[str, str], pairs: Sequence[tuple[End, End]], patch_map: PatchMap, plan: Plan
) -> list[Change]:
    """The rows of switches that have another name; one whose new name has a row of its own keeps both."""
    known = {fold(switch.name) for switch in patch_map.switches}
    found: list[Change] = []
    for old, new in rename.items():
        if fold(new) not in known and any(fold(was.name) == fold(old) for was, _ in pairs):
            found.append(RenameSwitch(old, new))
            plan.says.append(f"the switch {old} is called {new}")
    return found
