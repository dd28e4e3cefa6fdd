"""What stories cost, in bits: -log2 of how often a thing happens. Every price stands here with its reason.

The prior shares are judgement from common practice, not from a published count; what can be measured in the data
(how many devices are silent, how many are off, how much happened at all) is measured there. Only differences of sums
matter, and a difference below `EQUAL` decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING

import numpy as np

from reconcile.causes.plan import Deed, Heard, Link, Plan

if TYPE_CHECKING:
    from collections.abc import Sequence

EQUAL = 6.0
"""Stories that differ by less are about equally likely: 6 bits are odds of 64 to 1."""

UNHEARD_OF = 40.0
"""The same effect by a way that is not in the table of deeds; bounds every confidence."""

KIND = {
    Deed.MOVED: 2.0,  # one change in four: the everyday act of patching
    Deed.REPLACED: 3.0,  # new machines, docks and network cards
    Deed.COME: 3.0,  # somebody plugs in what nobody writes down
    Deed.CROSSED: 3.0,  # the usual slip when two cords are pulled at once
    Deed.SHIFTED: 4.0,  # a row put back one jack off
    Deed.ROTATED: 5.0,  # the same slip with three and more
    Deed.RENUMBERED: 5.0,  # new box or new firmware counts its ports otherwise
    Deed.REPLUGGED: 10.0,  # a rack was cleared without a list
}
"""Bits that name the kind of deed. GONE has none: it is priced by how many documented ports are dark here."""

FURTHER = 2.0
"""Each member of a ring beyond the third: whoever slips with three cords slips with four one time in four."""

DISPLACED = 3.0
"""Whoever loses his port to another and is heard nowhere was left unplugged or is quiet elsewhere: one in eight."""

SHARED = 4.0
"""Two parties on one port need an unmanaged switch between them: one port in sixteen."""

MUTE_NEWCOMER = 2.0
"""What nobody documented is often a box without an address of its own (converter, small switch): one in four, unless
the devices of the site keep silent more often than that."""

LENGTH = 3.6  # how long a shifted block is: up to one panel row of 24, short ones more often


def step_bits(step: int) -> float:
    """By how much a block is shifted: half of all by one, a quarter by two, and so on; and which way."""
    return 1.0 + min(abs(step), 8)


def map_bits(row: int, maps: int) -> float:
    """Which port-order map: every other time the same order on another box (the first map), else one of all."""
    return 1.0 if row == 0 else 1.0 + log2(maps)


NEAR = 4  # a slip of the hand ends within this many positions
_NEAR_SHARE, _SAME_SHARE, _FAR_SHARE = 0.4, 0.4, 0.2  # next to it, same switch or panel or room, anywhere

_LEAST_SHARE = 1e-3  # anything may be silent or off for once, however small the site


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices that depend on the site. `place`: which of its places one event struck."""

    silent: float  # a device that is on but was not heard
    dark: float  # a device that is in place, but without a link
    place: float
    anywhere: float  # naming one port of all

    def kind(self, deed: Deed) -> float:
        """The kind of deed and where it struck."""
        return KIND[deed] + self.place

    def exempt(self, members: int) -> float:
        """A member of a block that did not go along: yes or no, and which."""
        return 1.0 + log2(max(2, members))


def prices_of(plan: Plan, heard: Heard) -> Prices:
    """Measures the site. A pseudo-count of one half keeps a share off zero (the usual estimate of a rare share)."""
    homed = plan.home >= 0
    home = plan.home[homed]
    quiet = (heard.at[homed] < 0) & ~plan.mute[homed]
    parties = np.bincount(heard.at[heard.at >= 0], minlength=plan.ports) + heard.strangers
    link, read = heard.link[home], heard.read[home]
    at_home = heard.at[homed] == home
    silent = int((quiet & (link == Link.UP) & read & (parties[home] == 0)).sum())
    dark = int((quiet & (link == Link.DOWN)).sum())
    lit = silent + int(at_home.sum())
    displaced = int(((heard.at[homed] >= 0) & ~at_home).sum())
    unknown = int((heard.strangers > 0).sum())
    events = 1 + (displaced + unknown) / 2
    return Prices(
        silent=_bits(silent, lit),
        dark=_bits(dark, lit + dark),
        place=log2(max(4.0, plan.devices / events)),
        anywhere=log2(max(2, plan.ports)),
    )


def _bits(count: int, total: int) -> float:
    return -log2(max(_LEAST_SHARE, (count + 0.5) / (total + 1)))


def distance(steps: Sequence[int], mates: int, prices: Prices) -> float:
    """Naming the other place, given how far it is along switch and panel (`steps`, empty for neither) and how many
    ports share switch, panel or room with it (0 for none)."""
    chance = _FAR_SHARE * 2.0**-prices.anywhere
    if mates:
        chance += _SAME_SHARE / mates
    if any(abs(step) <= NEAR for step in steps):
        chance += _NEAR_SHARE / (2 * NEAR)
    return -log2(chance)
