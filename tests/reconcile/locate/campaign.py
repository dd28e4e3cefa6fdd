"""Thousands of simulated networks against the truth: `python -m tests.reconcile.locate.campaign`.

Each setting is a row; printed are link and station recall beside the information bound (stations that every port of
their segment has heard: nearly a ceiling for what can be certain). The exit code is 1 when any certain claim is
wrong, or a choice of places lacks the true one. `--networks 10000` is the whole; without it a few networks of each
setting run.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.reconcile.locate.bridges import Network, Truth, build, truth
from tests.reconcile.locate.dirt import soil
from tests.reconcile.locate.frames import observed
from tests.reconcile.locate.scoring import line, placed, score
from tests.reconcile.locate.tables import Tables, adverts, complete, fresh_on_the_way, independent, traffic


@dataclass(frozen=True, slots=True)
class Setting:
    """One kind of network and of loss. `completeness` None: the traffic model."""

    name: str
    switches: int
    weight: float = 1  # share of the networks of a campaign
    completeness: float | None = 0.7
    margin: int = 1
    poller: bool = True
    in_band: bool = True
    lldp: float = 0.0
    per_switch: int = 20
    boxes: float = 0.2  # unmanaged bridges per switch
    moved: float | None = None  # None: clean
    more: dict[str, Any] = field(default_factory=dict)  # of the network
    talk: dict[str, Any] = field(default_factory=dict)  # of the traffic


@dataclass(slots=True)
class Case:
    """One simulated network, and what can be read from it."""

    network: Network
    truth: Truth
    tables: Tables
    leave_out: set[int]
    unseen: set[int]  # moved, and nothing in the tables tells it


def make(setting: Setting, seed: int) -> Case:
    """The network of a seed."""
    rng = np.random.default_rng(seed)
    stations, boxes = setting.per_switch * setting.switches, round(setting.boxes * setting.switches)
    network = build(rng, setting.switches, stations=stations, unmanaged=boxes, shared_ports=0.05, **setting.more)
    real = truth(network)
    tables = complete(network, real, in_band=setting.in_band)
    poller = 0 if setting.poller else None
    young, leave_out, dirt = None, set(), None
    if setting.moved is not None:
        dirt = soil(network, real, tables, rng, moved=setting.moved)
        young, leave_out = dirt.young, {*dirt.flapping.tolist(), *dirt.gateways.tolist()}
    if setting.completeness is None:
        traffic(network, real, tables, rng, poller=poller, young=young, **setting.talk)
    else:
        independent(tables, rng, setting.completeness, poller=poller, young=young)
    if setting.in_band and poller is not None:
        fresh_on_the_way(tables, real, poller)
    tables.adverts = adverts(network, real, rng, setting.lldp)
    return Case(network, real, tables, leave_out, dirt.unseen(tables) if dirt else set())


def run(setting: Setting, count: int, first_seed: int = 0) -> Counter[str]:
    """The figures of some networks of one setting."""
    counts: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + count):
        case = make(setting, seed)
        located = placed(observed(case.network, case.tables), setting.margin)
        counts += score(case.network, case.truth, case.tables, located, case.leave_out, case.unseen)
    return counts


def wrong(counts: Counter[str]) -> int:
    """Claims that are not true: a certain one, one whose exceptions are not so either, and too short a choice."""
    return sum(
        counts[claim]
        for claim in ("links_wrong", "certain, wrong", "certain unless, wrong", "truth not among the candidates, wrong")
    )


def _settings() -> list[Setting]:
    rows = []
    for switches, weight in ((5, 40), (20, 12), (50, 4), (300, 0.4), (1000, 0.2)):
        for c in (1.0, 0.9, 0.7, 0.5):
            rows.append(Setting("independent", switches, weight, c, poller=False))
            rows.append(Setting("independent, just polled", switches, weight, c))
        rows += [
            Setting("independent, LLDP on half", switches, weight, 0.5, poller=False, lldp=0.5),
            Setting("traffic, just polled", switches, weight, None),
            Setting("traffic, just polled, margin 3", switches, weight, None, margin=3),
            Setting("traffic, not polled", switches, weight, None, poller=False),
            Setting("traffic, managed out of band", switches, weight, None, in_band=False),
            Setting("little traffic, just polled", switches, weight, None, talk={"flows": 0.7, "broadcasters": 0.1}),
            Setting(
                "managed out of band, a fifth of them without stations",
                switches,
                weight,
                None,
                in_band=False,
                more={"empty": 0.2},
            ),
            Setting("few stations, many boxes", switches, weight, 0.7, per_switch=4, boxes=0.5),
            Setting("independent, margin 3", switches, weight, 0.5, margin=3),
        ]
    for c in (0.9, 0.5, None):
        for moved in (0.0, 0.01):
            rows.append(Setting(f"dirty, {moved:.0%} moved, margin 3", 50, 5, c, margin=3, moved=moved))
    return rows


SETTINGS = _settings()


def main() -> int:
    """Runs the campaign."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--networks", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    total: Counter[str] = Counter()
    for setting in SETTINGS:
        count = max(1, round(asked.networks * setting.weight / sum(s.weight for s in SETTINGS)))
        counts = run(setting, count, asked.seed)
        loss = "traffic" if setting.completeness is None else f"{setting.completeness:.0%}"
        print(f"{setting.switches:4} switches, {setting.name}, {loss} ({count}): {line(counts)}", flush=True)
        total += counts
    print(f"all: {line(total)}; {total['links']} links, {total['stations']} stations")
    return 1 if wrong(total) else 0


if __name__ == "__main__":
    sys.exit(main())
