"""Properties that hold in every small world: one change gives one finding, and order means nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from collectors.snapshot import Snapshot
from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.patchmap.model import PatchMap
from reconcile.pipeline import reconcile
from tests.worlds import changes, saltmarsh
from tests.worlds.build import Builder
from tests.worlds.dialects import SLOTTED, STACKED
from tests.worlds.equipment import host, mute
from tests.worlds.expected import Expectation, Found
from tests.worlds.judging import counted, found_in, gaps_in, verdicts_in
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES
from tests.worlds.strategies import VLANS, Small, small_worlds

NEWCOMER = "dc:a6:32:9e:04:5b"
quick = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def report_on(record: PatchMap, snapshot: Snapshot) -> dict[str, Any]:
    """The report in its JSON form."""
    return reconcile(record, snapshot).model_dump(mode="json")


def found(world: World) -> list[Found]:
    return found_in(report_on(world.record, snapshot_of(world)))


@quick
@given(small_worlds())
def test_a_world_without_drift_gives_no_finding(small: Small) -> None:
    report = report_on(small.world.record, snapshot_of(small.world))
    assert found_in(report) == []
    assert gaps_in(report) == []
    assert set(verdicts_in(report)) <= {"confirmed", "silent"}  # silent: unmanaged switches have no address


@quick
@given(small_worlds(least_devices=1), st.data())
def test_one_moved_cord_gives_exactly_one_moved_device(small: Small, data: st.DataObject) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    assume(small.free)
    to = data.draw(st.sampled_from(small.free), "to")
    world = changes.replug(small.world, small.at[device], to)
    assert found(world) == [Found("moved device", small.at[device], device=device, moved_to=to)]


@quick
@given(small_worlds(least_devices=1), st.data())
def test_one_pulled_cord_gives_exactly_one_dead_port(small: Small, data: st.DataObject) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    world = changes.unplug(small.world, small.at[device])
    assert found(world) == [Found("dead port", small.at[device], device=device)]


@quick
@given(small_worlds(least_devices=2), st.data())
def test_two_crossed_cords_give_exactly_two_moved_devices(small: Small, data: st.DataObject) -> None:
    names = st.sampled_from(sorted(small.at))
    one, two = data.draw(st.lists(names, min_size=2, max_size=2, unique=True), "devices")
    world = changes.cross(small.world, small.at[one], small.at[two])
    assert found(world) == sorted(
        [
            Found("moved device", small.at[one], device=one, moved_to=small.at[two]),
            Found("moved device", small.at[two], device=two, moved_to=small.at[one]),
        ]
    )


@quick
@given(small_worlds(least_devices=1), st.data())
def test_one_replaced_device_gives_exactly_one_other_device(small: Small, data: st.DataObject) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    world = changes.new_address(small.world, device, NEWCOMER)
    assert found(world) == [Found("other device", small.at[device], device=device, macs=(NEWCOMER,))]


@quick
@given(small_worlds(), st.data())
def test_one_newcomer_gives_exactly_one_undocumented_device(small: Small, data: st.DataObject) -> None:
    assume(small.free)
    at = data.draw(st.sampled_from(small.free), "at")
    world = changes.add_box(small.world, host("newcomer", NEWCOMER), at)
    assert found(world) == [Found("undocumented device", at, macs=(NEWCOMER,))]


@quick
@given(small_worlds(), st.data())
def test_something_without_a_voice_gives_exactly_one_unexpected_link(small: Small, data: st.DataObject) -> None:
    assume(small.free)
    at = data.draw(st.sampled_from(small.free), "at")
    assert found(changes.add_box(small.world, mute("mute"), at)) == [Found("unexpected link", at)]


@quick
@given(small_worlds(), st.data())
def test_one_moved_uplink_gives_exactly_one_uplink_elsewhere(small: Small, data: st.DataObject) -> None:
    was, to = data.draw(st.sampled_from(small.trunks), "from and to")
    assert found(changes.replug(small.world, was, to)) == [Found("uplink elsewhere", was, moved_to=to)]


def star() -> World:
    """Three switches around a fourth that has the one device."""
    site = Builder("small")
    for name, family in (("sw0", STACKED), ("sw1", STACKED), ("sw2", SLOTTED), ("sw3", SLOTTED)):
        access, tagged = dict.fromkeys(range(1, 6), 10), dict.fromkeys(range(1, 6), 20)
        mac, trunks = f"00:00:5e:00:0{name[-1]}:00", range(6, 10)
        site.switch(name, family, 9, mac=mac, vlans=VLANS, access=access, tagged=tagged, trunks=trunks)
    for n in (1, 2, 3):
        site.cord(f"u{n}", site.port(f"sw{n}", 9), site.port("sw0", 10 - n))
    site.device(host("d0", "00:30:de:01:00:00"), at=site.port("sw0", 1))
    return site.build()


def test_one_row_that_is_left_of_all_tables_moves_nobody() -> None:
    """Two switches that share a wire with a third, of which nothing was heard, cannot say who is between them."""
    world = star()
    snapshot = snapshot_of(world)
    left = [(switch.name, row) for switch in snapshot.switches for row in switch.sightings]
    assert len(left) == 20
    for name, row in left:
        switches = [s.model_copy(update={"sightings": [row] if s.name == name else []}) for s in snapshot.switches]
        report = report_on(world.record, snapshot.model_copy(update={"switches": switches}))
        assert found_in(report) == [], (name, row)


@quick
@given(small_worlds(), st.data())
def test_what_was_forgotten_is_no_evidence(small: Small, data: st.DataObject) -> None:
    """Addresses age out of forwarding tables, and of some tables sooner than of others."""
    snapshot = snapshot_of(small.world)
    rows = sum(len(switch.sightings) for switch in snapshot.switches)
    kept = iter(data.draw(st.lists(st.booleans(), min_size=rows, max_size=rows), "kept"))
    switches = [
        switch.model_copy(update={"sightings": [row for row in switch.sightings if next(kept)]})
        for switch in snapshot.switches
    ]
    report = report_on(small.world.record, snapshot.model_copy(update={"switches": switches}))
    assert found_in(report) == []
    assert set(verdicts_in(report)) <= {"confirmed", "silent"}


@quick
@given(small_worlds(least_devices=1), st.data())
def test_a_forwarding_table_that_is_not_served_gives_a_gap_and_no_finding(small: Small, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from([switch.name for switch in small.world.switches]), "switch")
    dialect = replace(small.world.switch(name).dialect, forwarding="none")
    world = changes.change_switch(small.world, name, dialect=dialect)
    report = report_on(world.record, snapshot_of(world))
    assert found_in(report) == []
    assert gaps_in(report) == [name]


@quick
@given(small_worlds(least_devices=1), st.data())
def test_a_switch_that_does_not_answer_gives_a_gap_and_no_finding(small: Small, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from([switch.name for switch in small.world.switches]), "switch")
    world = changes.change_switch(small.world, name, answers=False)
    report = report_on(world.record, snapshot_of(world))
    assert found_in(report) == []
    assert gaps_in(report) == [name]


def in_order(report: dict[str, Any]) -> dict[str, Any]:
    """A report with its lists in an order of their own."""
    return report | {
        "findings": sorted(report["findings"], key=lambda finding: finding["key"]),
        "verdicts": sorted(report["verdicts"], key=lambda verdict: (verdict["channel"], verdict["device"])),
        "causes": sorted(report["causes"], key=str),
        "notes": sorted(report["notes"]),
        "gaps": sorted(report["gaps"], key=str),
    }


def shuffled(items: list[Any], data: st.DataObject) -> list[Any]:
    return data.draw(st.permutations(items))


def map_in_any_order(record: PatchMap, data: st.DataObject) -> PatchMap:
    tables = ("switches", "panels", "outlets", "fixed_cables", "cords", "devices")
    return record.model_copy(update={table: shuffled(getattr(record, table), data) for table in tables})


def snapshot_in_any_order(snapshot: Snapshot, data: st.DataObject) -> Snapshot:
    tables = ("ports", "sightings", "neighbours", "addresses")
    switches = [
        switch.model_copy(update={table: shuffled(getattr(switch, table), data) for table in tables})
        for switch in snapshot.switches
    ]
    return snapshot.model_copy(update={"switches": shuffled(switches, data)})


@settings(quick, max_examples=15)
@given(st.data())
def test_the_order_of_rows_changes_nothing(data: st.DataObject) -> None:
    world = saltmarsh.drifted()
    snapshot = snapshot_of(world)
    straight = report_on(world.record, snapshot)
    mixed = report_on(map_in_any_order(world.record, data), snapshot_in_any_order(snapshot, data))
    assert in_order(mixed) == in_order(straight)


@settings(quick, max_examples=15)
@given(small_worlds(least_devices=2), st.data())
def test_a_saved_and_loaded_snapshot_gives_the_same_report(
    tmp_path_factory: Any, small: Small, data: st.DataObject
) -> None:
    world = changes.cross(small.world, *list(small.at.values())[:2])
    path = tmp_path_factory.mktemp("snapshot") / "snapshot.json"
    snapshot = snapshot_of(world)
    save_snapshot(snapshot, Path(path))
    assert report_on(world.record, load_snapshot(path)) == report_on(world.record, snapshot)


@pytest.mark.parametrize("story", ["saltmarsh", *STORIES])
def test_the_snapshot_of_a_story_gives_exactly_the_findings_expected_of_it(story: str) -> None:
    world, expected = tale(story)
    report = report_on(world.record, snapshot_of(world))
    assert found_in(report) == expected.findings
    assert gaps_in(report) == sorted(expected.gaps)
    assert verdicts_in(report) == counted(dict(expected.verdicts))


def tale(story: str) -> tuple[World, Expectation]:
    return (saltmarsh.drifted(), saltmarsh.expected()) if story == "saltmarsh" else STORIES[story]()
