"""Cord lengths from the rack. One height unit is 44.45 mm (IEC 60297); allowances are the site's own."""

from __future__ import annotations

import pytest

from reconcile.parts.geometry import Spot, between, cord_metres, spot_of, stock_length
from reconcile.patchmap.model import Device, Outlet, Panel, Switch
from reconcile.site_file import CordsTable

TABLE = CordsTable(to_side_m=0.25, around_m=1.6, slack_m=0.15, straight_m=0.25)


def spot(unit: int | None, rack: str = "R1", room: str = "comms room", rear: bool = False) -> Spot:
    return Spot(f"U{unit}", room, rack, unit, rear)


@pytest.mark.parametrize(
    ("one", "other", "metres"),
    [
        (40, 33, 7 * 0.04445 + 0.5 + 0.15),  # to the guide, along it, back in
        (33, 40, 7 * 0.04445 + 0.5 + 0.15),
        (6, 4, 2 * 0.04445 + 0.25 + 0.15),  # neighbours: straight across
        (20, 20, 0.25 + 0.15),
    ],
)
def test_a_cord_is_as_long_as_its_way_in_the_rack(one: int, other: int, metres: float) -> None:
    assert cord_metres(spot(one), spot(other), TABLE).metres == pytest.approx(metres, abs=0.001)


def test_ten_height_units_are_444_5_millimetres() -> None:
    # IEC 60297: 44.45 mm each, so ten units further are 444.5 mm more.
    near, far = (cord_metres(spot(40), spot(unit), TABLE).metres for unit in (30, 20))
    assert near is not None
    assert far is not None
    assert far - near == pytest.approx(0.4445, abs=0.001)


def test_from_front_to_rear_a_cord_goes_around_the_rack() -> None:
    front, rear = (cord_metres(spot(30), spot(34, rear=r), TABLE).metres for r in (False, True))
    assert front is not None
    assert rear is not None
    assert rear - front == pytest.approx(1.6)


@pytest.mark.parametrize(
    ("one", "other", "missing"),
    [
        (spot(None), spot(3), "the height unit of UNone"),
        (spot(2, rack=""), spot(3), "the rack of U2"),
        (spot(2), spot(3, rack="R2"), "the way from rack R1 to rack R2"),
        (spot(2), spot(3, room="boat shed"), "the way from rack R1 to rack R1"),
    ],
)
def test_what_the_map_does_not_have_is_named_and_never_guessed(one: Spot, other: Spot, missing: str) -> None:
    assert cord_metres(one, other, TABLE) == (None, (missing,), False)


def test_a_cord_to_a_device_has_the_usual_length_of_the_site() -> None:
    assert between(Outlet(name="WL-01"), Device(name="pump"), TABLE) == (3.0, (), True)
    assert between(Outlet(name="WL-01"), None, TABLE).metres is None


def test_units_are_read_as_people_write_them() -> None:
    assert [spot_of(Switch(name="s", unit=text)).unit for text in ("34", "U34", "34-35", " u7", "", "top")] == [
        34, 34, 34, 7, None, None,
    ]  # fmt: skip
    assert spot_of(Panel(name="p", jacks=("1",), face="rear")).rear


@pytest.mark.parametrize(("metres", "stock"), [(0.4, 0.5), (0.5, 0.5), (0.501, 1.0), (20, 20), (20.1, None)])
def test_lengths_are_rounded_up_to_what_is_sold(metres: float, stock: float | None) -> None:
    assert stock_length(metres, TABLE) == stock
