"""Power over Ethernet: watts by class, what is lost on the way, and whether a supply suffices."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from reconcile.limits.copper import Fit, Verdict
from reconcile.limits.values import Limits

PAIRSET_OHM = {1: 20.0, 2: 12.5, 3: 12.5, 4: 12.5}
"""Worst loop resistance per pairset by type (from memory); used to check the class table by physics."""

BUNDLE_CAUTION = (
    "Cables that carry power warm one another: leave them unbundled or in small bundles, and above 60 W per port "
    "follow the local electrical code (in the USA NEC 725.144). Unplugging under load can burn contacts."
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
