"""Balanced copper: length budgets, the grade of a channel, and which Ethernet it carries how far. Metres throughout."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from reconcile.limits.values import Limit, Limits, Standing

CATEGORIES = ("3", "5", "5E", "6", "6A", "7", "7A", "8", "8.1", "8.2")
"""From lowest to highest. 7 and 7A are ISO/IEC classes F and FA, no TIA categories."""

_ISO_CLASS = {"D": "5E", "E": "6", "EA": "6A", "F": "7", "FA": "7A", "I": "8.1", "II": "8.2"}


class Fit(StrEnum):
    """Whether a channel is good for a use."""

    PASS = "pass"
    WARN = "warn"
    FAIL = "fail"
    UNKNOWN = "unknown"


class Verdict(NamedTuple):
    """Fit, the reason in one sentence, and the limit it rests on."""

    fit: Fit
    because: str
    limit: Limit | None = None


@lru_cache(maxsize=1024)  # many parts, few spellings
def category(text: str) -> str | None:
    """`Cat 6A`, `cat.6a`, `CAT6`, `Class EA`, `5e` in one form (`6A`), or None."""
    raw = re.sub(r"[\s._\-]+", "", text.casefold())
    raw = re.sub(r"^(category|cat|kat)", "", raw)
    found = re.match(r"^(?:class)?(ii|i|ea|fa|e|d|f)$", raw)
    if found:
        return _ISO_CLASS[found.group(1).upper()]
    raw = {"81": "8.1", "82": "8.2"}.get(raw, raw.upper())
    return raw if raw in CATEGORIES else None


def lowest(categories: Iterable[str]) -> str | None:
    """The grade of a channel is that of its lowest part."""
    ranked = sorted(categories, key=CATEGORIES.index)
    return ranked[0] if ranked else None


def cord_budget(fixed_m: float, gauge_awg: int, limits: Limits) -> float | None:
    """Metres of cord that a fixed cable of this length leaves: C = (102 - H) / (1 + D).

    `D` is the derating of the cords' gauge. None for a gauge without a figure. H of 90 m and less only: a longer
    fixed cable has failed already.
    """
    derating = limits.get(f"cord derating, {gauge_awg} AWG")
    if derating is None:
        return None
    return (limits["cord budget constant"].value - fixed_m) / (1 + derating.value)


def judge_lengths(fixed_m: float, cords: Iterable[tuple[float, int]], limits: Limits) -> Verdict:
    """Judges one fixed cable with its cords, each (metres, AWG). Cords of several gauges: each takes its own share."""
    most = limits["fixed cable length"]
    if fixed_m > most.value:
        return Verdict(Fit.FAIL, f"the fixed cable has {fixed_m:g} m, more than {most.value:g} m", most)
    constant = limits["cord budget constant"]
    used, total = 0.0, 0.0
    for length, gauge in cords:
        derating = limits.get(f"cord derating, {gauge} AWG")
        if derating is None:
            return Verdict(Fit.UNKNOWN, f"there is no figure for cords of {gauge} AWG")
        used += length * (1 + derating.value)
        total += length
    if used > constant.value - fixed_m + 1e-9:
        words = f"{total:g} m of cords lose more than {fixed_m:g} m of fixed cable leaves room for"
        return Verdict(Fit.FAIL, words, constant)
    return Verdict(Fit.PASS, f"{fixed_m:g} m of fixed cable with {total:g} m of cords is within the budget", constant)


def judge_work_area(length_m: float, gauge_awg: int | None, limits: Limits) -> Verdict:
    """Judges the cord at an outlet, which has a limit of its own however short the fixed cable is.

    A gauge without a figure has that of 24 AWG, the widest: no thinner cord may be longer. A cord of unknown gauge that
    only a wide one could be is `UNKNOWN`.
    """
    wide = limits["longest work-area cord, 24 AWG"]
    thin = limits["longest work-area cord, 26 AWG"]
    most = thin if gauge_awg == 26 and length_m <= wide.value else wide
    if length_m > most.value:
        return Verdict(Fit.FAIL, f"{length_m:g} m at the outlet; {most.value:g} m are the most there", most)
    if gauge_awg is None and length_m > thin.value:
        return Verdict(Fit.UNKNOWN, "the gauge decides", wide)
    return Verdict(Fit.PASS, f"{length_m:g} m at the outlet", most)


# Lowest category for each speed over twisted pairs, Mbit/s (IEEE 802.3, as restated by kb.wisc.edu and siemon.com).
_LOWEST = {10: "3", 100: "5", 1000: "5", 2500: "5E", 5000: "6", 10000: "6", 25000: "8", 40000: "8"}
_NAME = {
    10: "10BASE-T", 100: "100BASE-TX", 1000: "1000BASE-T", 2500: "2.5GBASE-T", 5000: "5GBASE-T",
    10000: "10GBASE-T", 25000: "25GBASE-T", 40000: "40GBASE-T",
}  # fmt: skip


def judge_speed(speed_mbps: int, grade: str, length_m: float | None, limits: Limits) -> Verdict:
    """Whether a channel of this grade and whole length is good for a speed in Mbit/s."""
    name = _NAME.get(speed_mbps)
    if name is None:
        return Verdict(Fit.UNKNOWN, f"{speed_mbps} Mbit/s is no speed of twisted-pair Ethernet")
    if CATEGORIES.index(grade) < CATEGORIES.index(_LOWEST[speed_mbps]):
        return Verdict(Fit.FAIL, f"{name} needs Category {_LOWEST[speed_mbps]} or better, this channel is {grade}")
    if speed_mbps == 10000 and grade == "6":
        return _ten_gigabit_on_six(length_m, limits)
    reach = limits[f"{name} reach"]
    if length_m is None:
        return Verdict(Fit.UNKNOWN, "the length of the channel is not documented", reach)
    if length_m > reach.value:
        return Verdict(Fit.FAIL, f"{name} reaches {reach.value:g} m, this channel has {length_m:g} m", reach)
    if (speed_mbps, grade) in ((2500, "5E"), (5000, "6")):
        words = f"{name} on Category {grade} is good in defined use cases only: have it assessed"
        return Verdict(Fit.WARN, words, reach)
    return Verdict(Fit.PASS, f"{name} on Category {grade}, {length_m:g} m", reach)


def _ten_gigabit_on_six(length_m: float | None, limits: Limits) -> Verdict:
    good, most = limits["10GBASE-T on Category 6, should work"], limits["10GBASE-T on Category 6, at most"]
    if length_m is None:
        return Verdict(Fit.UNKNOWN, "10GBASE-T on Category 6 depends on the length, which is not documented", good)
    if length_m <= good.value:
        return Verdict(Fit.PASS, f"10GBASE-T on Category 6 should work to {good.value:g} m", good)
    if length_m <= most.value:
        words = f"10GBASE-T on Category 6 beyond {good.value:g} m depends on alien crosstalk: have it tested"
        return Verdict(Fit.WARN, words, good)
    return Verdict(Fit.FAIL, f"10GBASE-T on Category 6 beyond {most.value:g} m needs mitigation or other cable", most)


def is_hint(verdict: Verdict) -> bool:
    """True when a verdict rests on a remembered value: never more than a hint."""
    return verdict.limit is not None and verdict.limit.standing is Standing.MEMORY


_WARM = (20, 25, 30, 35, 40, 45, 50, 55, 60)
"""Degrees Celsius that the table has rows for."""


def fixed_length_at(celsius: float, limits: Limits) -> Limit:
    """Longest unscreened fixed cable at a temperature by the TIA table, linear between its rows.

    Above 20 C only; colder cable is no better than its rating. Raises ValueError above 60 C, where the table ends and
    most cable is out of its rating. The ISO rule (a share per degree) gives a little less: 82.8 m at 40 C.
    """
    if celsius > _WARM[-1]:
        raise ValueError("the table ends at 60 C")
    low, high = (
        limits[f"fixed cable at {row} C, unscreened"]
        for row in (
            max((t for t in _WARM if t <= celsius), default=20),
            min(t for t in _WARM if t >= celsius),
        )
    )
    if low == high or celsius <= 20:
        return low
    start = max(t for t in _WARM if t <= celsius)
    metres = low.value + (celsius - start) / 5 * (high.value - low.value)
    standing = Standing.MEMORY if Standing.MEMORY in (low.standing, high.standing) else Standing.DERIVED
    return Limit(round(metres, 2), "m", f"between two rows: {low.source}", standing)
