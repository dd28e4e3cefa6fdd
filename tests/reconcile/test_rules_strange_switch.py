"""A switch that nobody documented is plugged in; found on a live network first (tests/lab)."""

from __future__ import annotations

from reconcile.findings import Kind
from tests.reconcile.handmade_network import answer, device, heard, only, port, run, site
from tests.reconcile.test_rules import DESK, STRANGER, SWITCH_B, TANK, lldp


def test_a_strange_switch_is_one_unexpected_link_whoever_is_heard_behind_it() -> None:
    patch_map = site([device("tank", "sw-a:1", TANK)])
    for behind in ((), ((STRANGER, "5"),), ((STRANGER, "5"), (DESK, "5"))):
        told = answer(
            "sw-a", [port("1"), port("5")], heard((TANK, "1"), *behind), neighbours=[lldp("5", SWITCH_B, "1")]
        )
        found = only(run(patch_map, told))
        assert (found.kind, found.where.port) == (Kind.UNEXPECTED_LINK, "5")
