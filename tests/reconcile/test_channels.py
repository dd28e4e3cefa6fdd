"""Channels, followed from end to end.

The compositions are those of the generic cabling model of ISO/IEC 11801 (and ANSI/TIA-568): equipment cord, patch
panel, fixed horizontal cable, telecommunications outlet, work-area cord; with an interconnect at the panel, with a
cross-connect of two panels, with a consolidation point. From memory; section 3.1 of the handbook figures that this
project keeps agrees (permanent link between panel and outlet, channel with the cords at both ends).
"""

from __future__ import annotations

import random
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reconcile.channels import BrokenChannel, Channel, Step, StepKind, resolve
from reconcile.patchmap.index import MapIndex, Place
from reconcile.patchmap.model import Cord, Device, Outlet, PatchMap, Switch
from tests.reconcile.patchmap.tangles import cord, end, fixed, panel, shuffled, tangles

PORT, CORD, JACK, FIXED, OUTLET, DEVICE = StepKind


def kinds(steps: tuple[Step, ...]) -> list[StepKind]:
    return [step.kind for step in steps]


def test_an_interconnect_channel_is_port_cord_jack_fixed_cable_outlet_cord_device() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-A")],
        outlets=[Outlet(name="WL-01", room="Wet lab")],
        fixed_cables=[fixed("FC-1", "PP-A:1", "WL-01:1")],
        cords=[cord("C-1", "PP-A:1", "SW-1:Gi1/0/1"), cord("W-1", "PUMP-1", "WL-01")],
        devices=[Device(name="PUMP-1")],
    )
    (channel,) = resolve(the_map).resolved
    assert kinds(channel.steps) == [PORT, CORD, JACK, FIXED, OUTLET, CORD, DEVICE]
    assert str(channel) == "SW-1:Gi1/0/1 - C-1 - PP-A:1 - FC-1 - WL-01:1 - W-1 - PUMP-1"
    assert (channel.port, channel.device) == (end("SW-1:Gi1/0/1"), the_map.devices[0])
    assert channel.key == "SW-1:Gi1/0/1"
    assert [step.room for step in channel.steps if step.kind is OUTLET] == ["Wet lab"]


def test_a_cross_connect_channel_has_two_panels_with_a_patch_cord_between() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-E"), panel("PP-A")],
        outlets=[Outlet(name="WL-01")],
        fixed_cables=[fixed("E-1", "SW-1:1", "PP-E:1"), fixed("FC-1", "PP-A:1", "WL-01:1")],
        cords=[cord("C-1", "PP-E:1", "PP-A:1")],
        devices=[Device(name="PUMP-1", at=end("WL-01:1"))],
    )
    (channel,) = resolve(the_map).resolved
    assert kinds(channel.steps) == [PORT, FIXED, JACK, CORD, JACK, FIXED, OUTLET, CORD, DEVICE]


def test_a_tie_cable_leads_from_the_front_panel_to_the_rear_one() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-F"), panel("PP-R")],
        fixed_cables=[fixed(f"T{n}", f"PP-F:{n}", f"PP-R:{n}") for n in range(1, 5)],
        cords=[cord("C-1", "SW-1:1", "PP-F:2"), cord("C-2", "PP-R:2", "SRV-1")],
        devices=[Device(name="SRV-1")],
    )
    channels = resolve(the_map)
    assert [str(c) for c in channels.resolved] == ["SW-1:1 - C-1 - PP-F:2 - T2 - PP-R:2 - C-2 - SRV-1"]
    assert [c.key for c in channels.spare] == ["PP-R:1", "PP-R:3", "PP-R:4"]


