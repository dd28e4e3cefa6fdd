"""Published values and worked examples, the source of each beside it."""

from __future__ import annotations

import pytest

from reconcile.errors import SiteError
from reconcile.limits.copper import (
    Fit,
    category,
    cord_budget,
    fixed_length_at,
    is_hint,
    judge_lengths,
    judge_speed,
    judge_work_area,
    lowest,
)
from reconcile.limits.fibre import grade, judge_joint, judge_polarity, judge_reach
from reconcile.limits.power import PAIRSET_OHM, Budget, at_device, judge_budget, planned_watts
from reconcile.limits.values import Limits, Override, Standing

LIMITS = Limits()


def test_permanent_link_and_channel_maximum() -> None:
    # TIA-568 as restated by maxxam.co.uk and telegaertner.com: 90 m and 100 m.
    assert LIMITS["fixed cable length"].value == 90
    assert LIMITS["channel length"].value == 100


@pytest.mark.parametrize(
    ("fixed", "gauge", "cords", "channel"),
    [
        # C = (102 - H) / (1 + D); D 0.2 and 0.5 siemon.com, D 0.95 from TIA-568.2-D as told by cablinginstall.com
        (90, 24, 10.0, 100.0),  # the whole channel and its cords: maxxam.co.uk, siemon.com
        (80, 24, 18.33, 98.33),
        (70, 24, 26.67, 96.67),
        (90, 26, 8.0, 98.0),
        (75, 26, 18.0, 93.0),
        (82.5, 28, 10.0, 92.5),  # worked example of cablinginstall.com: 82.5 m with 10 m of 28 AWG
        (90, 28, 6.15, 96.15),  # the same source: 6 m at 90 m
        (90, 22, 10.0, 100.0),  # as 24 AWG, from memory
    ],
)
def test_cord_budget_by_gauge(fixed: float, gauge: int, cords: float, channel: float) -> None:
    budget = cord_budget(fixed, gauge, LIMITS)
    assert budget == pytest.approx(cords, abs=0.01)
    assert fixed + (budget or 0) == pytest.approx(channel, abs=0.01)
    assert channel <= LIMITS["channel length"].value


def test_the_budget_at_90_metres_is_the_ten_metres_of_the_rule() -> None:
    # siemon.com: 10 m of cords in all at 90 m of fixed cable.
    assert cord_budget(90, 24, LIMITS) == pytest.approx(LIMITS["cords at 90 m of fixed cable"].value)


@pytest.mark.parametrize(("total", "room"), [(90, 3), (85, 7), (80, 11), (75, 15), (70, 20)])
def test_multi_user_outlet_table_of_the_old_bulletin(total: int, room: int) -> None:
    # TSB-75 worked table (superseded): C = (93.6 - B) / 1.2 with 7 m in the room; equals (102 - B) / 1.2 - 7.
    budget = cord_budget(total, 24, LIMITS)
    assert budget is not None
    assert budget - 7 == pytest.approx(room, abs=0.5)


@pytest.mark.parametrize(("fixed", "cords"), [(90, 10), (85, 14), (80, 18), (75, 22), (70, 27)])
def test_printed_table_for_24_awg_within_its_rounding(fixed: int, cords: int) -> None:
    # TIA-568-B.1 table of longer cords (from memory); it rounds both ways.
    assert cord_budget(fixed, 24, LIMITS) == pytest.approx(cords, abs=0.51)


def test_ten_metres_of_26_awg_are_too_much_at_90_metres() -> None:
    assert judge_lengths(90, [(5, 26), (5, 26)], LIMITS).fit is Fit.FAIL
    assert judge_lengths(90, [(5, 24), (5, 24)], LIMITS).fit is Fit.PASS


def test_91_metres_of_fixed_cable_fail_whatever_the_cords() -> None:
    assert judge_lengths(91, [(1, 24)], LIMITS).fit is Fit.FAIL


