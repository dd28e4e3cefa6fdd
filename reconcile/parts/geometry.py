"""How long a cord must be, from where its two ends sit in a rack. Metres.

One height unit is 44.45 mm (IEC 60297). A cord runs from its jack to the vertical guide beside the rack, along it and
back in; between neighbouring units it runs straight. The allowances are common practice and set by the site.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from reconcile.patchmap.model import Device, Panel, Switch, fold
from reconcile.site_file import CordsTable

UNIT_M = 0.04445
"""One height unit, IEC 60297."""

STRAIGHT_UNITS = 2
"""Height units up to which a cord needs no vertical guide: common practice."""


class Spot(NamedTuple):
    """Where something sits. `unit` is the lowest height unit that it takes; None where the map has none."""

    name: str
    room: str
    rack: str
    unit: int | None
    rear: bool = False


class Measured(NamedTuple):
    """A length, or what is missing to tell it. `assumed`: nobody can measure it here, it is the site's usual length."""

    metres: float | None
    missing: tuple[str, ...] = ()
    assumed: bool = False


def spot_of(holder: Switch | Panel) -> Spot:
    """Where a switch or panel sits."""
    found = re.match(r"\s*[uU]?(\d{1,3})", holder.unit)
    rear = isinstance(holder, Panel) and holder.face == "rear"
    return Spot(holder.name, holder.room, holder.rack, int(found.group(1)) if found else None, rear)


def cord_metres(one: Spot, other: Spot, table: CordsTable) -> Measured:
    """The least length between two places of one rack."""
    missing = [f"the rack of {spot.name}" for spot in (one, other) if not spot.rack]
    missing += [f"the height unit of {spot.name}" for spot in (one, other) if spot.unit is None]
    if missing or one.unit is None or other.unit is None:
        return Measured(None, tuple(dict.fromkeys(missing)))
    if (fold(one.rack), fold(one.room)) != (fold(other.rack), fold(other.room)):
        return Measured(None, (f"the way from rack {one.rack} to rack {other.rack}",))
    units = abs(one.unit - other.unit)
    across = table.straight_m if units <= STRAIGHT_UNITS and one.rear == other.rear else 2 * table.to_side_m
    around = table.around_m if one.rear != other.rear else 0.0
    return Measured(round(units * UNIT_M + across + around + table.slack_m, 3))


def between(one: object, other: object, table: CordsTable) -> Measured:
    """The length of a cord between any two things of a map: rack to rack, or out to a device."""
    if isinstance(one, (Switch, Panel)) and isinstance(other, (Switch, Panel)):
        return cord_metres(spot_of(one), spot_of(other), table)
    if any(isinstance(end, Device) for end in (one, other)):
        return Measured(table.at_device_m, assumed=True)
    return Measured(None, ("where its ends are",))


def stock_length(metres: float, table: CordsTable) -> float | None:
    """The shortest length that is sold and long enough; None when none is."""
    return min((length for length in table.stock_m if length >= metres - 1e-9), default=None)
