"""Slow links, duplex mismatch, rising errors, power budgets: one hand-made network per sentence."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from collectors.snapshot import CollectedSwitch, Neighbour, Power, PowerGroup, Snapshot, System
from reconcile.findings import QUALITY, Finding, Kind, Severity
from reconcile.limits.values import Limits, Override
from reconcile.patchmap.model import PatchMap
from reconcile.pipeline import reconcile
from tests.reconcile.handmade_network import TAKEN, answer, device, heard, port, site, snapshot

PUMP = "00:30:de:41:b7:09"
A, B = "02:00:00:00:00:0a", "02:00:00:00:00:0b"
DAY_TICKS = 8_640_000


def two_switches(
    here: dict[str, Any], there: dict[str, Any], name: str = "Gi1"
) -> tuple[CollectedSwitch, CollectedSwitch]:
    """sw-a and sw-b joined at their ports of that name, each telling the other by LLDP."""

    def told(peer: str, mac: str) -> Neighbour:
        return Neighbour(port=name, system_name=peer, chassis_id=mac, chassis_id_kind="macAddress", port_id=name,
                         port_id_kind="interfaceName", capabilities=["bridge"])  # fmt: skip

    return (
        answer("sw-a", [port(name, **here)], neighbours=[told("sw-b", B)], own=[A]),
        answer("sw-b", [port(name, **there)], neighbours=[told("sw-a", A)], own=[B]),
    )


def linked(name: str = "Gi1") -> PatchMap:
    return site(cords=[(f"sw-a:{name}", f"sw-b:{name}")])


def quality(patch_map: PatchMap, now: Snapshot, before: Snapshot | None = None, **more: Any) -> list[Finding]:
    return [f for f in reconcile(patch_map, now, before=before, **more).findings if f.kind in QUALITY]


def test_two_gigabit_ports_at_100_are_one_slow_link() -> None:
    # pinoutguide.com: 100 full between two gigabit ends: pair 4-5 or 7-8.
    (found,) = quality(linked(), snapshot(*two_switches({"speed_mbps": 100}, {"speed_mbps": 100})))
    assert found.kind is Kind.SLOW_LINK
    assert "pair 4-5 or 7-8" in found.advice
    for other in ("sleeps", "forced", "two pairs", "old device"):
        assert other in found.advice


def test_a_gigabit_port_at_100_towards_an_unknown_end_is_no_finding() -> None:
    # A recorded LLDP exchange of two switches: a "Gigabit" port at MAU type 16 is right, its peer has FastEthernet.
    patch_map = site([device("pump", "sw-a:Gi1", PUMP)])
    now = snapshot(answer("sw-a", [port("Gi1", speed_mbps=100)], heard((PUMP, "Gi1"))))
    assert quality(patch_map, now) == []


def test_a_fast_ethernet_peer_explains_a_slow_gigabit_port() -> None:
    here, there = two_switches({"speed_mbps": 100}, {"speed_mbps": 100})
    ports = [port("Fa0/1", speed_mbps=100)]
    there = answer("sw-b", ports, neighbours=[there.neighbours[0].model_copy(update={"port": "Fa0/1"})], own=[B])
    here.neighbours[0].port_id = "Fa0/1"
    assert quality(site(cords=[("sw-a:Gi1", "sw-b:Fa0/1")]), snapshot(here, there)) == []


def test_a_device_that_ran_faster_in_the_snapshot_before_could_do_so_again() -> None:
    patch_map = site([device("pump", "sw-a:Gi1", PUMP)])
    before = snapshot(answer("sw-a", [port("Gi1")], heard((PUMP, "Gi1"))))
    now = snapshot(answer("sw-a", [port("Gi1", speed_mbps=100)], heard((PUMP, "Gi1"))))
    (found,) = quality(patch_map, now, before)
    assert f"{PUMP} ran at 1000 Mbit/s" in found.documented


def test_a_port_that_does_not_negotiate_says_so() -> None:
    ends = {"speed_mbps": 100, "auto_negotiation": False}
    (found,) = quality(linked(), snapshot(*two_switches(ends, ends)))
    assert "does not negotiate" in found.seen


def test_a_ten_gigabit_cage_with_an_unknown_module_is_no_slow_link() -> None:
    now = snapshot(*two_switches({"speed_mbps": 1000}, {"speed_mbps": 1000}, "Te1"))
    assert quality(linked("Te1"), now) == []


def test_ends_of_different_duplex_are_one_mismatch() -> None:
    (found,) = quality(linked(), snapshot(*two_switches({"duplex": "half"}, {"duplex": "full"})))
    assert (found.kind, found.severity) == (Kind.DUPLEX_MISMATCH, Severity.HIGH)
    assert "sw-a port Gi1 runs half duplex, sw-b port Gi1 runs full duplex" in found.seen


def test_a_neighbour_s_mau_type_tells_its_duplex() -> None:
    patch_map = site([device("pump", "sw-a:Gi1", PUMP)])
    says = Neighbour(port="Gi1", chassis_id=PUMP, chassis_id_kind="macAddress", mau_type=16)
    now = snapshot(answer("sw-a", [port("Gi1", speed_mbps=100, duplex="half")], heard((PUMP, "Gi1")), [says]))
    assert [f.kind for f in quality(patch_map, now)] == [Kind.DUPLEX_MISMATCH]


@pytest.mark.parametrize("duplex", ["half", "full", "unknown", None])
def test_one_end_alone_is_no_mismatch(duplex: str | None) -> None:
    patch_map = site([device("pump", "sw-a:Gi1", PUMP)])
    now = snapshot(answer("sw-a", [port("Gi1", duplex=duplex)], heard((PUMP, "Gi1"))))
    assert quality(patch_map, now) == []


def counted(days: int, **counters: int) -> Snapshot:
    switch = answer("sw-a", [port("Gi1", counters=counters)], heard((PUMP, "Gi1")))
    switch.started = TAKEN + timedelta(days=days)
    switch.system = System(uptime_ticks=(30 + days) * DAY_TICKS)
    return snapshot(switch)


def rising(before: dict[str, int], now: dict[str, int], **more: Any) -> list[Finding]:
    patch_map = site([device("pump", "sw-a:Gi1", PUMP)])
    return quality(patch_map, counted(1, **now), counted(0, **before), **more)


def test_any_late_collision_is_told() -> None:
    # RFC 3635: late collisions never count on a full-duplex interface.
    (found,) = rising({"late_collisions": 4}, {"late_collisions": 28})
    assert (found.kind, found.severity) == (Kind.RISING_ERRORS, Severity.MEDIUM)
    assert found.seen == "24 more late collisions since the snapshot before, 1 an hour"


def test_damaged_frames_are_told_beyond_the_rate_that_ethernet_allows() -> None:
    # IEEE 802.3 (from memory): 1 bit in 10^10; 2 GB are 1.6 x 10^10 bits.
    octets = {"in_octets": 2_000_000_000}
    assert rising({"fcs_errors": 0, "in_octets": 0}, {"fcs_errors": 1} | octets) == []
    (found,) = rising({"fcs_errors": 0, "in_octets": 0}, {"fcs_errors": 48} | octets)
    assert found.severity is Severity.MEDIUM
    strict = Limits({"bits per tolerated bit error": Override(value=1e12, reason="our optics do better")})
    assert rising({"fcs_errors": 0, "in_octets": 0}, {"fcs_errors": 2} | octets, limits=strict)


def test_without_traffic_figures_a_rise_is_a_hint_only() -> None:
    (found,) = rising({"fcs_errors": 0}, {"fcs_errors": 3})
    assert found.severity is Severity.LOW


def test_a_counter_that_was_cleared_tells_nothing() -> None:
    assert rising({"fcs_errors": 500}, {"fcs_errors": 2}) == []


def powered(budget: float, classes: list[int | None], used: float) -> Snapshot:
    feeding = [Power(state="deliveringPower", power_class=c, group=1) for c in classes]
    switch = answer("sw-a", [port(f"Gi{n}", "down", power=power) for n, power in enumerate(feeding)])
    switch.power_groups = [PowerGroup(group=1, budget_watts=budget, used_watts=used, state="on", warn_percent=80)]
    return snapshot(switch)


@pytest.mark.parametrize(
    ("budget", "classes", "used", "severity"),
    [
        (370, [3] * 24, 100, None),  # 24 x 15.4 W = 369.6 W fit
        (370, [4] * 13, 100, Severity.MEDIUM),  # 13 x 30 W = 390 W may be drawn
        (370, [None] * 25, 100, Severity.MEDIUM),  # unknown classes are planned as class 0: 385 W
        (100, [3], 104, Severity.HIGH),
        (100, [3], 85, Severity.MEDIUM),  # beyond pethMainPseUsageThreshold, RFC 3621
    ],
)
def test_a_supply_is_judged_by_what_is_drawn_and_by_what_may_be(
    budget: float, classes: list[int | None], used: float, severity: Severity | None
) -> None:
    found = quality(site(), powered(budget, classes, used))
    assert [f.severity for f in found] == ([severity] if severity else [])
    assert all("local electrical code" in f.advice for f in found)


def test_every_quality_finding_has_a_cause_of_its_own() -> None:
    result = reconcile(linked(), snapshot(*two_switches({"speed_mbps": 100}, {"speed_mbps": 100, "duplex": "half"})))
    assert [cause.kind for cause in result.causes] == ["slow link"]
    assert [cause.findings for cause in result.causes] == [(f.key,) for f in result.findings]