def test_cords_of_two_gauges_each_take_their_own_share() -> None:
    # By hand: 5 m x 1.2 + 4 m x 1.5 = 12.0 = 102 - 90; one more decimetre is too much.
    assert judge_lengths(90, [(5, 24), (4, 26)], LIMITS).fit is Fit.PASS
    assert judge_lengths(90, [(5, 24), (4.1, 26)], LIMITS).fit is Fit.FAIL


@pytest.mark.parametrize(
    ("speed", "category_", "length", "fit"),
    [
        (10000, "6", 30, Fit.PASS),  # TSB-155 as quoted by flukenetworks.com
        (10000, "6", 45, Fit.WARN),
        (10000, "6", 60, Fit.FAIL),
        (10000, "6A", 100, Fit.PASS),  # kb.wisc.edu; IANA-MAU-MIB type 54: Category 6A or better
        (10000, "5E", 10, Fit.FAIL),  # intelek.eu: not supported
        (25000, "8", 30, Fit.PASS),  # siemon.com, belden.com
        (25000, "8", 31, Fit.FAIL),
        (40000, "8", 30, Fit.PASS),
        (40000, "8", 31, Fit.FAIL),
        (40000, "6A", 10, Fit.FAIL),
        (10, "3", 100, Fit.PASS),  # kb.wisc.edu
        (100, "5", 100, Fit.PASS),
        (100, "3", 10, Fit.FAIL),
        (10000, "6A", 101, Fit.FAIL),
        (1000, "5", 100, Fit.PASS),  # IANA-MAU-MIB: four-pair Category 5
        (2500, "5E", 100, Fit.WARN),  # siemon.com: defined use cases only
        (5000, "6", 100, Fit.WARN),
        (5000, "6A", 100, Fit.PASS),
        (1000, "6A", None, Fit.UNKNOWN),
    ],
)
def test_what_a_category_carries_how_far(speed: int, category_: str, length: float | None, fit: Fit) -> None:
    assert judge_speed(speed, category_, length, LIMITS).fit is fit


def test_a_channel_is_its_lowest_part() -> None:
    # etcconnect.com, Black Box guide: Category 6A cable with a Category 5e cord is Category 5e.
    assert lowest(["6A", "5E", "6A"]) == "5E"


@pytest.mark.parametrize(
    ("text", "form"),
    [("Cat 6A", "6A"), ("cat.6a", "6A"), ("5e", "5E"), ("CAT5E", "5E"), ("Class EA", "6A"), ("8.1", "8.1"), ("D", "5E"),
     ("Category 6", "6"), ("coax", None), ("", None)],
)  # fmt: skip
def test_the_usual_spellings_of_a_category_meet(text: str, form: str | None) -> None:
    # ISO/IEC 11801 classes D, E, EA, F, FA, I, II against TIA categories.
    assert category(text) == form


def test_temperature_table() -> None:
    # flukenetworks.com (40 C) and connectionsplus.ca on TIA-568-B.2-1 annex G (50 C).
    assert [fixed_length_at(celsius, LIMITS).value for celsius in (20, 40, 50)] == [90, 84.0, 79.5]
    assert [fixed_length_at(celsius, LIMITS).standing for celsius in (40, 50)] == [Standing.RESTATED] * 2
    assert fixed_length_at(42.5, LIMITS).value == pytest.approx((84.0 + 81.7) / 2, abs=0.01)
    assert fixed_length_at(45, LIMITS).standing is Standing.MEMORY
    with pytest.raises(ValueError, match="60"):
        fixed_length_at(61, LIMITS)


def test_the_percentage_rule_gives_a_little_less_than_the_table() -> None:
    # ISO/IEC 11801-1 default of 0.4 % per degree above 20 C (from memory): 90 x (1 - 20 x 0.004) = 82.8 m at 40 C.
    lost = LIMITS["length lost per degree above 20 C, unscreened"]
    assert 90 * (1 - 20 * lost.value / 100) == pytest.approx(82.8)
    assert lost.standing is Standing.MEMORY


