"""A draft of any small world passes the check of maps, and its own snapshot has nothing to say against it."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collectors.snapshot import Snapshot
from reconcile.draft import draft
from reconcile.reports.draft import Form, Style, files
from tests.reconcile.draft.round_trip import FORMS, Trip, trip
from tests.worlds import changes, saltmarsh
from tests.worlds.equipment import mute
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES
from tests.worlds.strategies import Small, small_worlds

quick = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
forms = st.sampled_from(FORMS)


def round_trip(snapshot: Snapshot, form: Form) -> Trip:
    with tempfile.TemporaryDirectory() as folder:
        return trip(snapshot, Path(folder), form)


def assert_clean(found: Trip) -> None:
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []


def tale(story: str) -> World:
    return saltmarsh.drifted() if story == "saltmarsh" else STORIES[story]()[0]


@pytest.mark.parametrize("story", ["saltmarsh", *STORIES])
@pytest.mark.parametrize("form", FORMS)
def test_the_draft_of_a_story_is_clean(story: str, form: Form) -> None:
    assert_clean(round_trip(snapshot_of(tale(story)), form))


@quick
@given(small_worlds(), forms)
def test_the_draft_of_a_small_world_is_clean(small: Small, form: Form) -> None:
    assert_clean(round_trip(snapshot_of(small.world), form))


@quick
@given(small_worlds(), forms, st.data())
def test_a_draft_of_forgetful_switches_is_clean(small: Small, form: Form, data: st.DataObject) -> None:
    """Addresses age out, of some tables sooner than of others: what is no longer certain is not written."""
    snapshot = snapshot_of(small.world)
    rows = sum(len(switch.sightings) for switch in snapshot.switches)
    kept = iter(data.draw(st.lists(st.booleans(), min_size=rows, max_size=rows), "kept"))
    switches = [
        switch.model_copy(update={"sightings": [row for row in switch.sightings if next(kept)]})
        for switch in snapshot.switches
    ]
    assert_clean(round_trip(snapshot.model_copy(update={"switches": switches}), form))


@quick
@given(small_worlds(), forms, st.data())
def test_a_draft_without_one_of_the_switches_is_clean_and_says_so(
    small: Small, form: Form, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from([switch.name for switch in small.world.switches]), "switch")
    found = round_trip(snapshot_of(changes.change_switch(small.world, name, answers=False)), form)
    assert_clean(found)
    assert name in {switch.name for switch in found.patch_map.switches}
    assert any(point.switch == name and point.not_looked_at for point in found.draft.open)


@quick
@given(small_worlds(), forms, st.data())
def test_a_draft_without_neighbours_or_forwarding_of_a_switch_is_clean(
    small: Small, form: Form, data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from([switch.name for switch in small.world.switches]), "switch")
    dialect = small.world.switch(name).dialect
    changed = data.draw(st.sampled_from([replace(dialect, forwarding="none"), replace(dialect, lldp=None)]), "dialect")
    found = round_trip(snapshot_of(changes.change_switch(small.world, name, dialect=changed)), form)
    assert_clean(found)


@quick
@given(small_worlds(), st.data())
def test_who_is_mute_is_a_gap_to_fill_and_no_difference(small: Small, data: st.DataObject) -> None:
    at = data.draw(st.sampled_from(small.free or [""]), "at")
    if not at:
        return
    found = round_trip(snapshot_of(changes.add_box(small.world, mute("mute"), at)), "schedule")
    assert_clean(found)
    assert any(f"unknown at {at.replace(':', ' ')}" in gap.about and "device" in gap.columns for gap in found.to_fill)


def in_another_order(snapshot: Snapshot, data: st.DataObject) -> Snapshot:
    def mixed(rows: list[Any]) -> list[Any]:
        return data.draw(st.permutations(rows))

    switches = [
        switch.model_copy(update={t: mixed(getattr(switch, t)) for t in ("ports", "sightings", "neighbours")})
        for switch in snapshot.switches
    ]
    return snapshot.model_copy(update={"switches": mixed(switches)})


@settings(quick, max_examples=10)
@given(st.data(), forms)
def test_the_order_in_which_switches_tell_changes_no_octet(data: st.DataObject, form: Form) -> None:
    snapshot = snapshot_of(saltmarsh.drifted())
    straight, mixed = (files(draft(s), form, Style()) for s in (snapshot, in_another_order(snapshot, data)))
    if form == "workbook":
        assert list(straight) == list(mixed)  # an archive has its time in it; the rows are compared by the others
    else:
        assert straight == mixed
