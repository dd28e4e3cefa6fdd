"""How long what a switch remembers outlives a cord that was moved: seconds to wait before it is asked again."""

from __future__ import annotations

from reconcile.limits.values import Limits

LARGEST_TTL = 65_535
"""Seconds: the time to live of LLDP has two octets (IEEE 802.1AB)."""


def neighbour_seconds(interval: float, hold: float, *, by_2005: bool = False) -> int:
    """Seconds for which a switch keeps a neighbour that it hears no more: interval x hold, and one more since 2009.

    LLDP-MIB of IEEE 802.1AB-2005 (txTTL) and LLDP-V2-MIB of IEEE 802.1AB-2016; both end at 65,535.
    """
    return int(min(LARGEST_TTL, interval * hold + (not by_2005)))


def before_asking_again(limits: Limits) -> int:
    """Seconds after the last movement in which a switch may still tell of the old place.

    A port that goes down forgets at once; but a converter or an unmanaged switch in between holds the link up.
    """
    neighbours = neighbour_seconds(limits["LLDP message interval"].value, limits["LLDP hold multiplier"].value)
    return max(neighbours, int(limits["ageing of forwarding tables"].value))
