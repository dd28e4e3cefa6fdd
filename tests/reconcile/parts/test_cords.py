"""Which cords are needed, used again and ordered."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reconcile.channels import resolve
from reconcile.errors import UsageError
from reconcile.limits.values import DEFAULT_LIMITS
from reconcile.parts.cords import MOST_SURPLUS, Wanted, order, reuse, wanted_cords
from reconcile.parts.plan import Asked, Cords, plan_cords
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.site_file import CordsTable, LabelsTable

TABLE = CordsTable(colours={"link": "red", "camera": "green", "other": "grey"})


def rack(cord_m: float | None = 1.0, fixed_m: float | None = 30) -> PatchMap:
    """A switch seven units below a panel, a camera and a pump at two outlets."""
    six_a = {"category": "6A", "shield": "F/UTP"}
    cables = [
        FixedCable(label=f"F{n}", a=End("PP-A", n), b=End("WL-01", n), length_m=fixed_m, **six_a) for n in ("1", "2")
    ]
    cords = [Cord(label=f"P{n}", a=End("sw-a", n), b=End("PP-A", n), length_m=cord_m) for n in ("1", "2")]
    return PatchMap(
        site="Saltmarsh",
        switches=[Switch(name="sw-a", room="comms", rack="R1", unit="33", ports=("1", "2", "3", "4"))],
        panels=[Panel(name="PP-A", jacks=("1", "2", "3"), room="comms", rack="R1", unit="40", **six_a)],
        outlets=[Outlet(name="WL-01", jacks=("1", "2"), room="wet lab", **six_a)],
        fixed_cables=cables,
        cords=cords,
        devices=[Device(name="cam", kind="camera", at=End("WL-01", "1")), Device(name="pump", at=End("WL-01", "2"))],
    )


def wanted(patch_map: PatchMap, *only: str) -> dict[str, Wanted]:
    found = wanted_cords(resolve(patch_map), TABLE, DEFAULT_LIMITS, only)
    return {cord.label or cord.b: cord for cord in found}


def plan(patch_map: PatchMap, asked: Asked) -> Cords:
    return plan_cords(patch_map, resolve(patch_map), None, TABLE, LabelsTable(), DEFAULT_LIMITS, asked)


def test_a_cord_that_is_long_enough_is_not_bought_again() -> None:
    cords = wanted(rack())
    assert cords["P1"].least_m == pytest.approx(0.961, abs=0.001)  # 7 x 44.45 mm + 2 x 0.25 m + 0.15 m
    assert not cords["P1"].to_get
    assert cords["cam"].to_get  # the map has no row for it


def test_a_cord_that_is_too_short_or_has_no_length_is_to_get() -> None:
    assert wanted(rack(0.5))["P1"].short
    assert wanted(rack(None))["P1"].to_get
    assert not wanted(rack(None))["P1"].short


def test_the_order_counts_by_length_category_and_the_site_s_own_colours() -> None:
    lines = order([cord for cord in wanted(rack(None)).values() if cord.to_get], TABLE)
    assert [(line.pieces - line.spares, line.length_m, line.category, line.colour) for line in lines] == [
        (1, 1.0, "6A", "green"), (1, 1.0, "6A", "grey"), (1, 3.0, "6A", "green"), (1, 3.0, "6A", "grey"),
    ]  # fmt: skip
    assert all(line.spares == 1 for line in lines)  # a tenth, at least one
    assert order([wanted(rack(None))["P1"]] * 25, TABLE)[0].spares == 3  # a tenth of 25, rounded up


def test_only_the_named_places_count() -> None:
    assert set(wanted(rack(), "wet lab")) == {"cam", "pump"}
    assert set(wanted(rack(), "SW-A")) == {"P1", "P2"}
    assert set(wanted(rack(), "P2")) == {"P2"}


def test_a_cord_that_breaks_the_budget_of_its_channel_is_told() -> None:
    # 90 m leave 8 m of 26 AWG (siemon.com): with 7 m at the switch, 3 m at the device are too much.
    patch_map = rack(7.0, 90)
    assert "more than 90 m of fixed cable leaves room for" in wanted(patch_map)["cam"].budget
    assert wanted(rack(1.0, 90))["cam"].budget == ""


def want(least: float) -> Wanted:
    return Wanted("", f"sw:{least}", "PP:1", least, least, "6A", "", "")


def cord(metres: float, category: str = "6A") -> Cord:
    return Cord(label=f"C{metres}", a=End("x"), b=End("y"), length_m=metres, category=category)


def test_a_free_cord_is_used_where_it_is_long_enough_and_of_the_grade() -> None:
    assert [(r.label, r.to.least_m) for r in reuse([cord(1.5)], [want(1.2)])] == [("C1.5", 1.2)]
    assert reuse([cord(1.0)], [want(1.2)]) == []
    assert reuse([cord(1.2 + MOST_SURPLUS + 0.1)], [want(1.2)]) == []
    assert reuse([cord(1.5, "5E")], [want(1.2)]) == []


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(5, 30), max_size=5), st.lists(st.integers(5, 30), max_size=5))
def test_no_other_way_uses_more_free_cords_or_wastes_less(free: list[int], needed: list[int]) -> None:
    # Brute force over every way to hand out the cords.
    cords, wants = [cord(n / 10) for n in free], [want(n / 10) for n in needed]
    found = reuse(cords, wants)
    waste = sum(r.length_m - (r.to.least_m or 0) for r in found)
    best = (0, 0.0)
    slots = [*range(len(needed)), *[None] * len(free)]
    for way in set(permutations(slots, len(free))):
        gaps = [free[i] / 10 - needed[j] / 10 for i, j in enumerate(way) if j is not None]
        if all(-1e-9 <= gap <= MOST_SURPLUS + 1e-9 for gap in gaps):
            best = max(best, (len(gaps), -sum(gaps)))
    assert (len(found), -waste) == pytest.approx(best)


def test_a_cord_that_is_set_free_is_not_bought_and_no_longer_wanted() -> None:
    patch_map = rack(None)
    patch_map.cords[0] = patch_map.cords[0].model_copy(update={"length_m": 1.0, "category": "6A"})
    told = plan(patch_map, Asked(only=("sw-a",), free=("P1",)))
    assert [(one.label, one.to.label) for one in told.reused] == [("P1", "P2")]
    assert told.order == []


def test_an_unknown_place_is_refused_by_name() -> None:
    with pytest.raises(UsageError, match="no cord is there"):
        plan(rack(), Asked(only=("attic",)))
