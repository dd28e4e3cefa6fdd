"""Optical fibre: reach by grade, what may be joined, and polarity by parity. Metres throughout."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache

from reconcile.limits.copper import Fit, Verdict
from reconcile.limits.values import Limits

GRADES = ("OM1", "OM2", "OM3", "OM4", "OM5")
"""Multimode, from lowest to highest (ISO/IEC 11801). OM1 has a core of 62.5 um, the others of 50 um."""

SINGLE_MODE = ("OS1", "OS2")


@lru_cache(maxsize=1024)  # many parts, few spellings
def grade(text: str) -> str | None:
    """`om 3`, `OM3`, `9/125 OS2` in one form, or None when the text names no fibre grade."""
    found = re.search(r"\bO([MS])\s*-?([1-5])\b", text.upper())
    name = f"O{found.group(1)}{found.group(2)}" if found else ""
    return name if name in GRADES + SINGLE_MODE else None


def judge_joint(grades: Sequence[str]) -> Verdict:
    """Whether these parts may be joined; the channel is its lowest grade. Rule of joints: common practice."""
    kinds = {g in SINGLE_MODE for g in grades}
    if len(kinds) > 1:
        return Verdict(Fit.FAIL, "single-mode fibre is joined to multimode fibre")
    if "OM1" in grades and len(set(grades)) > 1:
        return Verdict(Fit.FAIL, "fibre with a core of 62.5 um (OM1) is joined to fibre with a core of 50 um")
    if len(set(grades)) > 1 and not kinds.pop():
        return Verdict(Fit.WARN, f"grades are mixed: the channel is {min(grades, key=GRADES.index)}")
    return Verdict(Fit.PASS, "one grade throughout")


def lowest(grades: Iterable[str]) -> str | None:
    """The grade of a channel is that of its lowest part; OS1 is held to be lower than OS2."""
    ranked = sorted(grades, key=(SINGLE_MODE + GRADES).index)
    return ranked[0] if ranked else None


def judge_reach(application: str, fibre: str, length_m: float | None, limits: Limits) -> Verdict:
    """Whether an application such as `10GBASE-SR` reaches this far over this fibre."""
    over = "OS2" if fibre == "OS1" else fibre
    reach = limits.get(f"{application} on {over}")
    if reach is None:
        return Verdict(Fit.UNKNOWN, f"there is no figure for {application} on {fibre}")
    if length_m is None:
        return Verdict(Fit.UNKNOWN, "the length of the channel is not documented", reach)
    if length_m > reach.value:
        return Verdict(Fit.FAIL, f"{application} reaches {reach.value:g} m on {fibre}, not {length_m:g} m", reach)
    return Verdict(Fit.PASS, f"{application} reaches {reach.value:g} m on {fibre}", reach)


def judge_polarity(crossings: Iterable[bool]) -> Verdict:
    """A duplex channel works with an odd number of crossings: transmitter must meet receiver.

    `crossings` says of each element (cord, coupling, trunk segment) whether it crosses by position. Source: parity
    rule of a structured-cabling guide of 2006; cords A-to-B cross by position (TIA-568.3-D).
    """
    count = sum(crossings)
    if count % 2 == 1:
        return Verdict(Fit.PASS, f"{count} crossing{'s' if count != 1 else ''}: transmitter meets receiver")
    return Verdict(Fit.FAIL, f"{count} crossings: transmitter meets transmitter")
