"""What a collector reads from the bridges of a network: forwarding tables as they are after some traffic.

Two models of ageing (IEEE 802.1D clause 7.9: 300 s by default; from memory). *Independent*: every address is heard
everywhere once, then each entry survives with one probability. *Traffic*: frames are sent, relayed, flooded and
learned, and an entry is there when its last frame is younger than the ageing time.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tests.reconcile.locate.bridges import UNKNOWN, Network, Truth

AGEING = 300.0  # seconds, the default of IEEE 802.1D


@dataclass(slots=True)
class Tables:
    """What can be read. `station[a, x]`, `switch[a, b]`: port on which `a` has the address of station x, switch b.

    `again` holds second rows: (switch, station, port) for an address that one switch has twice, in another VLAN.
    `adverts` are LLDP sightings, directed: the first port hears the second.
    """

    station: npt.NDArray[np.int16]
    switch: npt.NDArray[np.int16]
    macs: npt.NDArray[np.int64]
    switch_macs: npt.NDArray[np.int64]
    vlan_of: npt.NDArray[np.int32]
    again: list[tuple[int, int, int]] = field(default_factory=list)
    adverts: list[tuple[tuple[int, int], tuple[int, int]]] = field(default_factory=list)


def complete(network: Network, truth: Truth, *, in_band: bool = True) -> Tables:
    """Everything heard everywhere."""
    macs = np.arange(network.stations, dtype=np.int64) + 0x00_A0_00_00_00_00
    own = np.arange(network.switches, dtype=np.int64) + 0x00_B0_00_00_00_00
    switch = truth.switch.copy() if in_band else np.full_like(truth.switch, UNKNOWN)
    vlans = network.vlan_of if len(network.vlan_of) else np.ones(network.stations, np.int32)
    return Tables(truth.station.copy(), switch, macs, own, vlans)


def independent(
    tables: Tables,
    rng: np.random.Generator,
    completeness: float,
    *,
    poller: int | None = None,
    young: npt.NDArray[np.bool_] | None = None,
) -> Tables:
    """Each entry kept with one probability. `poller`: a station that has just asked every switch, so all know it.

    `young` entries are kept: whatever else, they were made a moment ago.
    """
    lost = rng.random(tables.station.shape) >= completeness
    if young is not None:
        lost &= ~young
    if poller is not None:
        lost[:, poller] = False
    tables.station[lost] = UNKNOWN
    tables.switch[rng.random(tables.switch.shape) >= completeness] = UNKNOWN
    return tables


def fresh_on_the_way(tables: Tables, truth: Truth, poller: int) -> Tables:
    """Every switch answered the poller just now: all switches on the way know that switch's own address."""
    towards = truth.station[:, poller]
    for b in range(len(tables.switch)):
        on_way = truth.switch[:, b] != towards  # the two ports differ exactly for the bridges on the way
        on_way[b] = False
        tables.switch[on_way, b] = truth.switch[on_way, b]
    return tables


def adverts(
    network: Network, truth: Truth, rng: np.random.Generator, share: float
) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """LLDP between managed switches: `share` of them speak, and a direct cord shows where both do."""
    speaks = rng.random(network.switches) < share
    heard = []
    for a, p, b, q in network.edges:
        if p >= 0 and q >= 0 and speaks[a] and speaks[b]:
            heard += [((a, p), (b, q)), ((b, q), (a, p))]
    return heard


def traffic(
    network: Network,
    truth: Truth,
    tables: Tables,
    rng: np.random.Generator,
    *,
    flows: float = 3.0,
    broadcasters: float = 0.3,
    silent: float = 0.02,
    poller: int | None = None,
    young: npt.NDArray[np.bool_] | None = None,
) -> Tables:
    """Runs twice the ageing time of traffic and keeps what is younger than the ageing time at the end.

    `flows`: conversations of each station with another one, on average; `broadcasters`: share of stations that
    send to everyone in the last ageing time; `silent`: share that sends nothing at all.
    """
    heard_at = np.full(tables.station.shape, -np.inf)
    near = _neighbours(network)
    asleep = rng.random(network.stations) < silent
    count = rng.poisson(flows * network.stations)
    sent = np.sort(rng.uniform(-2 * AGEING, 0, count))
    ends = rng.integers(0, network.stations, (count, 2))
    shouts = iter(_shouts(rng, network.stations, broadcasters, asleep))
    shout = next(shouts, None)
    for when, (x, y) in zip(sent.tolist(), ends.tolist(), strict=True):
        while shout is not None and shout[0] <= when:
            heard_at[:, shout[1]] = shout[0]
            shout = next(shouts, None)
        if asleep[x] or asleep[y] or x == y:
            continue
        _send(network, truth, near, heard_at, when, x, y)
        _send(network, truth, near, heard_at, when, y, x)
    while shout is not None:
        heard_at[:, shout[1]] = shout[0]
        shout = next(shouts, None)
    if poller is not None:
        heard_at[:, poller] = 0.0
    if young is not None:
        heard_at[young] = 0.0
    tables.station[heard_at < -AGEING] = UNKNOWN
    tables.switch[:] = UNKNOWN
    return tables


def _shouts(
    rng: np.random.Generator, stations: int, share: float, asleep: npt.NDArray[np.bool_]
) -> list[tuple[float, int]]:
    who = np.flatnonzero((rng.random(stations) < share) & ~asleep)
    return sorted(zip(rng.uniform(-AGEING, 0, len(who)).tolist(), who.tolist(), strict=True))


def _neighbours(network: Network) -> list[list[tuple[int, int, int]]]:
    """Of each bridge: (next bridge, own port, port of the next bridge)."""
    near: list[list[tuple[int, int, int]]] = [[] for _ in range(network.bridges)]
    for a, p, b, q in network.edges:
        near[a].append((b, p, q))
        near[b].append((a, q, p))
    return near


def _send(
    network: Network,
    truth: Truth,
    near: list[list[tuple[int, int, int]]],
    heard_at: npt.NDArray[np.float64],
    when: float,
    source: int,
    target: int,
) -> None:
    """One frame: each bridge it reaches learns its source; one that has no fresh entry for the target floods.

    Unmanaged bridges always flood here: they forget as any bridge does, and flooding is the kinder assumption for
    nobody, since it only decides which tables hear of the source.
    """
    reached = [(int(network.bridge_of[source]), int(network.port_of[source]))]
    came_from = {reached[0][0]: -1}
    while reached:
        bridge, arrived_on = reached.pop()
        out = None
        if bridge < network.switches:
            heard_at[bridge, source] = when
            if when - heard_at[bridge, target] <= AGEING:
                out = int(truth.station[bridge, target])
                if out == arrived_on:
                    continue  # the target is where the frame came from
        for other, port, far in near[bridge]:
            if other != came_from[bridge] and (out is None or port == out):
                came_from[other] = bridge
                reached.append((other, far))