@pytest.mark.parametrize(
    ("application", "fibre", "reach"),
    [
        # blog.leviton.com, ethernetalliance.org
        ("10GBASE-SR", "OM1", 33), ("10GBASE-SR", "OM2", 82), ("10GBASE-SR", "OM3", 300), ("10GBASE-SR", "OM4", 400),
        ("1000BASE-SX", "OM1", 275), ("1000BASE-SX", "OM2", 550),
        ("40GBASE-SR4", "OM3", 100), ("40GBASE-SR4", "OM4", 150),
        # ICT Today 2018: no advantage of OM5 for existing applications
        ("10GBASE-SR", "OM5", 400), ("40GBASE-SR4", "OM5", 150),
        # trade press; IANA-MAU-MIB type 49 says 10 km in its text
        ("10GBASE-LRM", "OM1", 220), ("10GBASE-LRM", "OM2", 220), ("10GBASE-LRM", "OM3", 220),
        ("1000BASE-LX", "OM1", 550), ("1000BASE-LX", "OM2", 550), ("1000BASE-LX10", "OS2", 10_000),
        ("10GBASE-LR", "OS2", 10_000), ("40GBASE-LR4", "OS2", 10_000), ("100GBASE-LR4", "OS1", 10_000),
        ("10GBASE-ER", "OS2", 40_000),
    ],
)  # fmt: skip
def test_fibre_reach(application: str, fibre: str, reach: float) -> None:
    assert judge_reach(application, fibre, reach, LIMITS).fit is Fit.PASS
    assert judge_reach(application, fibre, reach + 1, LIMITS).fit is Fit.FAIL


def test_fibres_that_must_not_be_joined() -> None:
    # Common practice: 62.5 and 50 um never, single-mode and multimode never; else the lowest grade counts.
    assert judge_joint(["OM3", "OM1"]).fit is Fit.FAIL
    assert judge_joint(["OS2", "OM4"]).fit is Fit.FAIL
    assert judge_joint(["OM4", "OM3"]).fit is Fit.WARN
    assert judge_joint(["OM4", "OM4"]).fit is Fit.PASS
    assert grade("50/125 om4 LC") == "OM4"


@pytest.mark.parametrize(("crossings", "fit"), [(1, Fit.PASS), (2, Fit.FAIL), (3, Fit.PASS), (0, Fit.FAIL)])
def test_duplex_polarity_by_parity(crossings: int, fit: Fit) -> None:
    # Parity rule of a structured-cabling guide, 2006.
    assert judge_polarity([True] * crossings + [False]).fit is fit


@pytest.mark.parametrize(
    ("power_class", "supply", "device"),
    [(0, 15.4, 12.95), (1, 4, 3.84), (2, 7, 6.49), (3, 15.4, 12.95), (4, 30, 25.5), (5, 45, 40), (6, 60, 51),
     (7, 75, 62), (8, 90, 71.3)],
)  # fmt: skip
def test_power_classes(power_class: int, supply: float, device: float) -> None:
    # IEEE 802.3af/at/bt as tabled in a TRENDnet manual.
    assert LIMITS[f"class {power_class} at the switch"].value == supply
    assert LIMITS[f"class {power_class} at the device"].value == device


@pytest.mark.parametrize(
    ("power_class", "kind", "volts", "pairsets", "left"),
    [(3, 1, 44, 1, 12.95), (4, 2, 50, 1, 25.5), (5, 3, 50, 2, 39.94), (6, 3, 50, 2, 51.0), (7, 4, 52, 2, 62.0),
     (8, 4, 52, 2, 71.28)],
)  # fmt: skip
def test_class_table_agrees_with_ohms_law(
    power_class: int, kind: int, volts: float, pairsets: int, left: float
) -> None:
    # P_device = P_switch - n I^2 R: the lowest voltage of the type drives the largest current (IEEE 802.3af/at/bt: 44,
    # 50 and 52 V at the switch), R 20 ohm (type 1) or 12.5 ohm (others) per pairset. Class 6: 2 x 0.6^2 x 12.5 = 9 W.
    supply = LIMITS[f"class {power_class} at the switch"].value
    found = at_device(supply, supply / volts / pairsets, pairsets, PAIRSET_OHM[kind])
    assert found == pytest.approx(left, abs=0.03)
    assert found == pytest.approx(LIMITS[f"class {power_class} at the device"].value, abs=0.1)


