"""Which cords are needed, which lie ready, which to order. Metres.

A cord that a change sets free is used again where it fits: long enough, not much too long, and of the grade. Who gets
which is an assignment problem, solved by scipy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import ceil
from typing import NamedTuple

from reconcile.channels import Channel, Channels, Step, StepKind
from reconcile.limits import copper
from reconcile.limits.copper import Fit, judge_lengths
from reconcile.limits.parts import Parts, parts_of
from reconcile.limits.values import Limits
from reconcile.parts.geometry import between, stock_length
from reconcile.patchmap.index import MapIndex
from reconcile.patchmap.model import Cord, Device, End, Switch, fold
from reconcile.site_file import CordsTable

MOST_SURPLUS = 1.0
"""Metres by which a cord may be too long before it only fills the cable guide: common practice."""


class Wanted(NamedTuple):
    """One cord that is, or will be, plugged in. `least_m` by geometry, `stock_m` what is sold; None where unknown."""

    label: str
    a: str
    b: str
    least_m: float | None
    stock_m: float | None
    category: str
    shield: str
    colour: str
    there_m: float | None = None  # of the cord that is documented there, if it has a length
    missing: tuple[str, ...] = ()
    assumed: bool = False  # its length is the usual one, not measured
    budget: str = ""  # why the channel would be too long with it, else empty

    @property
    def short(self) -> bool:
        """True when the documented cord is shorter than the way, as far as the rack tells it."""
        measured = self.least_m is not None and not self.assumed
        return measured and self.there_m is not None and self.there_m < (self.least_m or 0.0) - 1e-9

    @property
    def to_get(self) -> bool:
        """True when there is no cord that is known to be long enough."""
        return self.there_m is None or self.short


class Line(NamedTuple):
    """One line of an order: so many pieces of one kind, `spares` of them beyond need."""

    length_m: float | None
    category: str
    shield: str
    colour: str
    pieces: int
    spares: int


class Reuse(NamedTuple):
    """A cord that a change sets free, and where it goes."""

    label: str
    length_m: float
    to: Wanted


def wanted_cords(channels: Channels, table: CordsTable, limits: Limits, only: Iterable[str] = ()) -> list[Wanted]:
    """Every cord of every documented channel once, in the order of the map. `only` names switches, panels, rooms,
    devices or cord labels: without any, all."""
    found = []
    for _, group in groupby(_cords(channels, only), key=lambda cord: id(cord[0])):
        cords = list(group)
        channel = cords[0][0]
        parts = parts_of(channel, channels.index)
        for _, before, step, after in cords:
            if before.end and after.end:
                row = step.row if isinstance(step.row, Cord) else None
                made = _wanted(channel, parts, channels.index, (before.end, after.end), row, table)
                found.append(made._replace(budget=_budget(parts, made, table, limits)))
    return found


def cords_at(channels: Channels, only: Iterable[str]) -> list[Cord]:
    """The rows of the cords at these places, or of these labels."""
    names = list(only)
    return [step.row for _, _, step, _ in _cords(channels, names) if isinstance(step.row, Cord)] if names else []


def _cords(channels: Channels, only: Iterable[str]) -> Iterator[tuple[Channel, Step, Step, Step]]:
    """Each cord with its channel and the places at both of its ends; a link between switches is in two channels."""
    names = {fold(name) for name in only}
    told: set[frozenset[str]] = set()
    for channel in (*channels.resolved, *channels.spare):
        for before, step, after in zip(channel.steps, channel.steps[1:], channel.steps[2:], strict=False):
            ends = frozenset((before.label, after.label))
            if step.kind is not StepKind.CORD or ends in told or (names and not names & _names_of(step, before, after)):
                continue
            told.add(ends)
            yield channel, before, step, after


def _names_of(step: Step, *places: Step) -> set[str]:
    """What a person may call a cord by: its label, its two places, what these belong to, and their rooms."""
    words = [step.label, *(w for p in places for w in (p.label, p.room, p.end.name if p.end else ""))]
    return {fold(word) for word in words if word}


def _wanted(
    channel: Channel,
    parts: Parts,
    index: MapIndex | None,
    ends: tuple[End, End],
    row: Cord | None,
    table: CordsTable,
) -> Wanted:
    holders = [index.holder(end.name) if index else None for end in ends]
    measured = between(holders[0], holders[1], table)
    stock = None if measured.metres is None else stock_length(measured.metres, table)
    missing = measured.missing
    if measured.metres is not None and stock is None:
        missing = (f"a stock length of {measured.metres:g} m or more",)
    grade, shield = grade_for(parts)
    return Wanted(
        label=row.label if row else "",
        a=str(ends[0]),
        b=str(ends[1]),
        least_m=measured.metres,
        stock_m=stock,
        category=(row.category if row else "") or grade,
        shield=(row.shield if row else "") or shield,
        colour=(row.colour if row else "") or colour_of(channel.device, holders, table),
        there_m=row.length_m if row else None,
        missing=missing,
        assumed=measured.assumed,
    )


def grade_for(parts: Parts) -> tuple[str, str]:
    """Category and shield that a new cord needs, as the fixed cables have them: a channel is its lowest part."""
    grades = [part.category for part in parts.fixed if part.category]
    fibres = [part.grade for part in parts.fixed if part.grade]
    covered = {part.screened for part in parts.fixed}
    shield = "screened" if covered == {True} else "unscreened" if covered == {False} else ""
    return copper.lowest(grades) or (fibres[0] if fibres else ""), shield


def colour_of(device: Device | None, holders: Sequence[object], table: CordsTable) -> str:
    """The colour of the site's own scheme; '' where it has none for this."""
    if all(isinstance(holder, Switch) for holder in holders):
        return table.colours.get("link", "")
    kind = device.kind if device else ""
    by_kind = {fold(name): colour for name, colour in table.colours.items()}
    return by_kind.get(fold(kind)) or table.colours.get("other", "")


