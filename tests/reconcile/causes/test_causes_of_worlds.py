"""Causes of whole small worlds, from what their switches say to the words that a person reads."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from collectors.snapshot import Neighbour
from reconcile.causes.cover import NoStory
from reconcile.causes.plain import plain_cause
from reconcile.findings import Kind
from reconcile.patchmap.model import PatchMap
from reconcile.result import Result
from tests.reconcile.causes.rack import documented, explained, only, port, replugged
from tests.reconcile.handmade import AT_BOAT, finding
from tests.reconcile.handmade_network import answer, device, heard, run, site
from tests.reconcile.handmade_network import port as ethernet
from tests.worlds import changes, saltmarsh
from tests.worlds.equipment import host, mute
from tests.worlds.model import World
from tests.worlds.stories import STORIES
from tests.worlds.strategies import Small, small_worlds

STRANGER = "dc:a6:32:9e:04:5b"
quick = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def told_once(result: Result) -> bool:
    """True when every finding is explained by exactly one cause."""
    explained_by = Counter(key for cause in result.causes for key in cause.findings)
    return explained_by == Counter(f.key for f in result.findings)


def test_a_world_as_documented_has_no_cause():
    assert explained(documented()).causes == []


def test_the_eight_drifts_of_the_station_are_eight_causes_each_its_own():
    result = explained(saltmarsh.drifted())
    assert told_once(result)
    assert Counter(cause.kind for cause in result.causes) == {
        "uplink moved": 1,
        "crossed": 1,
        "moved": 1,
        "gone": 1,
        "port shut": 1,
        "replaced": 1,
        "undocumented device": 2,
    }
    crossed = next(cause for cause in result.causes if cause.kind == "crossed")
    assert len(crossed.findings) == 2
    assert crossed.sure


def test_a_cord_in_another_port_is_told_with_cord_ports_and_the_way_back():
    cause = only(replugged(documented(), {port(5): port(18)}))
    assert cause.kind == "moved"
    assert cause.sure
    assert cause.story == "dev-5 was moved from sw-wet port Gi1/0/5 to the free sw-wet port Gi1/0/18."
    assert cause.undo[-1].startswith("move cord C5 from sw-wet port Gi1/0/18 back to sw-wet port Gi1/0/5")


def test_a_device_carried_to_a_spare_outlet_is_told_by_its_outlets():
    cause = only(changes.replug(documented(), "WL-5:1", "WL-20:1"))
    assert cause.story == "dev-5 was carried from outlet WL-5:1 to outlet WL-20:1 (sw-wet port Gi1/0/20)."
    assert "cord C5" in cause.same_in_effect[0]


@pytest.mark.parametrize(
    ("one", "other"),
    [(port(3), port(7)), ("PP:3", "PP:7"), ("WL-3:1", "WL-7:1")],
    ids=["at the switch", "at the panel", "devices exchanged"],
)
def test_a_crossing_reads_the_same_wherever_it_happened(one: str, other: str):
    cause = only(changes.cross(documented(), one, other))
    assert (cause.kind, cause.sure, len(cause.findings)) == ("crossed", True, 2)
    assert any("at the switch" in same for same in cause.same_in_effect)
    assert any("at the panel, jacks PP:3 and PP:7" in same for same in cause.same_in_effect)
    assert any("exchanged at the outlets WL-3:1 and WL-7:1" in same for same in cause.same_in_effect)
    assert "label of the cord in sw-wet port Gi1/0/3" in cause.decides


def test_a_crossing_is_undone_in_three_movements():
    cause = only(changes.cross(documented(), port(3), port(7)))
    assert cause.undo == (
        "pull cord C3 from sw-wet port Gi1/0/7 and hold it",
        "move cord C7 from sw-wet port Gi1/0/3 to sw-wet port Gi1/0/7",
        "plug cord C3 into sw-wet port Gi1/0/3",
    )


def test_three_cords_in_a_ring_are_one_cause():
    cause = only(replugged(documented(), {port(2): port(11), port(11): port(6), port(6): port(2)}))
    assert (cause.kind, cause.sure, len(cause.findings)) == ("rotated", True, 3)
    assert len(cause.undo) == 4


def test_a_row_one_off_with_a_free_port_in_it_is_one_cause():
    cause = only(replugged(documented(), {port(n): port(n + 1) for n in (12, 13, 14, 15, 16)}))
    assert cause.kind == "shifted"
    assert cause.story == "5 cords of sw-wet, from Gi1/0/12 to Gi1/0/16, sit 1 higher than documented."
    # The first place is free: the cords go back in order, none has to wait in the hand.
    assert [step.split(" ")[2] for step in cause.undo] == ["C12", "C13", "C14", "C15", "C16"]


def test_panel_ends_two_jacks_off_are_undone_at_the_panel():
    # Cords C13 to C16 went up two jacks: C13 and C14 now reach dev-15 and dev-16, C15 and C16 reach empty outlets.
    cause = only(replugged(documented(), {f"PP:{n}": f"PP:{n + 2}" for n in (13, 14, 15, 16)}))
    assert cause.kind == "shifted"
    assert cause.story.startswith("4 cords at the panel, documented in jacks PP:13 to PP:16, are 2 off")
    assert "move each of these cords 2 down, the lowest first: cord C13, cord C14, cord C15" in cause.undo[-1]


def test_ports_counted_from_the_other_end_are_nothing_to_re_plug():
    # Of 24 ports, n became 25 - n; the uplink in the last went to the first.
    used = [n for n in range(1, 17) if n != 9] + [20, 24]
    cause = only(replugged(documented(), {port(n): port(25 - n) for n in used}))
    assert cause.kind == "renumbered"
    assert "counted from the other end" in cause.story
    assert cause.undo[0].startswith("nothing to re-plug: write the new port names into the map")
    assert cause.cautions == ()


def test_a_rack_put_back_without_order_is_told_as_that():
    order = [13, 4, 16, 10, 2, 15, 7, 1, 12, 5, 14, 3, 8, 11, 6]
    ring = dict(zip(order, order[1:] + order[:1], strict=True))
    cause = only(replugged(documented(), {port(a): port(b) for a, b in ring.items()}))
    assert cause.kind == "re-plugged without order"
    assert "take what was seen as the new record of sw-wet" in cause.undo[0]


def test_who_had_to_give_way_is_part_of_the_same_cause():
    world = changes.unplug(documented(), port(7))
    cause = only(replugged(world, {port(3): port(7)}))
    assert (cause.kind, cause.sure) == ("moved", False)
    assert "the place of dev-7, which was heard nowhere" in cause.story
    assert "dev-3 and dev-7 are crossed" in cause.same_in_effect  # dev-7 may be on port 3 without power


def test_a_telephone_takes_its_computer_along():
    cause = only(changes.replug(documented(), "sw-core:Ethernet8", "sw-core:Ethernet12"))
    assert cause.story.startswith("desk-phone with desk-pc was moved from sw-core port Ethernet8")
    assert "PoE" in cause.cautions[0]
    assert "local electrical codes and licensed practice come first" in cause.cautions[0]


def test_a_computer_taken_from_behind_its_telephone_goes_back_behind_it():
    cause = only(changes.replug(documented(), "desk-phone:pc", "sw-core:Ethernet12"))
    assert (
        cause.story
        == "desk-pc is no longer behind desk-phone (sw-core port Ethernet8), but at sw-core port Ethernet12."
    )
    assert cause.undo[0].startswith("plug desk-pc back in behind desk-phone")


def test_an_uplink_comes_last_and_with_a_warning():
    cause = only(changes.replug(documented(), port(24), port(23)))
    assert cause.kind == "uplink moved"
    assert cause.cautions[0].startswith("leave this for last")


def test_a_device_the_map_connects_to_nothing_is_told_as_plugged_in():
    world = documented()
    loose = [d.model_copy(update={"at": None}) if d.name == "server-3" else d for d in world.record.devices]
    record = world.record.model_copy(update={"devices": loose})
    result = explained(world, record)
    assert told_once(result)
    assert any("server-3" in cause.story for cause in result.causes)


@pytest.mark.parametrize("story", sorted(STORIES))
def test_every_finding_of_every_story_has_exactly_one_cause(story: str):
    assert told_once(explained(STORIES[story]()[0]))


def test_the_order_of_rows_changes_no_cause():
    world = saltmarsh.drifted()
    record = world.record
    turned = PatchMap(**{name: list(reversed(value)) if isinstance(value, list) else value for name, value in record})
    assert explained(world, turned).causes == explained(world).causes


def _meddle(small: Small, data: st.DataObject) -> World:
    """Up to four unrelated things that nobody wrote down."""
    world, free, devices = small.world, list(small.free), dict(small.at)
    for _ in range(data.draw(st.integers(1, 4), "how many")):
        deed = data.draw(st.sampled_from(("move", "cross", "pull", "new", "mute", "replace")), "deed")
        if deed in ("new", "mute") and free:
            box = host("stranger", STRANGER) if deed == "new" else mute("converter")
            world = changes.add_box(world, replace(box, name=f"{deed}-{len(free)}"), free.pop())
        elif deed == "cross" and len(devices) > 1:
            (_, one), (_, other) = devices.popitem(), devices.popitem()
            world = changes.cross(world, one, other)
        elif devices and deed == "move" and free:
            world = changes.replug(world, devices.popitem()[1], free.pop())
        elif devices and deed == "pull":
            world = changes.unplug(world, devices.popitem()[1])
        elif devices and deed == "replace":
            name = devices.popitem()[0]
            world = changes.new_address(world, name, f"00:1b:1c:0e:a1:{len(devices):02x}")
    return world


@quick
@given(small_worlds(least_devices=3), st.data())
def test_whatever_happened_every_finding_has_exactly_one_cause(small: Small, data: st.DataObject):
    world = _meddle(small, data)
    assume(world is not small.world)
    assert told_once(explained(world))


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_of_finding_has_plain_words(kind: Kind):
    told = finding(kind=kind, macs=(STRANGER,), moved_to=AT_BOAT if kind is Kind.MOVED_DEVICE else None)
    cause = plain_cause(told)
    assert cause.findings == (told.key,)
    assert "{" not in cause.story + "".join(cause.undo) + cause.decides
    assert cause.story.endswith(".")


def test_a_new_box_that_calls_its_ports_otherwise_is_one_cause():
    # The map says Gi1/0/1 to Gi1/0/8; the box that answers has Ethernet1 to Ethernet8, everybody in the old order.
    macs = {n: f"00:1b:1c:00:00:{n:02x}" for n in range(1, 9)}
    patch_map = site([device(f"dev-{n}", f"sw-a:Gi1/0/{n}", mac) for n, mac in macs.items()], switches="sw-a")
    ports = [ethernet(f"Ethernet{n}") for n in macs]
    result = run(patch_map, answer("sw-a", ports, heard(*((mac, f"Ethernet{n}") for n, mac in macs.items()))))
    assert told_once(result)
    assert {cause.kind for cause in result.causes} == {"renumbered"}
    assert "Gi1/0/1 is now sw-a port Ethernet1" in result.causes[0].story


def test_nothing_a_switch_says_breaks_the_words_of_a_cause():
    # Port names with braces, control characters and 1,000 letters: told as they are, escaped by each report.
    nasty = ["{device}", "\x1b[31mred", "p" * 1000, "%s"]
    patch_map = site([device("tank", "sw-a:{device}", "00:1b:1c:00:00:01")], switches="sw-a")
    for target in nasty[1:]:
        told = answer("sw-a", [ethernet(name) for name in nasty], heard(("00:1b:1c:00:00:01", target)))
        assert told_once(run(patch_map, told))


def test_two_boxes_that_stand_in_each_other_s_place_are_one_cause():
    # Ten devices on each; everybody documented on one switch is heard on the other, in the old order.
    macs = {(s, n): f"00:1b:1c:00:0{'ab'.index(s)}:{n:02x}" for s in "ab" for n in range(1, 11)}
    patch_map = site(
        [device(f"dev-{s}-{n}", f"sw-{s}:Gi1/0/{n}", mac) for (s, n), mac in macs.items()],
        [("sw-a:Gi1/0/12", "sw-b:Gi1/0/12")],
    )
    ports = [ethernet(f"Gi1/0/{n}") for n in (*range(1, 11), 12)]
    own = {"a": "00:1b:1c:00:0a:00", "b": "00:1b:1c:00:0b:00"}
    answers = [
        answer(
            f"sw-{here}",
            ports,
            heard(
                *((macs[there, n], f"Gi1/0/{n}") for n in range(1, 11)),
                *((macs[here, n], "Gi1/0/12") for n in range(1, 11)),
            ),
            [Neighbour(port="Gi1/0/12", chassis_id=own[there], port_id="Gi1/0/12", system_name=f"sw-{there}")],
            own=[own[here]],
        )
        for here, there in ("ab", "ba")
    ]
    result = run(patch_map, *answers)
    assert told_once(result)
    assert [cause.kind for cause in result.causes] == ["renumbered"]
    assert result.causes[0].story.startswith("sw-a and sw-b stand in each other's place")


def test_findings_are_told_one_by_one_when_no_story_is_found_in_time(monkeypatch: pytest.MonkeyPatch):
    def too_late(*_: object) -> list[object]:
        raise NoStory("time limit reached")

    monkeypatch.setattr("reconcile.causes.explaining.cheapest_story", too_late)
    result = explained(changes.cross(documented(), port(3), port(7)))
    assert told_once(result)
    assert [cause.kind for cause in result.causes] == ["moved", "moved"]


def test_a_documented_port_that_its_switch_lacks_and_the_device_heard_elsewhere_are_one_slip_of_the_pen():
    # Gi1/0/55 for Gi1/0/5: a port that is not there can be left by nobody, and crossed with nobody's.
    tank, desk = "00:1b:1c:00:00:01", "00:1b:1c:00:00:02"
    patch_map = site([device("tank", "sw-a:Gi1/0/55", tank), device("desk", "sw-a:Gi1/0/1", desk)], switches="sw-a")
    ports = [ethernet("Gi1/0/1"), ethernet("Gi1/0/5"), ethernet("Gi1/0/2", "down")]
    result = run(patch_map, answer("sw-a", ports, heard((tank, "Gi1/0/5"), (desk, "Gi1/0/1"))))
    assert {finding.kind for finding in result.findings} == {Kind.MOVED_DEVICE, Kind.PORT_NOT_FOUND}
    (cause,) = result.causes
    assert told_once(result)
    assert (cause.kind, cause.sure) == ("port name", True)
    assert cause.undo == ("write sw-a port Gi1/0/5 into the map instead of sw-a port Gi1/0/55",)
    assert not any("plug it back" in finding.advice for finding in result.findings)


def test_nobody_is_said_to_be_crossed_into_a_port_that_is_not_there():
    tank, desk, pump = (f"00:1b:1c:00:00:0{n}" for n in (1, 2, 3))
    places = {"tank": "Gi1/0/55", "desk": "Gi1/0/1", "pump": "Gi1/0/2"}
    macs = {"tank": tank, "desk": desk, "pump": pump}
    patch_map = site([device(name, f"sw-a:{at}", macs[name]) for name, at in places.items()], switches="sw-a")
    ports = [ethernet("Gi1/0/1"), ethernet("Gi1/0/2")]
    result = run(patch_map, answer("sw-a", ports, heard((tank, "Gi1/0/1"), (pump, "Gi1/0/2"))))
    assert [cause.kind for cause in result.causes] == ["port name"]
    assert "the place of desk, which was heard nowhere" in result.causes[0].story
    assert told_once(result)


def test_a_link_between_switches_on_a_port_that_is_not_there_is_one_cause():
    patch_map = site(cords=[("sw-a:Gi1/0/55", "sw-b:Gi1/0/8")])
    own = {"a": "00:1b:1c:00:0a:00", "b": "00:1b:1c:00:0b:00"}
    at = {"a": "Gi1/0/5", "b": "Gi1/0/8"}
    answers = [
        answer(
            f"sw-{here}",
            [ethernet(at[here])],
            [],
            [Neighbour(port=at[here], chassis_id=own[there], port_id=at[there], system_name=f"sw-{there}")],
            own=[own[here]],
        )
        for here, there in ("ab", "ba")
    ]
    result = run(patch_map, *answers)
    assert told_once(result)
    assert [cause.kind for cause in result.causes] == ["port name"]
