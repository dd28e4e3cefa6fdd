"""What a port's medium tells: speed, duplex and application by dot3MauType, and what a port can do by its name.

MAU types are those of the IANA-MAU-MIB of 2014-08, which has none for 2.5, 5 and 25 Gbit/s. LLDP carries the same
numbers (IEEE 802.3 annex 79, MAC/PHY configuration TLV).
"""

from __future__ import annotations

import re
from typing import NamedTuple


class Medium(NamedTuple):
    """One MAU type: Mbit/s, full duplex or not, and the name of the application."""

    speed_mbps: int
    full: bool
    application: str
    fibre: bool = False


MAU: dict[int, Medium] = {
    10: Medium(10, False, "10BASE-T"),
    11: Medium(10, True, "10BASE-T"),
    15: Medium(100, False, "100BASE-TX"),
    16: Medium(100, True, "100BASE-TX"),
    18: Medium(100, True, "100BASE-FX", True),
    24: Medium(1000, True, "1000BASE-LX", True),
    26: Medium(1000, True, "1000BASE-SX", True),
    29: Medium(1000, False, "1000BASE-T"),
    30: Medium(1000, True, "1000BASE-T"),
    35: Medium(10000, True, "10GBASE-LR", True),
    36: Medium(10000, True, "10GBASE-SR", True),
    46: Medium(100, True, "100BASE-LX10", True),
    49: Medium(1000, True, "1000BASE-LX10", True),
    54: Medium(10000, True, "10GBASE-T"),
    55: Medium(10000, True, "10GBASE-LRM", True),
    72: Medium(40000, True, "40GBASE-SR4", True),
    74: Medium(40000, True, "40GBASE-LR4", True),
    77: Medium(100000, True, "100GBASE-LR4", True),
}

PAIRS = {10: 2, 100: 2, 1000: 4, 2500: 4, 5000: 4, 10000: 4, 25000: 4, 40000: 4}
"""Pairs that each speed over twisted pairs needs (IANA-MAU-MIB: "2 pair category 5", "four-pair category 5")."""

PRIORITY = (
    "40GBASE-T full", "25GBASE-T full", "10GBASE-T full", "5GBASE-T full", "2.5GBASE-T full", "1000BASE-T full",
    "1000BASE-T half", "100BASE-T2 full", "100BASE-TX full", "100BASE-T2 half", "100BASE-T4 half", "100BASE-TX half",
    "10BASE-T full", "10BASE-T half",
)  # fmt: skip
"""What two ends that negotiate choose first (IEEE 802.3 annex 28B.3, as listed by temu.terma.com)."""


def negotiated(one: set[str], other: set[str] | None) -> str | None:
    """The mode that comes of two ends: their best common one; or None when there is none.

    `other` None: it is forced and does not negotiate, so that the first falls back to half duplex at the speed that
    it senses, whatever the other runs (maker's manual of Dell switches).
    """
    common = one if other is None else one & other
    modes = [mode for mode in PRIORITY if mode in common and (other is not None or mode.endswith("half"))]
    return modes[0] if modes else None


_BY_NAME = (
    (r"fa|fastethernet", 100),
    (r"gi|ge-|gige|gigabitethernet", 1000),
    (r"tw|twogigabitethernet", 2500),
    (r"fi|fivegigabitethernet", 5000),
    (r"te|xe-|xgigabitethernet|ten-?gigabitethernet|tengige", 10000),
    (r"twe|twentyfivegig\w*", 25000),
    (r"fo|fortygig\w*", 40000),
    (r"hu|hundredgig\w*", 100000),
)


def speed_by_name(port: str) -> int | None:
    """Mbit/s that a port can do as its maker names it: `Gi1/0/1` is gigabit. Common practice, and no promise: a
    module of another speed may be in it."""
    for pattern, speed in _BY_NAME:
        if re.match(rf"(?:{pattern})[\s-]?\d", port, re.IGNORECASE):
            return speed
    return None
