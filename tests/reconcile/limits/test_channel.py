"""A channel judged by its parts: what is bad, what cannot be told, and what never passes by being unknown."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from reconcile.limits.channel import Aspect, Judged, judge_channel
from reconcile.limits.copper import Fit
from reconcile.limits.parts import Media, Part, Parts, screened
from reconcile.limits.values import Limits, Override, Standing

LIMITS = Limits()
SIX_A = {"category": "6A", "screened": True}


def parts(
    fixed: dict[str, Any] | None = None, *cords: dict[str, Any], media: Media = Media.COPPER, jack: Any = None
) -> Parts:
    cables = (Part("fixed cable F1", **{**SIX_A, "length_m": 50, **(fixed or {})}),)
    ends = tuple(Part(f"cord C{n}", **{**SIX_A, "length_m": 2, "gauge_awg": 24, **c}) for n, c in enumerate(cords))
    couplings = (Part("jack P:1", **(SIX_A if jack is None else jack)),)
    return Parts(cables, ends, couplings, media, (*cables, *ends, *couplings))


def judged(
    made: Parts, aspect: Aspect, speed: int | None = 1000, mau: int | None = None, limits: Limits = LIMITS
) -> Judged:
    return next(j for j in judge_channel(made, limits, speed, mau) if j.aspect is aspect)


def test_a_documented_sound_channel_passes_every_aspect() -> None:
    assert {j.fit for j in judge_channel(parts({}, {}, {}), LIMITS, 1000, 30)} == {Fit.PASS}


@pytest.mark.parametrize(("length", "fit"), [(90, Fit.PASS), (91, Fit.FAIL), (None, Fit.UNKNOWN)])
def test_fixed_cable_ends_at_90_metres(length: float | None, fit: Fit) -> None:
    # TIA-568 as restated by maxxam.co.uk and telegaertner.com.
    assert judged(parts({"length_m": length}, {}), Aspect.FIXED_LENGTH).fit is fit


@pytest.mark.parametrize(("gauge", "fits"), [(22, [Fit.PASS]), (24, [Fit.PASS]), (28, [Fit.FAIL]), (None, [])])
def test_thin_conductors_are_for_cords_alone(gauge: int | None, fits: list[Fit]) -> None:
    # cablinginstall.com on TIA-568.2-D: fixed cable of 22 to 24 AWG, never of 28 AWG.
    found = judge_channel(parts({"gauge_awg": gauge}, {"gauge_awg": 28, "length_m": 2}), LIMITS, 1000, 30)
    assert [j.fit for j in found if j.aspect is Aspect.FIXED_GAUGE] == fits


def test_a_site_s_own_limit_counts_and_says_why() -> None:
    own = Limits({"fixed cable length": Override(value=45, reason="hot ceiling")})
    found = judged(parts({}, {}), Aspect.FIXED_LENGTH, limits=own)
    assert (found.fit, found.source, found.standing) == (Fit.FAIL, "hot ceiling", Standing.OVERRIDDEN)


def test_cords_of_unknown_gauge_pass_only_where_the_thinnest_would() -> None:
    # By hand: 2 x 2 m x 1.95 = 7.8 <= 102 - 50; at 90 m of fixed cable 2 x 4 m: 9.6 to 15.6 against 12.
    assert judged(parts({}, {"gauge_awg": None}, {"gauge_awg": None}), Aspect.CORDS).fit is Fit.PASS
    long = {"gauge_awg": None, "length_m": 4}
    found = judged(parts({"length_m": 90}, long, long), Aspect.CORDS)
    assert (found.fit, found.missing) == (Fit.UNKNOWN, ("the gauge of cord C0", "the gauge of cord C1"))


def test_what_is_documented_fails_already_whatever_is_unknown_of_the_rest() -> None:
    # 90 m with 11 m of 24 AWG: 13.2 > 12; the second cord has no length.
    found = judged(parts({"length_m": 90}, {"length_m": 11}, {"length_m": None}), Aspect.CORDS)
    assert found.fit is Fit.FAIL


def test_a_cord_without_a_length_is_named_as_missing() -> None:
    found = judged(parts({}, {}, {"length_m": None}), Aspect.CORDS)
    assert (found.fit, found.missing) == (Fit.UNKNOWN, ("the length of cord C1",))


def test_the_lowest_part_grades_the_channel() -> None:
    # etcconnect.com: Category 6A with a Category 5e cord is Category 5e.
    found = judged(parts({}, {"category": "5E"}), Aspect.CATEGORY)
    assert found.fit is Fit.WARN
    assert "Category 5E by cord C0" in found.because
    assert judged(parts({}, {"category": None}), Aspect.CATEGORY).fit is Fit.UNKNOWN


@pytest.mark.parametrize(
    ("fixed", "cord", "words"),
    [(True, False, "not continuous: cord C0"), (False, True, "screened parts in an unscreened channel: cord C0")],
)
def test_a_screen_runs_from_end_to_end_or_not_at_all(fixed: bool, cord: bool, words: str) -> None:
    made = parts({"screened": fixed}, {"screened": cord}, jack={"category": "6A", "screened": fixed})
    found = judged(made, Aspect.SHIELD)
    assert words in found.because
    assert found.standing is Standing.MEMORY  # never more than a hint


@pytest.mark.parametrize(
    ("celsius", "length", "fit"), [(40, 84, Fit.PASS), (40, 84.5, Fit.FAIL), (50, 80, Fit.FAIL), (70, 10, Fit.FAIL)]
)
def test_warm_cable_is_allowed_less_length(celsius: float, length: float, fit: Fit) -> None:
    # flukenetworks.com: 84 m at 40 C; connectionsplus.ca: 79.5 m at 50 C; the table ends at 60 C.
    made = parts({"temperature_c": celsius, "length_m": length, "screened": False}, {})
    assert judged(made, Aspect.WARMTH).fit is fit


def test_no_figure_for_warm_screened_cable_is_invented() -> None:
    assert judged(parts({"temperature_c": 40}, {}), Aspect.WARMTH).fit is Fit.UNKNOWN


def test_a_long_cord_counts_at_the_outlet_and_not_at_the_panel() -> None:
    # siemon.com, TIA-568-B.1: 22 m at the outlet; 25 m of 24 AWG are well within the budget of 50 m of fixed cable.
    made = parts({}, {"length_m": 25})
    assert [j.fit for j in judge_channel(made, LIMITS, 1000, 30) if j.aspect is Aspect.WORK_AREA] == []
    found = judged(replace(made, work_area=made.cords), Aspect.WORK_AREA)
    assert (found.fit, found.because) == (Fit.FAIL, "cord C0 has 25 m at the outlet; 22 m are the most there")
    assert judged(made, Aspect.CORDS).fit is Fit.PASS


@pytest.mark.parametrize(
    ("category", "metres", "speed", "fit"),
    [
        ("6", 28, 10000, Fit.PASS), ("6", 43, 10000, Fit.WARN), ("6", 58, 10000, Fit.FAIL),  # TSB-155, with 2 m of cord
        ("5E", 10, 10000, Fit.FAIL), ("6A", 88, 10000, Fit.PASS),
        ("8", 28.5, 1000, Fit.FAIL), ("8", 22, 40000, Fit.PASS),  # siemon.com, belden.com: 30 m
    ],
)  # fmt: skip
def test_reach_of_the_running_speed(category: str, metres: float, speed: int, fit: Fit) -> None:
    row = {"category": category, "screened": True}
    made = parts({"length_m": metres, **row}, row, jack=row)
    assert judged(made, Aspect.REACH, speed).fit is fit


def test_without_a_speed_reach_cannot_be_told() -> None:
    assert judged(parts({}, {}), Aspect.REACH, None).missing == ("the speed of the link",)


def fibre(grade: str, metres: float, crossed: bool | None, *cords: bool) -> Parts:
    cable = Part("fixed cable F1", grade=grade, length_m=metres, crossed=crossed)
    ends = tuple(Part(f"cord C{n}", grade=grade, length_m=1, crossed=c) for n, c in enumerate(cords))
    return Parts((cable,), ends, (), Media.FIBRE, (cable, *ends))


@pytest.mark.parametrize(("metres", "fit"), [(80, Fit.PASS), (81.5, Fit.FAIL)])
def test_fibre_reaches_as_far_as_its_grade_allows(metres: float, fit: Fit) -> None:
    # blog.leviton.com: 10GBASE-SR 82 m on OM2; two cords of a metre come on top.
    assert judged(fibre("OM2", metres, True, True, True), Aspect.REACH, 10000, 36).fit is fit


@pytest.mark.parametrize(
    ("crossings", "fit"),
    [((True, True, True), Fit.PASS), ((True, True, False), Fit.FAIL), ((None, True, True), Fit.UNKNOWN)],
)
def test_an_odd_number_of_crossings_brings_light_to_the_receiver(crossings: Any, fit: Fit) -> None:
    # Parity rule of a structured-cabling guide of 2006.
    assert judged(fibre("OM4", 50, *crossings), Aspect.POLARITY).fit is fit


@pytest.mark.parametrize(
    ("text", "found"),
    [("U/UTP", False), ("UTP", False), ("F/UTP", True), ("s/ftp", True), ("U/FTP", True), ("SF/UTP", True),
     ("STP", True), ("", None), ("grey", None)],
)  # fmt: skip
def test_shield_codes_of_iso_11801(text: str, found: bool | None) -> None:
    assert screened(text) is found


def test_whatever_is_told_as_bad_says_why_what_to_do_and_by_whom() -> None:
    made = parts({"length_m": 95, "temperature_c": 45.0, "screened": False}, {"category": "5E", "length_m": 30})
    bad = [j for j in judge_channel(made, LIMITS, 10000, 54) if j.fit in (Fit.FAIL, Fit.WARN)]
    assert len(bad) >= 5
    assert all(j.physics and j.do and j.source and j.standing for j in bad)
