"""VLANs whose spanning trees differ are proved apart: an address in one says nothing of the ways of another.

Most networks have one tree for all VLANs, and then every sighting helps every proof. Separate trees (per-VLAN or
multiple spanning tree, IEEE 802.1Q clause 13; from memory) show as stations that are on two ports at once.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.stations import Reason

if TYPE_CHECKING:
    from collections.abc import Callable

    from reconcile.frames import Observed
    from reconcile.locate.arrays import Ports
    from reconcile.locate.examined import Examined

_TORN = 0.03  # share of stations with contradictions from which on one tree is doubted
_MOST = 64  # VLANs that are tried one by one


def is_torn(examined: Examined, margin: int) -> bool:
    """Whether so many sightings contradict one another that one tree for all VLANs is unlikely."""
    wrong = placed = 0
    for network in examined.networks:
        reasons = network.proved.homes.reason
        wrong += int(np.isin(reasons, (Reason.EDGES, Reason.DISPUTED, Reason.CONTRADICTED)).sum())
        placed += int((reasons != Reason.UNSEEN).sum())
    vlans = {v for vlans in set(examined.facts.vlans) for v in vlans}
    return wrong >= max(margin, _TORN * placed) and 1 < len(vlans) <= _MOST


def by_tree(observed: Observed, alone: Callable[[Observed], Examined], examined: Examined) -> list[Observed]:
    """The snapshot in parts, one for each set of VLANs whose directions agree. `alone` examines one part."""
    vlans = sorted({v for vlans in set(examined.facts.vlans) for v in vlans})
    groups: list[tuple[list[int], Ports]] = []
    for vlan in vlans:
        ways = _ways(alone(_only(observed, [vlan])))
        for members, known in groups:
            both = (ways >= 0) & (known >= 0)
            if (ways[both] == known[both]).all():
                members.append(vlan)
                np.copyto(known, ways, where=known < 0)
                break
        else:
            groups.append(([vlan], ways))
    if len(groups) == 1:
        return [observed]
    return [_only(observed, members) for members, _ in groups]


def _only(observed: Observed, vlans: list[int]) -> Observed:
    frame = observed.sightings
    return replace(observed, sightings=frame[frame["vlan"].isin(vlans)].reset_index(drop=True))


def _ways(examined: Examined) -> Ports:
    """The port of every switch towards every other one, -1 where open."""
    ways = np.full((examined.facts.switches,) * 2, -1, np.int32)
    for network in examined.networks:
        ways[np.ix_(network.switches, network.switches)] = network.proved.towards
    return ways
