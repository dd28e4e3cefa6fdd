"""Up to four switches, against every topology that fits: certain is what all entail, and nearly all of that."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from collectors.names import int_to_mac
from reconcile.locate.placement import Grade
from tests.reconcile.locate.bridges import build, truth
from tests.reconcile.locate.frames import observed, port_ref
from tests.reconcile.locate.models import Entailed, entailed
from tests.reconcile.locate.scoring import certain_links, placed
from tests.reconcile.locate.tables import Tables, adverts, complete, independent

SETTINGS = [
    (switches, completeness, lldp, in_band)
    for switches in (2, 3, 4)
    for completeness in (1.0, 0.8, 0.5)
    for lldp, in_band in ((0.0, True), (0.5, True), (1.0, True), (0.0, False), (0.5, False))
]


def compare(switches: int, completeness: float, lldp: float, in_band: bool, seed: int, margin: int) -> Counter[str]:
    """One network: claims, entailed claims, and claims that no proof covers."""
    rng = np.random.default_rng(seed)
    network = build(rng, switches, stations=3 * switches, unmanaged=int(rng.integers(0, 2)), shared_ports=0.3)
    real = truth(network)
    tables = independent(complete(network, real, in_band=in_band), rng, completeness)
    tables.adverts = adverts(network, real, rng, lldp)
    proved = entailed(network.port_count.tolist(), tables.station, tables.switch, tables.adverts)
    located = placed(observed(network, tables), margin)
    named = ((port_ref(*a), port_ref(*b)) for a, b in proved.links)
    links = {(min(pair), max(pair)) for pair in named}
    claims = certain_links(located)
    counts = Counter(links=len(links), links_found=len(links & claims), links_unproved=len(claims - links))
    for x in range(network.stations):
        placement = located.placements.get(int_to_mac(int(tables.macs[x])))
        entailed_at = {port_ref(*port) for port in proved.stations[x]} if heard(tables, x) else set()
        counts["stations"] += bool(entailed_at)
        if placement is not None and placement.grade is Grade.CERTAIN:
            counts["stations_found" if placement.at in entailed_at else "stations_unproved"] += 1
        if placement is not None and placement.at is None:
            counts["places_missed"] += len(missed(proved, x, {str(p) for p in placement.candidates}))
    return counts


def heard(tables: Tables, x: int) -> bool:
    """A station that nobody saw is no station."""
    return bool((tables.station[:, x] >= 0).any())


def missed(proved: Entailed, x: int, told: set[str]) -> set[str]:
    """Ports on whose segment the station may be, of which neither they nor another port of theirs is told."""
    possible = {str(port_ref(*port)) for port in proved.homes[x]}
    return set() if possible & told else possible


def total(seeds: range, margin: int) -> Counter[str]:
    counts: Counter[str] = Counter()
    for setting in SETTINGS:
        for seed in seeds:
            counts += compare(*setting, seed, margin)
    return counts


def judge(counts: Counter[str]) -> None:
    assert counts["links_unproved"] == 0
    assert counts["stations_unproved"] == 0
    assert counts["places_missed"] == 0


def test_certain_is_what_every_topology_that_fits_entails() -> None:
    counts = total(range(4), margin=1)
    judge(counts)
    assert counts["links_found"] >= 0.995 * counts["links"] > 100
    assert counts["stations_found"] >= 0.99 * counts["stations"] > 500


def test_with_the_margin_of_the_field_certain_is_entailed_as_well() -> None:
    judge(total(range(1000, 1002), margin=3))


@pytest.mark.long
def test_certain_is_what_every_topology_entails_on_thousands_of_networks() -> None:
    counts = total(range(10_000, 10_230), margin=1)  # 45 settings: more than 10,000 networks
    judge(counts)
    assert counts["links_found"] >= 0.995 * counts["links"]
    assert counts["stations_found"] >= 0.99 * counts["stations"]