def _budget(parts: Parts, cord: Wanted, table: CordsTable, limits: Limits) -> str:
    """Why the channel would be too long with the cord that is bought, judged by what is documented of the rest."""
    if not parts.fixed or cord.stock_m is None or not cord.to_get or any(p.length_m is None for p in parts.fixed):
        return ""
    others = [
        (part.length_m, part.gauge_awg or table.gauge_awg)
        for part in parts.cords
        if part.length_m is not None and not (cord.label and part.name == f"cord {cord.label}")
    ]
    fixed = sum(part.length_m or 0.0 for part in parts.fixed)
    judged = judge_lengths(fixed, [*others, (cord.stock_m, table.gauge_awg)], limits)
    return judged.because if judged.fit is Fit.FAIL else ""


def order(cords: Iterable[Wanted], table: CordsTable) -> list[Line]:
    """Pieces by length, category, shield and colour, shortest first, with the site's share of spares."""
    counted = Counter((c.stock_m, c.category, c.shield, c.colour) for c in cords)
    return [
        Line(*kind, count + spares, spares)
        for kind, count in sorted(counted.items(), key=lambda item: (item[0][0] or 1e9, item[0][1:]))
        for spares in [max(1, ceil(count * table.spare_percent / 100)) if table.spare_percent else 0]
    ]


def reuse(free: Sequence[Cord], needed: Sequence[Wanted]) -> list[Reuse]:
    """Which free cord goes where: as many as possible are used, and of those ways the one with least surplus."""
    if not free or not needed:
        return []
    import numpy as np  # only a change that sets cords free needs it
    from scipy.optimize import linear_sum_assignment

    impossible = 1e6
    cost = np.full((len(free), len(needed)), impossible)
    for i, cord in enumerate(free):
        for j, want in enumerate(needed):
            surplus = _surplus(cord, want)
            if surplus is not None:
                cost[i, j] = surplus
    rows, columns = linear_sum_assignment(cost)
    return [
        Reuse(free[i].label, free[i].length_m or 0.0, needed[j])
        for i, j in zip(rows.tolist(), columns.tolist(), strict=True)
        if cost[i, j] < impossible
    ]


def _surplus(cord: Cord, want: Wanted) -> float | None:
    """Metres beyond need; None when the cord does not fit."""
    if cord.length_m is None or want.least_m is None:
        return None
    grade, needed = copper.category(cord.category), copper.category(want.category)
    if needed and (grade is None or copper.CATEGORIES.index(grade) < copper.CATEGORIES.index(needed)):
        return None
    surplus = cord.length_m - want.least_m
    return surplus if -1e-9 <= surplus <= MOST_SURPLUS else None
