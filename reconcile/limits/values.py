"""Every limit that toneout knows: its value, unit, source, and how good that source is.

The standards themselves (TIA-568, ISO/IEC 11801, IEEE 802.3) are sold, not published: most values are restatements
in handbooks and manuals, named here. A value that is only remembered is never more than a hint. A site overrides any
of them in `toneout.toml`:

    [limits."fixed cable length"]
    value = 85
    reason = "screened cable in the hot ceiling of the boat shed"
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, Field

from reconcile.errors import SiteError


class Standing(StrEnum):
    """How good the source of a value is."""

    PUBLISHED = "published"  # read in the standard's own text
    RESTATED = "restated"  # read in a handbook, manual or trade paper that restates the standard
    DERIVED = "derived"  # arithmetic from published or restated values
    MEMORY = "from memory"  # no text was at hand: a hint, never the only ground for a finding
    OVERRIDDEN = "set by the site"


class Limit(NamedTuple):
    """One number. `unit` is what the value is counted in."""

    value: float
    unit: str
    source: str
    standing: Standing


class Override(BaseModel):
    """A site's own value for a limit, with the reason for it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    value: float = Field(gt=0)
    reason: str = Field(min_length=3)


_P, _R, _D, _M = Standing.PUBLISHED, Standing.RESTATED, Standing.DERIVED, Standing.MEMORY
_TIA_LENGTH = "TIA-568 horizontal cabling, as restated by maxxam.co.uk and telegaertner.com"
_WORK_AREA = "TIA-568 work-area cords, as restated by siemon.com"
_REACH_COPPER = "IEEE 802.3 media tables, as restated by kb.wisc.edu"
_TIA_WARM = "TIA-568 temperature table"
_TSB155 = "TIA TSB-155, as quoted by flukenetworks.com"
_FIBRE = "IEEE 802.3 reach tables, as restated by blog.leviton.com and ethernetalliance.org"
_POE = "IEEE 802.3af/at/bt power classes, as tabled in a TRENDnet manual"

