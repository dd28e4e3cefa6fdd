"""Injected faults come out as their causes. `python -m tests.reconcile.causes.measure` runs the whole of it."""

from __future__ import annotations

import copy
import random

import pytest

from tests.reconcile.causes import injector
from tests.reconcile.causes.faults import MIX, draw_kinds, strike
from tests.reconcile.causes.measure import Cell, cells
from tests.reconcile.causes.trial import Tally, run, scene

LEAST_IN_CLASS = {1.0: 1.0, 0.9: 0.995, 0.7: 0.99, 0.5: 0.985}
"""Share of the observable faults whose true cause must be in the reported class, by completeness of the tables."""


@pytest.mark.parametrize("off", [0.0, 0.05, 0.2])
@pytest.mark.parametrize("completeness", sorted(LEAST_IN_CLASS))
def test_true_causes_are_in_the_reported_class(completeness: float, off: float):
    total = Tally()
    for seed in range(5):
        total += run(7_000 + seed, 6, 24, 5, completeness, off, overlapping=seed % 2 == 1)
        total += run(8_000 + seed, 12, 24, 12, completeness, off, overlapping=seed % 2 == 1)
    assert total.observable > 40
    # One miss is more than half a percent of so small a sample.
    assert total.observable - total.in_class <= (0 if completeness == 1.0 else 2), total.notes
    assert total.false_sure == 0, total.notes


def test_a_hundred_faults_on_fourteen_thousand_ports_are_found():
    tally = run(3, 300, 48, 100, 1.0, 0.0)
    assert (tally.in_class, tally.false_sure) == (tally.observable, 0), tally.notes
    assert tally.observable > 90


@pytest.mark.long
@pytest.mark.parametrize("cell", list(cells()), ids=str)
def test_a_tenth_of_the_whole_measurement_reaches_the_figures(cell: Cell):
    tally = cell.measure(share=0.1, first_seed=400_000)
    least = LEAST_IN_CLASS[cell.completeness]
    assert tally.in_class >= least * tally.observable - 1, tally.notes
    assert tally.false_sure <= (0 if cell.off == 0 else 1), tally.notes


def test_every_kind_of_fault_is_injected_and_changes_what_is_heard():
    for kind in MIX:
        before = injector.documented(11, 12, 24)
        after = copy.deepcopy(before)
        strike(after, [kind])
        assert after.faults, kind
        quiet, struck = scene(before, before, 1.0, 0.0, 1), scene(before, after, 1.0, 0.0, 1)
        changed = (quiet.heard.at != struck.heard.at).any() or (quiet.heard.strangers != struck.heard.strangers).any()
        assert changed, kind


def test_the_injector_draws_every_kind_sooner_or_later():
    assert set(draw_kinds(random.Random(1), 2_000)) == set(MIX)