def test_a_consolidation_point_is_one_more_jack_on_the_way_to_the_outlet() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-A"), panel("CP-1")],
        outlets=[Outlet(name="WL-01")],
        fixed_cables=[fixed("H-1", "PP-A:1", "CP-1:1")],
        cords=[cord("C-1", "SW-1:1", "PP-A:1"), cord("CP-CABLE", "CP-1:1", "WL-01:1")],
        devices=[Device(name="PUMP-1")],
    )
    channels = resolve(the_map)
    assert [str(c) for c in channels.resolved] == [
        "SW-1:1 - C-1 - PP-A:1 - H-1 - CP-1:1 - CP-CABLE - WL-01:1",
        "PUMP-1",
    ]


def test_a_plug_terminated_fixed_cable_ends_in_the_device_itself() -> None:
    """ANSI/TIA-568.2-D, modular plug terminated link (from memory): a camera without an outlet."""
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-A")],
        fixed_cables=[fixed("FC-1", "PP-A:1", "CAMERA-1")],
        cords=[cord("C-1", "SW-1:1", "PP-A:1")],
        devices=[Device(name="CAMERA-1")],
    )
    (channel,) = resolve(the_map).resolved
    assert kinds(channel.steps) == [PORT, CORD, JACK, FIXED, DEVICE]


def test_a_direct_cord_leads_to_a_device_to_a_firewall_port_or_to_another_switch() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1"), Switch(name="SW-2")],
        cords=[cord("C-1", "SW-1:1", "NAS"), cord("C-2", "FW:wan", "SW-1:2"), cord("C-3", "SW-2:8", "SW-1:8")],
        devices=[Device(name="NAS"), Device(name="FW")],
    )
    channels = resolve(the_map)
    assert [str(c) for c in channels.resolved] == [
        "SW-1:1 - C-1 - NAS",
        "SW-1:2 - C-2 - FW:wan",
        "SW-1:8 - C-3 - SW-2:8",
        "SW-2:8 - C-3 - SW-1:8",
    ]
    assert [c.far_port for c in channels.resolved] == [None, None, end("SW-2:8"), end("SW-1:8")]


def test_a_device_with_several_sockets_has_a_channel_for_each() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        cords=[cord("C-1", "SW-1:1", "FW:lan"), cord("C-2", "SW-1:2", "FW:wan")],
        devices=[Device(name="FW")],
    )
    channels = resolve(the_map)
    assert {str(c.port) for c in channels.of_device("fw")} == {"SW-1:1", "SW-1:2"}
    assert channels.by_device["fw"].port == end("SW-1:1")


def test_where_a_device_is_plugged_in_counts_as_a_cord_without_a_row() -> None:
    the_map = PatchMap(switches=[Switch(name="SW-1")], devices=[Device(name="NAS", at=end("SW-1:3"))])
    (channel,) = resolve(the_map).resolved
    assert (kinds(channel.steps), channel.steps[1].label) == ([PORT, CORD, DEVICE], "")
    assert str(channel) == "SW-1:3 - cord - NAS"


def test_a_device_whose_place_repeats_its_cord_is_in_one_place() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        cords=[cord("C-1", "NAS:eth0", "SW-1:3")],
        devices=[Device(name="NAS", at=end("SW-1:3"))],
    )
    channels = resolve(the_map)
    assert ([str(c) for c in channels.resolved], channels.broken) == (["SW-1:3 - C-1 - NAS:eth0"], ())


def test_a_computer_behind_a_phone_is_to_be_expected_at_the_port_of_the_phone() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        devices=[
            Device(name="PHONE", carries=True, at=end("SW-1:3")),
            Device(name="PC", at=end("PHONE:pc")),
        ],
    )
    phone, pc = resolve(the_map).resolved
    assert (phone.port, phone.behind) == (end("SW-1:3"), None)
    assert (pc.port, pc.behind, pc.next_device) == (None, end("SW-1:3"), the_map.devices[0])
    assert str(pc) == "PC - cord - PHONE:pc"


def test_a_device_behind_several_that_carry_is_to_be_expected_at_the_first_ones_port() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        devices=[
            Device(name="BENCH-HUB", carries=True, at=end("SW-1:3")),
            Device(name="PHONE", carries=True, at=end("BENCH-HUB:2")),
            Device(name="PC", at=end("PHONE:pc")),
        ],
    )
    assert resolve(the_map).by_device["pc"].behind == end("SW-1:3")


