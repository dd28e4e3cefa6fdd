"""Power over Ethernet: watts by class, what is lost on the way, and whether a supply suffices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from collectors.snapshot import Snapshot
from reconcile.limits.copper import Fit, Verdict
from reconcile.limits.values import Limits

PAIRSET_OHM = {1: 20.0, 2: 12.5, 3: 12.5, 4: 12.5}
"""Worst loop resistance per pairset by type (from memory); used to check the class table by physics."""

BUNDLE_CAUTION = (
    "Cables that carry power warm one another: leave them unbundled or in small bundles, and follow the local "
    "electrical code, which may limit bundles above 60 W per port (in the USA NEC 725.144). Unplugging under load can "
    "burn contacts."
)


class Budget(NamedTuple):
    """One supply, in watts. `planned` by the classes of what is plugged in, `measured` as the switch reports it."""

    supply: float
    planned: float
    measured: float | None
    warn_percent: int | None = None


def at_device(watts_at_switch: float, amperes: float, pairsets: int, ohm: float) -> float:
    """Watts that reach the device: P - n * I^2 * R (n pairsets of R ohm, I amperes in each)."""
    return watts_at_switch - pairsets * amperes**2 * ohm


def planned_watts(classes: Iterable[int | None], limits: Limits) -> float:
    """What these classes may draw at the switch. A class that is not known is planned as class 0, which may draw as
    much as class 3: plan with the figure at the switch, not with the average draw (common practice)."""
    return sum(limits[f"class {0 if c is None else c} at the switch"].value for c in classes)


class GroupPower(NamedTuple):
    """One supply of one switch. `budget` is None when the switch does not tell what it can give.

    `classes` are those of the ports that are fed; None for a class that the switch does not tell.
    """

    switch: str
    group: int
    budget: Budget | None
    classes: tuple[int | None, ...]

    def words(self) -> str:
        """`3 of class 3, 1 of unknown class (planned as class 0)`."""
        counted = Counter(self.classes)
        named = [
            f"{count} of " + ("unknown class (planned as class 0)" if of is None else f"class {of}{_more(of)}")
            for of, count in sorted(counted.items(), key=lambda item: -1 if item[0] is None else item[0])
        ]
        return ", ".join(named) or "nobody is fed"


def _more(power_class: int) -> str:
    return " or more" if power_class == 4 else ""  # RFC 3621 has no value for classes 5 to 8


def supplies(snapshot: Snapshot, limits: Limits) -> Iterator[GroupPower]:
    """Every supply that switches tell of, with the classes of the ports that it feeds now."""
    for switch in snapshot.switches:
        alone = len(switch.power_groups) == 1
        for group in switch.power_groups:
            fed = [
                port.power
                for port in switch.ports
                if port.power and port.power.state == "deliveringPower" and (alone or port.power.group == group.group)
            ]
            classes = tuple(power.power_class for power in fed)
            budget = None
            if group.budget_watts:
                planned = planned_watts(classes, limits)
                budget = Budget(group.budget_watts, planned, group.used_watts, group.warn_percent)
            yield GroupPower(switch.name, group.group, budget, classes)


def judge_budget(budget: Budget) -> Verdict:
    """Whether a supply suffices: by what is drawn now, then by what may be drawn."""
    if budget.measured is not None and budget.measured > budget.supply:
        return Verdict(Fit.FAIL, f"{budget.measured:g} W are drawn of {budget.supply:g} W")
    if budget.planned > budget.supply + 1e-9:
        words = f"the classes that are plugged in may draw {budget.planned:g} W of {budget.supply:g} W"
        return Verdict(Fit.WARN, f"{words}: the last ones may be refused")
    if budget.measured is not None and budget.warn_percent and budget.supply:
        percent = 100 * budget.measured / budget.supply
        if percent >= budget.warn_percent:
            return Verdict(
                Fit.WARN, f"{percent:.0f} % of the supply is drawn, the switch warns at {budget.warn_percent} %"
            )
    return Verdict(Fit.PASS, f"{budget.planned:g} W planned of {budget.supply:g} W")
