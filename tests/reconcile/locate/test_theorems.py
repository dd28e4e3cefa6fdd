"""Published results on trees, bridges and their tables, held against the inference and against the simulator."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
import numpy as np
import pytest

from reconcile.locate.exact import shapes
from tests.reconcile.locate.bridges import Network, build, truth
from tests.reconcile.locate.frames import observed, port_ref
from tests.reconcile.locate.hand import Hand, ends
from tests.reconcile.locate.models import hypertrees
from tests.reconcile.locate.scoring import certain_links, placed, true_links
from tests.reconcile.locate.tables import Tables, complete, independent, traffic

SEEDS = range(12)


def network(seed: int, switches: int = 12, boxes: int = 0) -> tuple[Network, np.random.Generator]:
    rng = np.random.default_rng(seed)
    return build(rng, switches, stations=10 * switches, unmanaged=boxes, shared_ports=0.2), rng


def behind(tables: Tables, a: int, p: int) -> frozenset[int]:
    """Stations and switches that a sees on port p; switches are counted below zero."""
    stations = np.flatnonzero(tables.station[a] == p).tolist()
    return frozenset(stations) | {~b for b in np.flatnonzero(tables.switch[a] == p).tolist()}


@pytest.mark.parametrize("seed", SEEDS)
def test_complete_tables_give_the_links_of_the_theorem_of_direct_connection(seed: int) -> None:
    """Breitbart et al., INFOCOM 2000 (from memory): two ports are joined directly if and only if what is behind
    them is disjoint and together everything. A switch is behind no port of its own, so it counts on its own side."""
    net, _ = network(seed)
    tables = complete(net, truth(net))
    everything = frozenset(range(net.stations)) | {~b for b in range(net.switches)}
    sets = {(a, p): behind(tables, a, p) for a in range(net.switches) for p in range(int(net.port_count[a]))}
    direct = {
        (port_ref(*one), port_ref(*other))
        for one, other in combinations(sets, 2)
        if one[0] != other[0] and not sets[one] & sets[other] and sets[one] | sets[other] == everything
    }
    assert certain_links(placed(observed(net, tables))) == {(min(pair), max(pair)) for pair in direct}


@pytest.mark.parametrize("seed", SEEDS)
def test_complete_tables_have_one_tree(seed: int) -> None:
    """Buneman 1971 (from memory): pairwise compatible complete splits are the edges of exactly one tree."""
    net, _ = network(seed, boxes=3)
    real = truth(net)
    located = placed(observed(net, complete(net, real)))
    assert certain_links(located) == true_links(real)
    wires = nx.Graph((end.switch, number) for number, wire in enumerate(located.wires) for end in wire.ends)
    assert nx.is_tree(wires)
    splits = [behind(complete(net, real), a, p) for a in range(net.switches) for p in range(int(net.port_count[a]))]
    everything = frozenset().union(*splits)
    for one, other in combinations(splits, 2):
        corners = (one & other, one - other, other - one, everything - one - other)
        assert not all(corners), "four non-empty corners: the splits fit no tree"


@pytest.mark.parametrize("shared", [2, 3])
def test_hosts_in_both_tables_fix_two_ports_from_three_on(shared: int) -> None:
    """Lowekamp, O'Hallaron and Gross, SIGCOMM 2001: two bridges can be related if they share three suitable entries."""
    here, there = ["x:1", "y:9", "z:2"][:shared], ["x:9", "y:1", "z:9"][:shared]
    assert len(ends(Hand(lab=" ".join(here), shed=" ".join(there)).located())) == (shared == 3)


def test_the_enumerator_of_the_tests_knows_all_labelled_hypertrees() -> None:
    """Labelled hypertrees on 2 .. 5 vertices: 1, 4, 29, 311 (OEIS A030019, from memory)."""
    assert [len(hypertrees(n)) for n in (2, 3, 4, 5)] == [1, 4, 29, 311]


def test_the_trial_of_all_topologies_tries_all_labelled_hypertrees() -> None:
    assert [{frozenset(s.wires) for s in shapes(n)} for n in (2, 3, 4)] == [
        {frozenset(h) for h in hypertrees(n)} for n in (2, 3, 4)
    ]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_simulated_ports_lie_on_the_shortest_paths_of_networkx(seed: int) -> None:
    net, _ = network(seed, boxes=4)
    real = truth(net)
    graph = nx.Graph()
    for a, p, b, q in net.edges:
        graph.add_edge(a, b, ports={a: p, b: q})
    for a in range(net.switches):
        for b, path in nx.single_source_shortest_path(graph, a).items():
            if a != b < net.switches:
                assert real.switch[a, b] == graph.edges[path[0], path[1]]["ports"][a]


@pytest.mark.parametrize("seed", SEEDS)
def test_simulated_traffic_teaches_only_what_is_true(seed: int) -> None:
    net, rng = network(seed, boxes=4)
    real = truth(net)
    heard = traffic(net, real, complete(net, real), rng, flows=0.5, broadcasters=0.1).station
    assert (heard[heard >= 0] == real.station[heard >= 0]).all()
    assert 0 < np.count_nonzero(heard >= 0) < heard.size


@pytest.mark.parametrize("seed", SEEDS)
def test_simulated_ageing_forgets_a_station_last_on_its_own_switch(seed: int) -> None:
    """IEEE 802.1D: all bridges that relay a frame learn its source, so along the way from a station the last frame
    is the same or older: whoever knows it, its own switch does (stations on unmanaged bridges have no own switch)."""
    net, rng = network(seed)
    real = truth(net)
    heard = traffic(net, real, complete(net, real), rng, flows=0.5, broadcasters=0.1).station
    own = heard[net.bridge_of, np.arange(net.stations)] >= 0
    assert not (heard >= 0)[:, ~own].any()


def test_independent_loss_keeps_the_share_that_was_asked_for() -> None:
    net, rng = network(1, switches=40)
    kept = independent(complete(net, truth(net)), rng, 0.7).station >= 0
    assert abs(kept.mean() - 0.7) < 0.02
