"""How long rules and causes take on a large site: `python -m tests.bench.bench_causes`, or pytest -m bench -s -n 0.

The site is one of the fault injector's worlds, written as a patch map and as what its switches say. Stations are
placed beforehand: placement has a bench of its own.
"""

from __future__ import annotations

import copy
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeVar

import pandas as pd
import pytest

from collectors.snapshot import CollectedSwitch, Port, Sighting, Snapshot, Table, TableReport, TableState
from reconcile.causes import explain
from reconcile.channels import Channels, resolve
from reconcile.evidence import with_evidence
from reconcile.findings import Finding
from reconcile.frames import Observed, observe
from reconcile.locate.placement import Grade, Located, Placement, PortRef
from reconcile.matching import match_ports
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.picture import draw
from reconcile.rules import RULES
from reconcile.verdicts import judge_all
from tests.reconcile.causes import injector
from tests.reconcile.causes.faults import draw_kinds, strike
from tests.reconcile.causes.injector import PANEL, World

pytestmark = pytest.mark.bench

T = TypeVar("T")

SECONDS_300 = 2.0
"""Rules and causes of 300 switches with 48 ports, 10,000 channels and 100 faults."""
TIMES_MERGE, PLUS_SECONDS = 3.0, 2.0
"""Rules and causes of 1,000 switches, 20,000 channels and 40 faults, by the bare merge of map and placements."""
ROUNDS = 3
NOW = datetime(2026, 3, 14, 21, 40, tzinfo=UTC)


@dataclass
class Large:
    """Everything that rules and causes read."""

    record: PatchMap
    channels: Channels
    snapshot: Snapshot
    observed: Observed
    located: Located

    def findings(self) -> list[Finding]:
        """What the rules find, as the pipeline asks them."""
        matching = match_ports(self.channels, self.snapshot)
        picture = draw(self.record, self.channels, self.snapshot, matching, self.located, self.observed.coverage)
        judgements = judge_all(picture)
        found = [finding for rule in RULES for finding in rule(picture, judgements)]
        return with_evidence(found, picture, self.observed.sightings)


def test_a_hundred_faults_on_three_hundred_switches_are_explained_in_two_seconds() -> None:
    for completeness in (0.9, 0.5):
        large = site(300, 48, fill=0.72, faults=100, completeness=completeness)
        spent, _ = _measured(f"300 switches, 100 faults, {completeness:.0%} of the entries", large)
        assert spent <= SECONDS_300


def test_twenty_thousand_channels_cost_little_more_than_their_bare_merge() -> None:
    large = site(1000, 24, fill=0.87, faults=40)
    spent, merge = _measured("1,000 switches, 40 faults", large)
    assert spent <= TIMES_MERGE * merge + PLUS_SECONDS


def _measured(name: str, large: Large) -> tuple[float, float]:
    """Prints and gives the seconds for rules and causes, and for the bare merge."""
    ruling, findings = _fastest(large.findings)
    explaining, causes = _fastest(
        lambda: explain(large.record, large.channels, large.observed, large.located, findings)
    )
    merge, _ = _fastest(_bare_merge(large))
    told = sum(len(cause.findings) for cause in causes)
    assert told == len(findings)
    print(
        f"\n{name}: {len(large.channels.resolved)} channels, {len(findings)} findings, {len(causes)} causes; "
        f"rules {ruling:.2f} s, causes {explaining:.2f} s, bare merge {merge:.3f} s, "
        f"(rules + causes - {PLUS_SECONDS:.0f} s) / merge {(ruling + explaining - PLUS_SECONDS) / merge:.1f}"
    )
    return ruling + explaining, merge


def _bare_merge(large: Large) -> Callable[[], pd.DataFrame]:
    """Map and placements as two frames, joined once."""
    documented = pd.DataFrame(
        [
            (mac, c.port.name, c.port.position, c.device.name)
            for c in large.channels.resolved
            if c.device is not None and c.port is not None
            for mac in c.device.macs
        ],
        columns=["mac", "switch", "port", "device"],
    )
    placed = pd.DataFrame(
        [(p.mac, p.at.switch, p.at.port) for p in large.located.placements.values() if p.at is not None],
        columns=["mac", "switch", "port"],
    )
    return lambda: documented.merge(placed, on="mac", how="outer", suffixes=("", "_seen"), validate="one_to_one")