@pytest.mark.parametrize(("power_class", "kind", "amperes"), [(3, 1, 0.35), (4, 2, 0.6), (6, 3, 0.6), (8, 4, 0.96)])
def test_no_class_drives_more_than_its_type_allows_in_a_pairset(power_class: int, kind: int, amperes: float) -> None:
    # IEEE 802.3af/at/bt as tabled in the same manual: 350, 600, 600 and 960 mA.
    volts, pairsets = {1: (44, 1), 2: (50, 1), 3: (50, 2), 4: (52, 2)}[kind]
    assert LIMITS[f"class {power_class} at the switch"].value / volts / pairsets <= amperes + 1e-9


@pytest.mark.parametrize(
    ("supply", "power_class", "ports", "planned", "fit"),
    [
        (370, 3, 24, 369.6, Fit.PASS), (370, 4, 12, 360, Fit.PASS), (370, 4, 13, 390, Fit.WARN),
        (740, 3, 48, 739.2, Fit.PASS), (740, 4, 24, 720, Fit.PASS), (740, 4, 25, 750, Fit.WARN),
    ],
)  # fmt: skip
def test_what_usual_supplies_feed(supply: float, power_class: int, ports: int, planned: float, fit: Fit) -> None:
    # Arithmetic from the class table.
    watts = planned_watts([power_class] * ports, LIMITS)
    assert watts == pytest.approx(planned)
    assert judge_budget(Budget(supply, watts, None)).fit is fit


def test_the_switch_s_own_warning_level_counts() -> None:
    # pethMainPseUsageThreshold, RFC 3621: 1 to 99 per cent.
    assert judge_budget(Budget(100, 60, 85, 80)).fit is Fit.WARN
    assert judge_budget(Budget(100, 60, 75, 80)).fit is Fit.PASS


def test_every_number_names_its_source_and_a_site_may_set_it() -> None:
    assert all(limit.source and limit.unit and limit.value > 0 for _, limit in LIMITS.items())
    own = Limits({"fixed cable length": Override(value=85, reason="hot ceiling of the boat shed")})
    assert judge_lengths(86, [(1, 24)], own).fit is Fit.FAIL
    assert own["fixed cable length"].standing is Standing.OVERRIDDEN


def test_a_limit_that_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(SiteError, match="no such limit"):
        Limits({"fixed cable lenght": Override(value=85, reason="a slip of the pen")})


@pytest.mark.parametrize(("category_", "megahertz"), [("5E", 100), ("6", 250), ("6A", 500), ("8", 2000)])
def test_bandwidth_of_categories(category_: str, megahertz: float) -> None:
    # TIA-568, trade press.
    assert LIMITS[f"bandwidth of Category {category_}"].value == megahertz


def test_unscreened_cable_of_6_mm_is_bent_by_24_mm_at_least() -> None:
    # TIA-568.0-D as told by cablinginstall.com: four times its diameter.
    assert LIMITS["bend radius of unscreened cable"].value * 6 == 24


