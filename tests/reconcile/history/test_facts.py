"""What a run may end: silence of what could not be read ends nothing."""

from __future__ import annotations

from collectors.snapshot import FailedSwitch, Snapshot, Table, TableReport, TableState
from reconcile.channels import resolve
from reconcile.history.facts import Fact, FactKind, Key, Looked, facts_of, looked, port_words, switches_of
from reconcile.patchmap.model import PatchMap
from reconcile.pipeline import Comparison, compare
from tests.reconcile.handmade import AT_BOAT, finding
from tests.reconcile.handmade_network import TAKEN, answer, device, heard, port, site

PUMP, CAMERA = "00:30:de:00:00:01", "b8:a4:4f:00:00:02"
UNREAD = TableReport(state=TableState.TIMED_OUT, reason="no answer")
AT_A1 = Fact("sw-a:1", "sw-a")


def seen(patch_map: PatchMap, *answers: object, failed: str = "") -> Comparison:
    gone = [FailedSwitch(name=name, started=TAKEN, reason="no answer", kind="no answer") for name in failed.split()]
    snapshot = Snapshot.model_validate({"started": TAKEN, "finished": TAKEN, "switches": answers, "failed": gone})
    return compare(patch_map, snapshot)


def looked_at(*answers: object, failed: str = "") -> Looked:
    compared = seen(site([device("pump", "sw-a:1", PUMP)]), *answers, failed=failed)
    return looked(compared.picture, compared.result)


def station(mac: str = PUMP) -> Key:
    return Key(FactKind.STATION, mac)


def test_a_station_that_a_switch_no_longer_hears_has_left_it() -> None:
    assert looked_at(answer("sw-a", [port("1")])).may_end(station(), AT_A1)


def test_a_station_stays_where_it_was_when_its_switch_does_not_answer() -> None:
    assert not looked_at(failed="sw-a").may_end(station(), AT_A1)


def test_a_station_stays_where_it_was_when_the_forwarding_table_was_not_read() -> None:
    unread = looked_at(answer("sw-a", [port("1")], tables={Table.FORWARDING: UNREAD}))
    assert not unread.may_end(station(), AT_A1)
    assert unread.may_end(Key(FactKind.PORT, "sw-a:1"), Fact("link up", "sw-a"))


def test_a_port_stays_as_it_was_when_the_interfaces_were_not_read() -> None:
    unread = looked_at(answer("sw-a", [], tables={Table.INTERFACES: UNREAD}))
    assert not unread.may_end(Key(FactKind.PORT, "sw-a:1"), Fact("link up", "sw-a"))


def test_nobody_waits_for_a_switch_that_is_asked_no_more() -> None:
    assert looked_at(answer("sw-b", [port("1")])).may_end(station(), AT_A1)


def test_a_station_that_may_still_be_there_or_was_heard_somewhere_has_not_left() -> None:
    read = dict.fromkeys((Table.INTERFACES, Table.FORWARDING), frozenset({"sw-a"}))
    asked = frozenset({"sw-a"})
    assert not Looked(asked, read, possible={PUMP: frozenset({"sw-a:1", "sw-a:2"})}).may_end(station(), AT_A1)
    assert not Looked(asked, read, heard=frozenset({PUMP})).may_end(station(), AT_A1)
    assert Looked(asked, read, possible={PUMP: frozenset({"sw-a:2"})}).may_end(station(), AT_A1)


def test_a_channel_that_could_not_be_judged_keeps_its_verdict_and_one_that_left_the_map_does_not() -> None:
    gone = looked_at(failed="sw-a")
    assert not gone.may_end(Key(FactKind.VERDICT, "sw-a:1"), Fact("confirmed", "sw-a"))
    assert gone.may_end(Key(FactKind.VERDICT, "sw-a:2"), Fact("confirmed", "sw-a"))


def test_a_gap_ends_with_the_run_that_does_not_have_it() -> None:
    assert looked_at().may_end(Key(FactKind.GAP, "sw-a"), Fact("no answer", "sw-a"))


def test_the_facts_of_a_run_are_where_stations_are_how_ports_are_and_what_came_of_each_channel() -> None:
    patch_map = site([device("pump", "sw-a:1", PUMP), device("camera", "sw-b:1", CAMERA)])
    ports = [port("1"), port("2", "down", admin="down")]
    compared = seen(patch_map, answer("sw-a", ports, heard((PUMP, "1"))), failed="sw-b")
    assert facts_of(compared.picture, compared.result) == {
        Key(FactKind.STATION, PUMP): AT_A1,
        Key(FactKind.PORT, "sw-a:1"): Fact("link up, 1000 Mbit/s", "sw-a"),
        Key(FactKind.PORT, "sw-a:2"): Fact("link down, shut", "sw-a"),
        Key(FactKind.VERDICT, "sw-a:1"): Fact("confirmed", "sw-a"),
        Key(FactKind.GAP, "sw-b"): Fact("no answer", "sw-b"),
    }
    assert len(resolve(patch_map).resolved) == 2  # the camera's channel is unchecked, which is no fact


def test_the_speed_of_a_port_without_a_link_is_no_news() -> None:
    assert port_words(port("1", "down")) == "link down"
    assert port_words(port("1", speed_mbps=None)) == "link up"


def test_a_moved_device_is_gone_only_when_both_places_were_looked_at() -> None:
    assert switches_of(finding(moved_to=AT_BOAT)) == {"sw-lab", "sw-boat"}
    assert switches_of(finding()) == {"sw-lab"}