def _fastest(work: Callable[[], T]) -> tuple[float, T]:
    """Processor seconds of the fastest of a few rounds, and the result: what was slower was disturbed."""
    best = float("inf")
    for _ in range(ROUNDS):
        began = time.process_time()
        result = work()
        best = min(best, time.process_time() - began)
    return best, result


def site(switches: int, sockets: int, *, fill: float, faults: int, completeness: float = 0.9) -> Large:
    """A site of the injector's making, after so many faults, with some entries of its tables gone."""
    before = injector.documented(1, switches, sockets, fill)
    after = copy.deepcopy(before)
    strike(after, draw_kinds(after.rng, faults))
    record = _record(before)
    channels = resolve(record)
    shown = dict(injector.labels(after))
    rng = random.Random(1)
    heard = {who: label for label, who in shown.items() if rng.random() < completeness}
    snapshot = _snapshot(after, shown, heard)
    return Large(record, channels, snapshot, observe(snapshot), _located(after, heard))


def _mac(who: str) -> str:
    kind, _, number = who.partition("-")
    prefix = "00:1b:1c" if kind == "device" else "dc:a6:32"
    return prefix + ":" + f"{int(number):06x}"[0:2] + ":" + f"{int(number):06x}"[2:4] + ":" + f"{int(number):06x}"[4:6]


def _port(world: World, label: int) -> PortRef:
    return PortRef(f"sw-{label // world.sockets}", f"Gi1/0/{label % world.sockets + 1}")


def _record(world: World) -> PatchMap:
    jacks = range(world.switches * world.sockets)
    names = [f"Gi1/0/{n + 1}" for n in range(world.sockets)]
    position = {jack: End(f"PP-{jack // PANEL}", str(jack % PANEL + 1)) for jack in jacks}
    return PatchMap(
        site="Saltmarsh Field Station",
        switches=[Switch(name=f"sw-{s}", ports=tuple(names)) for s in range(world.switches)],
        panels=[
            Panel(name=f"PP-{p}", jacks=tuple(str(n + 1) for n in range(PANEL))) for p in range(-(-len(jacks) // PANEL))
        ],
        outlets=[Outlet(name=f"O-{jack}") for jack in jacks],
        fixed_cables=[FixedCable(label=f"F-{j}", a=position[j], b=End(f"O-{j}", "1")) for j in jacks],
        cords=[Cord(label=f"C-{c.jack}", a=End(*_port(world, c.socket)), b=position[c.jack]) for c in world.cords],
        devices=[
            Device(name=who, macs=(_mac(who),), at=End(f"O-{jack}", "1")) for jack, who in world.at_outlet.items()
        ],
    )


def _snapshot(world: World, shown: dict[int, str], heard: dict[str, int]) -> Snapshot:
    """Every switch answered; what was heard stands in the table of the station's own switch."""
    whole = {table: TableReport(state=TableState.READ) for table in Table}
    sightings: dict[str, list[Sighting]] = {f"sw-{s}": [] for s in range(world.switches)}
    for who, label in heard.items():
        ref = _port(world, label)
        sightings[ref.switch].append(Sighting(_mac(who), 1, ref.port))
    return Snapshot(
        started=NOW,
        finished=NOW,
        switches=[
            CollectedSwitch(
                name=f"sw-{s}",
                started=NOW,
                ports=[
                    Port(
                        name=f"Gi1/0/{n + 1}",
                        if_index=n + 1,
                        if_type=6,
                        admin="up",
                        oper="up" if s * world.sockets + n in shown else "down",
                    )
                    for n in range(world.sockets)
                ],
                sightings=sightings[f"sw-{s}"],
                tables=whole,
            )
            for s in range(world.switches)
        ],
    )


def _located(world: World, heard: dict[str, int]) -> Located:
    placements = {}
    for who, label in heard.items():
        at = _port(world, label)
        placements[_mac(who)] = Placement(_mac(who), at, Grade.CERTAIN, (at,), "the only port that has it")
    return Located(placements=placements)


if __name__ == "__main__":
    test_a_hundred_faults_on_three_hundred_switches_are_explained_in_two_seconds()
    test_twenty_thousand_channels_cost_little_more_than_their_bare_merge()