_TABLE: dict[str, Limit] = {
    # lengths of balanced copper, metres
    "fixed cable length": Limit(90, "m", _TIA_LENGTH, _R),
    "fixed cable gauge": Limit(24, "AWG", "TIA-568.2-D: 22 to 24 AWG, as told by cablinginstall.com", _R),
    "channel length": Limit(100, "m", _TIA_LENGTH, _R),
    "cords at 90 m of fixed cable": Limit(10, "m", _WORK_AREA, _R),
    "cords in the room": Limit(5, "m", _WORK_AREA + " (advice; the total of 10 m is the rule)", _R),
    "longest work-area cord, 24 AWG": Limit(22, "m", "TIA-568-B.1 longer work-area cords, siemon.com", _R),
    "longest work-area cord, 26 AWG": Limit(17, "m", "TIA-568-B.1 table", _M),
    "cord derating, 22 AWG": Limit(0.2, "ratio", "as 24 AWG", _M),
    "cord derating, 24 AWG": Limit(0.2, "ratio", "TIA: 20 % more loss than solid cable, siemon.com", _R),
    "cord derating, 26 AWG": Limit(0.5, "ratio", "TIA: 50 % more loss than solid cable, siemon.com", _R),
    "cord derating, 28 AWG": Limit(
        0.95, "ratio", "from TIA-568.2-D: 82.5 m fixed with 10 m of 28 AWG, cablinginstall.com", _D
    ),
    "cord budget constant": Limit(
        102, "m", "TIA-568: C = (102 - H) / (1 + D), TIA extract at angsila.cs.buu.ac.th", _R
    ),
    "Category 8 channel length": Limit(30, "m", "TIA-568 Category 8, siemon.com and belden.com", _R),
    "Category 8 fixed cable length": Limit(24, "m", "TIA-568 Category 8", _M),
    "10GBASE-T on Category 6, should work": Limit(37, "m", _TSB155, _R),
    "10GBASE-T on Category 6, at most": Limit(55, "m", _TSB155, _R),
    "fixed cable at 20 C, unscreened": Limit(90, "m", _TIA_LENGTH, _R),
    "fixed cable at 25 C, unscreened": Limit(89, "m", _TIA_WARM, _M),
    "fixed cable at 30 C, unscreened": Limit(87, "m", _TIA_WARM, _M),
    "fixed cable at 35 C, unscreened": Limit(85.5, "m", _TIA_WARM, _M),
    "fixed cable at 40 C, unscreened": Limit(84, "m", "TIA-568 temperature table, flukenetworks.com", _R),
    "fixed cable at 45 C, unscreened": Limit(81.7, "m", _TIA_WARM, _M),
    "fixed cable at 50 C, unscreened": Limit(79.5, "m", "TIA-568-B.2-1 annex G, connectionsplus.ca", _R),
    "fixed cable at 55 C, unscreened": Limit(77.2, "m", _TIA_WARM, _M),
    "fixed cable at 60 C, unscreened": Limit(75, "m", _TIA_WARM, _M),
    "length lost per degree above 20 C, unscreened": Limit(0.4, "%", "ISO/IEC 11801-1 default rule, to 40 C", _M),
    # bandwidth, MHz
    "bandwidth of Category 5E": Limit(100, "MHz", "TIA-568, trade press", _R),
    "bandwidth of Category 6": Limit(250, "MHz", "TIA-568, trade press", _R),
    "bandwidth of Category 6A": Limit(500, "MHz", "TIA-568, trade press", _R),
    "bandwidth of Category 8": Limit(2000, "MHz", "TIA-568, trade press", _R),
    # reach of twisted-pair Ethernet, metres
    "10BASE-T reach": Limit(100, "m", _REACH_COPPER, _R),
    "100BASE-TX reach": Limit(100, "m", _REACH_COPPER, _R),
    "1000BASE-T reach": Limit(100, "m", _REACH_COPPER, _R),
    "2.5GBASE-T reach": Limit(100, "m", "IEEE 802.3bz defined use cases, siemon.com", _R),
    "5GBASE-T reach": Limit(100, "m", "IEEE 802.3bz defined use cases, siemon.com", _R),
    "10GBASE-T reach": Limit(100, "m", _REACH_COPPER, _R),
    "25GBASE-T reach": Limit(30, "m", "IEEE 802.3bq, siemon.com", _R),
    "40GBASE-T reach": Limit(30, "m", "IEEE 802.3bq, siemon.com", _R),
    # reach on fibre, metres
    "1000BASE-SX on OM1": Limit(275, "m", _FIBRE, _R),
    "1000BASE-SX on OM2": Limit(550, "m", _FIBRE, _R),
    "1000BASE-SX on OM3": Limit(550, "m", "IEEE 802.3", _M),
    "1000BASE-SX on OM4": Limit(550, "m", "IEEE 802.3", _M),
    "1000BASE-SX on OM5": Limit(550, "m", "IEEE 802.3", _M),
    "10GBASE-SR on OM1": Limit(33, "m", _FIBRE, _R),
    "10GBASE-SR on OM2": Limit(82, "m", _FIBRE, _R),
    "10GBASE-SR on OM3": Limit(300, "m", _FIBRE, _R),
    "10GBASE-SR on OM4": Limit(400, "m", _FIBRE, _R),
    "10GBASE-SR on OM5": Limit(400, "m", "as OM4: no advantage for existing applications, ICT Today 2018", _R),
    "25GBASE-SR on OM3": Limit(70, "m", "IEEE 802.3by", _M),
    "25GBASE-SR on OM4": Limit(100, "m", "IEEE 802.3by", _M),
    "25GBASE-SR on OM5": Limit(100, "m", "IEEE 802.3by", _M),
    "40GBASE-SR4 on OM3": Limit(100, "m", _FIBRE, _R),
    "40GBASE-SR4 on OM4": Limit(150, "m", _FIBRE, _R),
    "40GBASE-SR4 on OM5": Limit(150, "m", "as OM4, ICT Today 2018", _R),
    "100GBASE-SR4 on OM3": Limit(70, "m", "IEEE 802.3bm", _M),
    "100GBASE-SR4 on OM4": Limit(100, "m", "IEEE 802.3bm", _M),
    "100GBASE-SR4 on OM5": Limit(100, "m", "IEEE 802.3bm", _M),
    "10GBASE-LRM on OM1": Limit(220, "m", "IEEE 802.3aq, trade press", _R),
    "10GBASE-LRM on OM2": Limit(220, "m", "IEEE 802.3aq, trade press", _R),
    "10GBASE-LRM on OM3": Limit(220, "m", "IEEE 802.3aq, trade press", _R),
    "1000BASE-LX on OM1": Limit(550, "m", "IEEE 802.3, with a mode-conditioning cord", _R),
    "1000BASE-LX on OM2": Limit(550, "m", "IEEE 802.3, with a mode-conditioning cord", _R),
    "1000BASE-LX on OS2": Limit(5000, "m", "IEEE 802.3", _M),
    "1000BASE-LX10 on OS2": Limit(10000, "m", "IANA-MAU-MIB dot3MauType 49", _P),
    "10GBASE-LR on OS2": Limit(10000, "m", "IEEE 802.3, trade press", _R),
    "25GBASE-LR on OS2": Limit(10000, "m", "IEEE 802.3cc", _M),
    "40GBASE-LR4 on OS2": Limit(10000, "m", "IEEE 802.3, trade press", _R),
    "100GBASE-LR4 on OS2": Limit(10000, "m", "IEEE 802.3, trade press", _R),
    "10GBASE-ER on OS2": Limit(40000, "m", "IEEE 802.3, trade press", _R),
    # power over Ethernet, watts
    "class 0 at the switch": Limit(15.4, "W", _POE, _R),
    "class 1 at the switch": Limit(4.0, "W", _POE, _R),
    "class 2 at the switch": Limit(7.0, "W", _POE, _R),
    "class 3 at the switch": Limit(15.4, "W", _POE, _R),
    "class 4 at the switch": Limit(30, "W", _POE, _R),
    "class 5 at the switch": Limit(45, "W", _POE, _R),
    "class 6 at the switch": Limit(60, "W", _POE, _R),
    "class 7 at the switch": Limit(75, "W", _POE, _R),
    "class 8 at the switch": Limit(90, "W", _POE, _R),
    "class 0 at the device": Limit(12.95, "W", _POE, _R),
    "class 1 at the device": Limit(3.84, "W", _POE, _R),
    "class 2 at the device": Limit(6.49, "W", _POE, _R),
    "class 3 at the device": Limit(12.95, "W", _POE, _R),
    "class 4 at the device": Limit(25.5, "W", _POE, _R),
    "class 5 at the device": Limit(40, "W", _POE, _R),
    "class 6 at the device": Limit(51, "W", _POE, _R),
    "class 7 at the device": Limit(62, "W", _POE, _R),
    "class 8 at the device": Limit(71.3, "W", _POE, _R),
    "supply above which the local code has rules of its own": Limit(
        60, "W", "NEC table 725.144 (2017, 2020) applies only above it, siemon.com", _R
    ),
    "rise in a bundle": Limit(15, "K", "TSB-184-A design limit, as told by a Panduit paper", _R),
    "bits per tolerated bit error": Limit(1e10, "bits", "IEEE 802.3: bit error ratio of 1 in 10^10, 1000BASE-T", _M),
    # what a switch remembers, seconds
    "LLDP message interval": Limit(30, "s", "LLDP-MIB, IEEE 802.1AB-2005: lldpMessageTxInterval, default", _P),
    "LLDP hold multiplier": Limit(
        4, "messages", "LLDP-MIB, IEEE 802.1AB-2005: lldpMessageTxHoldMultiplier, default", _P
    ),
    "ageing of forwarding tables": Limit(300, "s", "BRIDGE-MIB, RFC 4188: dot1dTpAgingTime, recommended default", _P),
    # mechanics
    "bend radius of unscreened cable": Limit(4, "times its diameter", "TIA-568.0-D, cablinginstall.com", _R),
    "bend radius of multipair cable": Limit(10, "times its diameter", "etcconnect.com on TIA-568", _R),
    "bend radius of a fibre cord": Limit(25, "mm", "TIA-568.0-D, cablinginstall.com", _R),
    "bend radius of fibre cable at rest": Limit(10, "times its diameter", "hugheselectronics.co.uk", _R),
    "pull on a cable of four pairs": Limit(110, "N", "TIA-568: 25 lbf, etcconnect.com and a Black Box guide", _R),
    "pull on a cable of two or four fibres": Limit(222, "N", "50 lbf, a Black Box guide", _R),
    "untwisting where a pair ends": Limit(13, "mm", "Category 5 and better, a Netgear guide", _R),
    "copper loop resistance, channel": Limit(25, "ohm", "flukenetworks.com, belden.com", _R),
    "copper loop resistance, permanent link": Limit(21, "ohm", "flukenetworks.com, belden.com", _R),
}

LIMIT_NAMES = tuple(_TABLE)
"""What a site may override."""


class Limits:
    """The table with a site's overrides in place."""

    def __init__(self, overrides: Mapping[str, Override] | None = None) -> None:
        self._table = dict(_TABLE)
        for name, override in (overrides or {}).items():
            if name not in _TABLE:
                raise SiteError(f'toneout.toml [limits."{name}"]', "no such limit", "toneout limits --list")
            self._table[name] = Limit(override.value, _TABLE[name].unit, override.reason, Standing.OVERRIDDEN)

    def __getitem__(self, name: str) -> Limit:
        return self._table[name]

    def get(self, name: str) -> Limit | None:
        """The limit, or None where there is none of that name."""
        return self._table.get(name)

    def items(self) -> list[tuple[str, Limit]]:
        """All of them, in the order of the table."""
        return list(self._table.items())


DEFAULT_LIMITS = Limits()
"""As published, without a site's own values."""
