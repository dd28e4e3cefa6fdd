"""Judges one documented channel by its parts, one aspect at a time: good, not good, or which part of the record lacks.

What is unknown never passes: it makes a row that says what is missing. A part of the record that already exceeds a
limit fails whatever else is unknown, for more can only make it worse.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import NamedTuple

from reconcile.limits import copper, fibre
from reconcile.limits.copper import Fit, Verdict
from reconcile.limits.media import MAU, Medium
from reconcile.limits.parts import Media, Part, Parts
from reconcile.limits.values import Limit, Limits, Standing


class Aspect(StrEnum):
    """What is judged. The words are the ones that the report prints."""

    FIXED_LENGTH = "fixed cable length"
    FIXED_GAUGE = "fixed cable gauge"
    WARMTH = "length at temperature"
    CORDS = "cord length for the gauge"
    WORK_AREA = "cord at the outlet"
    CATEGORY = "mixed categories"
    SHIELD = "shield"
    REACH = "reach"
    JOINT = "fibre joint"
    POLARITY = "fibre polarity"


class Judged(NamedTuple):
    """One aspect of one channel. `source` and `standing` say what it rests on; `missing` what the record lacks."""

    aspect: Aspect
    fit: Fit
    because: str
    physics: str = ""
    do: str = ""
    limit: Limit | None = None
    source: str = ""
    standing: Standing | None = None
    missing: tuple[str, ...] = ()


_WHY = {
    Aspect.FIXED_LENGTH: ("loss grows with length, and the budget of the channel is shared with its cords",
                          "have it tested for the speed in use, or end it at a panel nearer by"),
    Aspect.FIXED_GAUGE: ("thin conductors lose more per metre and grow warmer when they feed a device",
                         "have it replaced by cable of 22 to 24 AWG; thinner is made for cords alone"),
    Aspect.WARMTH: ("copper loses about 4 % more for every 10 K",
                    "measure the temperature on the way, and use the slower speed or a screened cable"),
    Aspect.CORDS: ("stranded and thin conductors lose more per metre than solid cable",
                   "use shorter cords, or cords of a lower gauge number"),
    Aspect.WORK_AREA: ("a cord loses more per metre than solid cable, and tests of the fixed cable leave it out",
                       "put an outlet nearer to the device"),
    Aspect.CATEGORY: ("a channel is as good as its lowest part",
                      "exchange the lowest part, or rate the channel by it"),
    Aspect.SHIELD: ("a screen works only when it runs from end to end and is bonded to the ground bar of the room",
                    "use screened parts throughout, or unscreened ones; bonding is for licensed people"),
    Aspect.REACH: ("signal, crosstalk and dispersion grow with length until bits are lost",
                   "use a slower speed, better cabling, or another module"),
    Aspect.JOINT: ("light is lost where cores differ, and the weaker fibre sets the reach",
                   "exchange the odd part; keep single-mode, 50 um and 62.5 um apart"),
    Aspect.POLARITY: ("the transmitter of one end must meet the receiver of the other: an odd number of crossings",
                      "turn over one duplex cord; cap what is open and never look into it"),
}  # fmt: skip
_BONDING = "shield end to end: from memory; bonding by J-STD-607-A as told by siemon.com"
_PARITY = "parity rule of a structured-cabling guide of 2006; A-to-B cords cross (TIA-568.3-D)"
_LOWEST = "etcconnect.com and a Black Box guide: a channel has the grade of its lowest component"
_JOINTS = "rule of joints: common practice"


def judge_channel(parts: Parts, limits: Limits, speed_mbps: int | None, mau_type: int | None) -> list[Judged]:
    """Every aspect that applies. Speed in Mbit/s and MAU type are those of the link; None where it is not known."""
    medium = MAU.get(mau_type or 0)
    if parts.media is Media.MIXED:
        found: Iterable[Judged] = (_told(Aspect.JOINT, Fit.FAIL, "copper and fibre parts are documented in one channel",
                                         source=_JOINTS, standing=Standing.MEMORY),)  # fmt: skip
    elif parts.media is Media.FIBRE or (medium is not None and medium.fibre):
        found = _fibre(parts, limits, medium)
    else:
        found = _copper(parts, limits, speed_mbps)
    return list(found)


def _copper(parts: Parts, limits: Limits, speed_mbps: int | None) -> Iterator[Judged]:
    grades = [part.category for part in parts.all if part.category]
    yield from _fixed_lengths(parts, limits, copper.lowest(grades))
    yield from _fixed_gauges(parts, limits)
    yield from _warmth(parts, limits)
    if parts.fixed:
        yield _cords(parts, limits)
        yield from _work_area(parts, limits)
    if parts.all:
        yield _categories(parts.all)
        yield _shield(parts.all)
        yield _copper_reach(parts, limits, copper.lowest(grades), speed_mbps)


def _fixed_lengths(parts: Parts, limits: Limits, grade: str | None) -> Iterator[Judged]:
    short = grade is not None and grade.startswith("8")
    most = limits["Category 8 fixed cable length" if short else "fixed cable length"]
    for part in parts.fixed:
        if part.length_m is None:
            yield _missing(Aspect.FIXED_LENGTH, [f"the length of {part.name}"], most)
        elif part.length_m > most.value:
            because = f"{part.name} has {part.length_m:g} m; the limit is {most.value:g} m"
            yield _told(Aspect.FIXED_LENGTH, Fit.FAIL, because, most)
        else:
            yield _told(Aspect.FIXED_LENGTH, Fit.PASS, f"{part.name} has {part.length_m:g} m", most)


def _fixed_gauges(parts: Parts, limits: Limits) -> Iterator[Judged]:
    """Only for cables whose gauge is documented, for hardly any is thin; a higher number is a thinner conductor."""
    thinnest = limits["fixed cable gauge"]
    for part in parts.fixed:
        if part.gauge_awg is not None and part.gauge_awg > thinnest.value:
            because = f"{part.name} has {part.gauge_awg} AWG; {thinnest.value:g} AWG is the thinnest for fixed cable"
            yield _told(Aspect.FIXED_GAUGE, Fit.FAIL, because, thinnest)
        elif part.gauge_awg is not None:
            yield _told(Aspect.FIXED_GAUGE, Fit.PASS, f"{part.name} has {part.gauge_awg} AWG", thinnest)


def _warmth(parts: Parts, limits: Limits) -> Iterator[Judged]:
    """Only for cables whose temperature is documented: 20 C is what everything else is rated for."""
    for part in parts.fixed:
        if part.temperature_c is None or part.temperature_c <= 20:
            continue
        lacking = [f"the length of {part.name}"] if part.length_m is None else []
        if part.screened is None:
            lacking.append(f"the shield of {part.name}")
        if lacking or part.length_m is None:
            yield _missing(Aspect.WARMTH, lacking)
        elif part.screened:
            yield _missing(Aspect.WARMTH, ["a published table for screened cable (none is at hand)"])
        else:
            yield _warm(part, part.length_m, part.temperature_c, limits)


def _warm(part: Part, length_m: float, celsius: float, limits: Limits) -> Judged:
    try:
        most = copper.fixed_length_at(celsius, limits)
    except ValueError as error:
        return _told(Aspect.WARMTH, Fit.FAIL, f"{part.name} lies at {celsius:g} C, and {error}", _last_row(limits))
    because = f"{part.name} has {length_m:g} m at {celsius:g} C, where {most.value:g} m are allowed"
    return _told(Aspect.WARMTH, Fit.FAIL if length_m > most.value else Fit.PASS, because, most)


def _last_row(limits: Limits) -> Limit:
    return limits["fixed cable at 60 C, unscreened"]


_WIDEST, _THINNEST = 24, 28
"""Gauges that bound what a cord of unknown gauge costs."""


def _cords(parts: Parts, limits: Limits) -> Judged:
    """Budget of the cords. A cord of unknown gauge is bounded from both sides before it counts as missing."""
    fixed = sum(part.length_m or 0.0 for part in parts.fixed)
    known = [part for part in parts.cords if part.length_m is not None]
    at_least = [(part.length_m or 0.0, part.gauge_awg or _WIDEST) for part in known]
    at_most = [(part.length_m or 0.0, part.gauge_awg or _THINNEST) for part in known]
    budget = limits["cord budget constant"]
    judged = copper.judge_lengths(min(fixed, limits["fixed cable length"].value), at_least, limits)
    if judged.fit is not Fit.PASS:
        return _from(Aspect.CORDS, judged, [f"a figure for the gauge of {p.name}" for p in known if p.gauge_awg])
    lacking = [f"the length of {name}" for name in parts.lacking_length()]
    worst = copper.judge_lengths(min(fixed, limits["fixed cable length"].value), at_most, limits)
    if worst.fit is not Fit.PASS:
        lacking += [f"the gauge of {part.name}" for part in known if part.gauge_awg is None]
    if lacking:
        return _missing(Aspect.CORDS, lacking, budget)
    return _told(Aspect.CORDS, Fit.PASS, judged.because, budget)


def _work_area(parts: Parts, limits: Limits) -> Iterator[Judged]:
    """Cords at outlets. One without a length is missing in the budget of the cords already."""
    for part in parts.work_area:
        if part.length_m is not None:
            judged = copper.judge_work_area(part.length_m, part.gauge_awg, limits)
            told = judged._replace(because=f"{part.name} has {judged.because}")
            yield _from(Aspect.WORK_AREA, told, [f"the gauge of {part.name}"])


def _categories(all_parts: tuple[Part, ...]) -> Judged:
    graded = [(part.category, part.name) for part in all_parts if part.category]
    grades = sorted({grade for grade, _ in graded}, key=copper.CATEGORIES.index)
    if len(grades) > 1:
        low = ", ".join(name for grade, name in graded if grade == grades[0])
        because = f"the channel is Category {grades[0]} by {low}; other parts are {', '.join(grades[1:])}"
        return _told(Aspect.CATEGORY, Fit.WARN, because, source=_LOWEST, standing=Standing.RESTATED)
    lacking = [f"the category of {part.name}" for part in all_parts if part.category is None]
    if lacking:
        return _missing(Aspect.CATEGORY, lacking)
    because = f"every part is Category {grades[0]}"
    return _told(Aspect.CATEGORY, Fit.PASS, because, source=_LOWEST, standing=Standing.RESTATED)


def _shield(all_parts: tuple[Part, ...]) -> Judged:
    """A screen that ends on the way, or a screened part in an unscreened channel."""
    bare = [part.name for part in all_parts if part.screened is False]
    covered = [part.name for part in all_parts if part.screened]
    fixed_bare = any(part.screened is False and part.name.startswith("fixed") for part in all_parts)
    if bare and covered:
        because = (
            f"screened parts in an unscreened channel: {', '.join(covered)}"
            if fixed_bare
            else f"the screen is not continuous: {', '.join(bare)} has none"
        )
        return _told(Aspect.SHIELD, Fit.WARN, because, source=_BONDING, standing=Standing.MEMORY)
    lacking = [f"the shield of {part.name}" for part in all_parts if part.screened is None]
    if lacking:
        return _missing(Aspect.SHIELD, lacking)
    because = "every part is screened; whether it is bonded is not documented" if covered else "no part is screened"
    return _told(Aspect.SHIELD, Fit.PASS, because, source=_BONDING, standing=Standing.MEMORY)


def _copper_reach(parts: Parts, limits: Limits, grade: str | None, speed_mbps: int | None) -> Judged:
    length = parts.known_length_m
    if grade is not None and grade.startswith("8") and length > limits["Category 8 channel length"].value:
        most = limits["Category 8 channel length"]
        because = f"the channel has {length:g} m at least; Category 8 is rated for {most.value:g} m"
        return _told(Aspect.REACH, Fit.FAIL, because, most)
    lacking = [f"the length of {name}" for name in parts.lacking_length()]
    if speed_mbps is None:
        lacking.append("the speed of the link")
    if grade is None:
        lacking.append("the category of any part")
    if speed_mbps is None or grade is None:
        return _missing(Aspect.REACH, lacking)
    judged = copper.judge_speed(speed_mbps, grade, length, limits)
    if judged.fit in (Fit.PASS, Fit.UNKNOWN) and lacking:
        return _missing(Aspect.REACH, lacking, judged.limit)
    unknown = [part.name for part in parts.all if part.category is None]
    if judged.fit is Fit.PASS and unknown:
        return _missing(Aspect.REACH, [f"the category of {name}" for name in unknown], judged.limit)
    return _from(Aspect.REACH, judged, [judged.because])


def _fibre(parts: Parts, limits: Limits, medium: Medium | None) -> Iterator[Judged]:
    cables = (*parts.fixed, *parts.cords)
    grades = [part.grade for part in cables if part.grade]
    lacking = [f"the fibre grade of {part.name}" for part in cables if part.grade is None]
    joint = fibre.judge_joint(grades) if grades else None
    if joint is None or (joint.fit is Fit.PASS and lacking):
        yield _missing(Aspect.JOINT, lacking)
    else:
        yield _told(Aspect.JOINT, joint.fit, joint.because, source=_JOINTS, standing=Standing.MEMORY)
    yield _fibre_reach(parts, limits, medium, fibre.lowest(grades), lacking)
    yield _polarity(parts)


def _fibre_reach(parts: Parts, limits: Limits, medium: Medium | None, grade: str | None, lacking: list[str]) -> Judged:
    missing = [*lacking, *(f"the length of {name}" for name in parts.lacking_length())]
    if medium is None:
        missing.append("the module in the port (MAU type)")
    if medium is None or grade is None:
        return _missing(Aspect.REACH, missing)
    judged = fibre.judge_reach(medium.application, grade, parts.known_length_m, limits)
    if judged.fit is Fit.PASS and missing:
        return _missing(Aspect.REACH, missing, judged.limit)
    return _from(Aspect.REACH, judged, [judged.because])


def _polarity(parts: Parts) -> Judged:
    """Couplings count as straight where the map does not say otherwise; cables and cords must be documented."""
    lacking = [f"whether {part.name} is crossed" for part in (*parts.fixed, *parts.cords) if part.crossed is None]
    if lacking:
        return _missing(Aspect.POLARITY, lacking)
    judged = fibre.judge_polarity(bool(part.crossed) for part in parts.all)
    return _told(Aspect.POLARITY, judged.fit, judged.because, source=_PARITY, standing=Standing.RESTATED)


def _from(aspect: Aspect, verdict: Verdict, missing: list[str]) -> Judged:
    if verdict.fit is Fit.UNKNOWN:
        return _missing(aspect, missing, verdict.limit)
    return _told(aspect, verdict.fit, verdict.because, verdict.limit, source=_LOWEST if verdict.limit is None else "",
                 standing=Standing.RESTATED if verdict.limit is None else None)  # fmt: skip


def _told(
    aspect: Aspect,
    fit: Fit,
    because: str,
    limit: Limit | None = None,
    *,
    source: str = "",
    standing: Standing | None = None,
) -> Judged:
    physics, do = _WHY[aspect] if fit in (Fit.FAIL, Fit.WARN) else ("", "")
    return Judged(
        aspect, fit, because, physics, do, limit,
        source or (limit.source if limit else ""), standing or (limit.standing if limit else None),
    )  # fmt: skip


def _missing(aspect: Aspect, missing: Iterable[str], limit: Limit | None = None) -> Judged:
    lacking = tuple(dict.fromkeys(missing))
    source, standing = (limit.source, limit.standing) if limit else ("", None)
    return Judged(aspect, Fit.UNKNOWN, f"missing: {', '.join(lacking)}", "", "", limit, source, standing, lacking)
