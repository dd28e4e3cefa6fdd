"""Real switches that see one another: each link is found once, with both ends (recordings of snmpsim-data 1.0.1)."""

from __future__ import annotations

import pytest

from reconcile.frames import observe
from reconcile.locate import locate
from reconcile.locate.placement import Grade, Located, PortRef
from tests.collectors import recorded
from tests.reconcile.locate.recorded_switches import snapshot, switch

ROUTERS = {
    "first": "network/router/juniper-mx960-12-3r6-6",
    "second": "network/router/juniper-mx960-13-3r9-13",
    "a": "network/router/juniper-mx960-16-1r6-7-a",
    "b": "network/router/juniper-mx960-16-1r6-7-b",
}


def place(names: dict[str, str], config: pytest.Config) -> Located:
    return locate(observe(snapshot(*(switch(name, recorded.trimmed(path, config)) for name, path in names.items()))))


def links(located: Located) -> list[tuple[str, str]]:
    """Each link by its two ports, once."""
    both = [(u.here, u.there) for u in located.uplinks.values() if u.there is not None]
    assert all(located.uplinks[there].there == here for here, there in both), "told from one end alone"
    return sorted({(str(min(pair)), str(max(pair))) for pair in both})


def test_a_switch_that_names_itself_in_three_ways_is_one_neighbour(pytestconfig: pytest.Config) -> None:
    """Port 17 has the other one's port address as chassis id, its name with a serial number, and CDP's mirror."""
    pair = {"hpe": "network/switch/hpe-procurve-516733-b21", "nexus": "network/switch/cisco-n5000-uk9"}
    located = place(pair, pytestconfig)
    assert links(located) == [("hpe:17", "nexus:Ethernet1/19")]
    assert located.uplinks[PortRef("hpe", "17")].source == "lldp"
    assert located.placements  # and the blades of the enclosure are placed at its own ports
    assert {p.at.switch for p in located.placements.values() if p.grade is Grade.CERTAIN and p.at} == {"hpe"}


@pytest.mark.long
def test_a_ring_of_four_routers_has_four_links(pytestconfig: pytest.Config) -> None:
    """Eight LLDP rows, the remote port an ifIndex as text. The fifty addresses that a and b share sit on a."""
    located = place(ROUTERS, pytestconfig)
    assert links(located) == [
        ("a:xe-3/0/0", "second:xe-0/2/0"),
        ("a:xe-3/1/1", "b:xe-1/2/0"),
        ("b:xe-0/2/0", "first:xe-0/2/0"),
        ("first:xe-1/2/0", "second:xe-1/2/0"),
    ]
    placed = [str(p.at) for p in located.placements.values() if p.at is not None]
    assert len(placed) >= 50
    assert set(placed) == {"a:ge-0/0/5"}