def test_a_device_behind_a_firewall_is_not_expected_at_its_port() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        devices=[Device(name="FW", at=end("SW-1:3")), Device(name="MODEM", at=end("FW:wan"))],
    )
    assert resolve(the_map).by_device["modem"].behind is None


def test_a_device_at_no_place_still_has_a_channel_of_its_own() -> None:
    (channel,) = resolve(PatchMap(devices=[Device(name="SHELVED")])).resolved
    assert (channel.port, channel.key, kinds(channel.steps)) == (None, "SHELVED", [DEVICE])


def test_an_outlet_with_one_jack_needs_no_position_and_leading_zeros_do_not_matter() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-A", 12)],
        outlets=[Outlet(name="WL-01")],
        fixed_cables=[fixed("FC-7", "pp-a:07", "wl-01")],
        cords=[cord("C-1", "SW-1:1", "PP-A:7")],
    )
    (channel,) = resolve(the_map).resolved
    assert str(channel) == "SW-1:1 - C-1 - PP-A:7 - FC-7 - WL-01:1"


def test_a_port_is_found_in_the_switchs_own_list_under_any_usual_spelling() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1", ports=("GigabitEthernet1/0/1",))],
        devices=[Device(name="NAS", at=end("sw-1:gi 1/0/1"))],
    )
    channels = resolve(the_map)
    assert list(channels.by_port) == [("sw-1", "gigabitethernet1/0/1")]


@pytest.mark.parametrize(
    ("cords", "reason"),
    [
        ([cord("C-1", "SW-1:1", "PP-X:1")], 'no switch, panel, outlet or device is called "PP-X"'),
        ([cord("C-1", "SW-1:1", "PP-A:9")], 'panel "PP-A" has no jack "9"'),
        ([cord("C-1", "SW-1:1", "PP-A")], "PP-A is a panel: which JACK of it?"),
        ([cord("C-1", "SW-1:1", "SW-1:1")], "both its ends are SW-1:1"),
        ([cord("C-1", "SW-1:1", "PP-A:1"), cord("C-2", "SW-1:2", "PP-A:1")], '"PP-A:1" is used by cord "C-1" and'),
        ([cord("C-1", "SW-1:1", "PP-A:1"), cord("C-2", "SW-1:1", "PP-A:2")], '"SW-1:1" is used by cord "C-1" and'),
    ],
)
def test_a_path_that_cannot_be_followed_says_why_and_from_where(cords: list[Cord], reason: str) -> None:
    channels = resolve(PatchMap(switches=[Switch(name="SW-1")], panels=[panel("PP-A")], cords=cords))
    assert channels.broken[0].reason.startswith(reason)
    assert channels.broken[0].port == end("SW-1:1")
    assert end("SW-1:1").key not in channels.by_port


def test_a_place_that_is_used_twice_is_followed_from_no_side() -> None:
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel("PP-A")],
        fixed_cables=[fixed("FC-1", "PP-A:1", "CAMERA")],
        cords=[cord("C-1", "SW-1:1", "PP-A:1"), cord("C-2", "SW-1:2", "PP-A:1")],
        devices=[Device(name="CAMERA")],
    )
    channels = resolve(the_map)
    assert channels.resolved == ()
    assert {(b.port, b.device.name if b.device else None) for b in channels.broken} == {
        (end("SW-1:1"), None),
        (end("SW-1:2"), None),
        (None, "CAMERA"),
    }


