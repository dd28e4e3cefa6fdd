"""Machines with guests: a server whose hypervisor relays for them says by LLDP that it is a bridge, as a switch does.

The capability alone tells nothing (IEEE 802.1AB table 8-4 has one word for both). What is heard does: behind a switch
are the cards of devices, behind a hypervisor the machine's own address and addresses that software gave.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from collectors.names import AddressKind, address_kind
from reconcile.makers import is_guest

if TYPE_CHECKING:
    from collections.abc import Collection

    from reconcile.locate.facts import Facts
    from reconcile.locate.links import Links
    from reconcile.locate.networks import Network

MOST_GUESTS = 32
"""Guests of one machine. What has more behind it is told as a switch, whatever its stations look like."""


def has_guests(own: Collection[str], heard: Collection[str]) -> bool:
    """Whether a neighbour with these addresses, behind whose port these were heard, is a machine and no switch.

    It speaks itself, and all others have addresses given by software, half of them or more such as hypervisors give:
    locally administered ones alone are what telephones change as they please.
    """
    others = set(heard) - set(own)
    if len(others) == len(set(heard)) or len(others) > MOST_GUESTS:
        return False
    guests = {mac for mac in others if is_guest(mac)}
    given = all(address_kind(mac) is AddressKind.LOCAL for mac in others - guests)
    return given and 2 * len(guests) >= len(others)


def machines(
    facts: Facts, links: Links, unasked: Collection[tuple[int, int]], network: Network
) -> dict[int, frozenset[str]]:
    """The addresses of each machine with guests, by the flat number of its port.

    No port that a switch is behind, by observation or by the map (`unasked`): the map can take a
    conclusion back, never give one.
    """
    tables, tree = network.proved.tables, network.proved.tree
    number = {a: k for k, a in enumerate(network.switches)}
    found: dict[int, frozenset[str]] = {}
    for (a, p), stranger in links.strangers.items():
        if not stranger.own or a not in number or (a, p) in unasked:
            continue
        here = tables.port[number[a]] == p
        if tree.wire_of[number[a], p] >= 0 or here[: tables.switches].any():
            continue
        heard = [facts.macs[x] for x in np.flatnonzero(here[tables.switches :]).tolist()]
        if has_guests(stranger.own, heard):
            found[tables.flat(number[a], p)] = stranger.own
    return found
