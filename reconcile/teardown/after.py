"""Later: did just this go dark. The comparison is that of a swap in which every port stands for itself."""

from __future__ import annotations

from dataclasses import dataclass, field

from reconcile.coverage import coverage_gaps
from reconcile.locate.placement import PortRef
from reconcile.swap.correspondence import Correspondence
from reconcile.swap.links import judge_links
from reconcile.swap.look import Look
from reconcile.swap.outcome import Outcome
from reconcile.swap.things import judge_things
from reconcile.teardown.model import AfterCheck, TeardownPlan


@dataclass
class _Sorted:
    as_planned: list[str] = field(default_factory=list)
    still_alive: list[str] = field(default_factory=list)
    also_dark: list[str] = field(default_factory=list)
    unsure: list[str] = field(default_factory=list)


def check_after(plan: TeardownPlan, before: Look, after: Look) -> AfterCheck:
    """Sorts everything that was there before: dark as planned, still alive, dark though not planned, or in doubt."""
    found = _Sorted()
    silent = after.picture.coverage.failed
    planned_switches = {dark.name for dark in plan.dark if dark.kind == "switch"}
    for name in sorted(before.picture.coverage.answered):
        if name in planned_switches:
            (found.as_planned if name in silent else found.still_alive).append(f"switch {name}")
        elif name in silent:
            found.also_dark.append(f"switch {name} does not answer: {silent[name]}")
    planned = {ref for ref in before.picture.ports if str(ref) in set(plan.ports) or ref.switch in planned_switches}
    names = {dark.name for dark in plan.dark} | {mac for dark in plan.dark for mac in dark.macs}
    links, _ = judge_links(before, after, Correspondence())
    things, _ = judge_things(before, after, Correspondence())
    for outcome in (*links, *things):
        is_planned = bool(outcome.ports & planned) or outcome.subject in names or bool(outcome.voices & names)
        _sort(outcome, is_planned, planned_switches, after, found)
    gaps = [gap for gap in coverage_gaps(after.picture.snapshot, ()) if gap.switch not in planned_switches]
    return AfterCheck(
        site=plan.site, what=plan.what, before=before.picture.snapshot.finished, gaps=tuple(gaps),
        after=after.picture.snapshot.finished, as_planned=tuple(found.as_planned),
        still_alive=tuple(found.still_alive), also_dark=tuple(found.also_dark), unsure=tuple(found.unsure),
    )  # fmt: skip


def _sort(outcome: Outcome, planned: bool, dark_switches: set[str], after: Look, found: _Sorted) -> None:
    places = ", ".join(sorted(map(str, outcome.ports)))
    if planned:
        if outcome.is_back:
            found.still_alive.append(f"{outcome.subject} is still at {places}")
        elif outcome.left and outcome.left.now_at:
            found.still_alive.append(f"{outcome.subject}: {outcome.left.says}")
        elif outcome.doubt and not _unread(outcome.ports, dark_switches, after):
            found.unsure.append(f"{outcome.subject}: {outcome.doubt.because}")
        else:
            found.as_planned.append(outcome.subject)
    elif outcome.left:
        found.also_dark.append(f"{outcome.subject} ({places}): {outcome.left.says}")
    elif outcome.doubt:
        found.unsure.append(f"{outcome.subject} ({places}): {outcome.doubt.because}")


def _unread(ports: frozenset[PortRef], dark_switches: set[str], after: Look) -> bool:
    """True when a port is on a switch that went dark as planned: then its silence is just what was planned."""
    return any(port.switch in dark_switches and port.switch in after.picture.coverage.failed for port in ports)