@pytest.mark.parametrize(
    ("limit", "value"),
    [
        ("bend radius of multipair cable", 10), ("bend radius of a fibre cord", 25),  # etcconnect.com; TIA-568.0-D
        ("bend radius of fibre cable at rest", 10),  # hugheselectronics.co.uk
        ("pull on a cable of four pairs", 110), ("pull on a cable of two or four fibres", 222),  # Black Box guide
        ("untwisting where a pair ends", 13),  # Netgear guide
        ("rise in a bundle", 15),  # TSB-184-A as told by a Panduit paper
    ],
)  # fmt: skip
def test_what_cable_bears(limit: str, value: float) -> None:
    assert LIMITS[limit].value == value
    assert LIMITS[limit].standing is Standing.RESTATED


def test_pulls_in_newtons_are_those_printed_in_pounds() -> None:
    # 25 and 50 pound-force; one is 4.448 N.
    for limit, pounds in (("pull on a cable of four pairs", 25), ("pull on a cable of two or four fibres", 50)):
        assert LIMITS[limit].value == pytest.approx(pounds * 4.448, abs=1.5)


def test_loop_resistance_of_channel_and_permanent_link() -> None:
    # flukenetworks.com, belden.com.
    assert LIMITS["copper loop resistance, channel"].value == 25
    assert LIMITS["copper loop resistance, permanent link"].value == 21


def test_a_supply_of_60_watts_is_below_the_reach_of_the_code_s_own_table() -> None:
    # siemon.com on NEC table 725.144 of 2017 and 2020: it applies only above 60 W, so not to class 6.
    above = LIMITS["supply above which the local code has rules of its own"].value
    assert not LIMITS["class 6 at the switch"].value > above
    assert LIMITS["class 8 at the switch"].value > above


@pytest.mark.parametrize(
    ("metres", "gauge", "fit", "standing"),
    [
        # TIA-568-B.1 as told by siemon.com: 22 m of 24 AWG; 17 m of 26 AWG from memory.
        (22, 24, Fit.PASS, Standing.RESTATED), (22.5, 24, Fit.FAIL, Standing.RESTATED),
        (17, 26, Fit.PASS, Standing.MEMORY), (18, 26, Fit.FAIL, Standing.MEMORY),
        (23, 26, Fit.FAIL, Standing.RESTATED),  # more than any gauge may have
        (23, None, Fit.FAIL, Standing.RESTATED), (18, None, Fit.UNKNOWN, Standing.RESTATED),
        (15, None, Fit.PASS, Standing.RESTATED), (23, 28, Fit.FAIL, Standing.RESTATED),
    ],
)  # fmt: skip
def test_the_cord_at_an_outlet_has_an_end_however_short_the_fixed_cable(
    metres: float, gauge: int | None, fit: Fit, standing: Standing
) -> None:
    judged = judge_work_area(metres, gauge, LIMITS)
    assert judged.fit is fit
    assert judged.limit is not None
    assert judged.limit.standing is standing


def test_the_longest_work_area_cords() -> None:
    # 70 m, 24 AWG, 5 m in the room: 26.67 - 5 = 21.67, capped at 22 m (siemon.com, TIA-568-B.1); 80 m: 13.33 m.
    for fixed, work_area in ((70, 21.67), (80, 13.33)):
        budget = cord_budget(fixed, 24, LIMITS)
        assert budget is not None
        assert budget - LIMITS["cords in the room"].value == pytest.approx(work_area, abs=0.01)
        assert work_area <= LIMITS["longest work-area cord, 24 AWG"].value


@pytest.mark.parametrize(
    ("application", "fibre"),
    [("100GBASE-SR4", "OM3"), ("100GBASE-SR4", "OM4"), ("25GBASE-SR", "OM3"), ("25GBASE-SR", "OM4")],
)
def test_what_is_only_remembered_is_never_more_than_a_hint(application: str, fibre: str) -> None:
    # No text was at hand for 70 m and 100 m: usable as an overridable default only.
    limit = LIMITS[f"{application} on {fibre}"]
    assert (limit.value, limit.standing) == ({"OM3": 70, "OM4": 100}[fibre], Standing.MEMORY)
    assert is_hint(judge_reach(application, fibre, 150, LIMITS))