def test_a_loop_of_jacks_is_told_once() -> None:
    the_map = PatchMap(
        panels=[panel("PP-A"), panel("PP-B")],
        fixed_cables=[fixed("T1", "PP-A:1", "PP-B:1"), fixed("T2", "PP-A:2", "PP-B:2")],
        cords=[cord("C-1", "PP-A:1", "PP-A:2"), cord("C-2", "PP-B:1", "PP-B:2")],
    )
    (loop,) = resolve(the_map).broken
    assert loop.steps[0].end == loop.steps[-1].end
    assert {step.label for step in loop.steps if step.end is None} == {"T1", "T2", "C-1", "C-2"}


def test_a_cord_with_two_unknown_ends_is_not_lost() -> None:
    (broken,) = resolve(PatchMap(cords=[cord("C-1", "X:1", "Y:1")])).broken
    assert [step.label for step in broken.steps] == ["C-1"]


def every_path(the_map: PatchMap) -> list[Channel | BrokenChannel]:
    channels = resolve(the_map)
    return [*channels.resolved, *channels.spare, *channels.broken]


@given(tangles())
def test_no_cord_cable_or_device_vanishes(the_map: PatchMap) -> None:
    told = {step.label for path in every_path(the_map) for step in path.steps}
    assert {row.label for row in the_map.cables()} <= told
    named = {step.end.name for path in every_path(the_map) for step in path.steps if step.end}
    assert {"D-1", "D-2"} <= named


@given(tangles(), st.randoms())
def test_the_order_of_rows_changes_nothing(the_map: PatchMap, chance: random.Random) -> None:
    one, other = resolve(the_map), resolve(shuffled(the_map, chance))
    assert one.resolved == other.resolved
    assert one.spare == other.spare
    assert sorted(b.reason for b in one.broken) == sorted(b.reason for b in other.broken)


@given(tangles())
def test_a_resolved_path_is_a_connected_component_of_the_cabling(the_map: PatchMap) -> None:
    """networkx as an outside check: sides of places are nodes, cords, cables and jacks are edges."""
    graph: nx.MultiGraph[object] = nx.MultiGraph()
    index = MapIndex(the_map)
    for number, link in enumerate(index.links):
        for one in link.ends:
            graph.add_edge(one.slot or f"nowhere {number}{one.field}", f"link {number}")
            if isinstance(one.place, Place) and one.place.two_sided:
                graph.add_edge(one.place.slot(fixed=True), one.place.key, key="jack")
                graph.add_edge(one.place.slot(fixed=False), one.place.key, key="jack")
    sound = 0
    for channel in (*resolve(the_map).resolved, *resolve(the_map).spare):
        ends = [index.place(step.end) for step in channel.steps if step.end]
        start = ends[0]
        assert isinstance(start, Place)
        node = start.key if start.two_sided else start.slot(fixed=False)
        if node not in graph:
            assert len(channel.steps) == 1  # a device at no place
            continue
        component = nx.node_connected_component(graph, node)
        assert len([n for n in component if str(n).startswith("link")]) == (len(channel.steps) - 1) // 2
        sound += 1
        assert all(graph.degree(n) <= 2 for n in component)
        assert nx.is_forest(nx.Graph(graph.subgraph(component)))


@settings(max_examples=30)
@given(st.integers(1, 40), st.data())
def test_any_number_of_ties_is_followed(ties: int, data: st.DataObject) -> None:
    """A chain of panels, tied and patched in turn, with each row written either way round."""
    the_map = PatchMap(
        switches=[Switch(name="SW-1")],
        panels=[panel(f"P{n}", 1) for n in range(2 * ties)],
        devices=[Device(name="SRV-1")],
    )
    chain = ["SW-1:1", *(f"P{n}:1" for n in range(2 * ties)), "SRV-1"]
    for number, pair in enumerate(pairwise(chain)):
        a, b = pair if data.draw(st.booleans()) else pair[::-1]
        if number % 2:
            the_map.fixed_cables.append(fixed(f"T{number}", a, b))
        else:
            the_map.cords.append(cord(f"C{number}", a, b))
    (channel,) = resolve(the_map).resolved
    assert [str(step.end) for step in channel.steps if step.end] == chain
