"""Which labels there are, and which of them warn of power."""

from __future__ import annotations

from functools import lru_cache

import pytest

from reconcile.errors import UsageError
from reconcile.parts.tags import POE_CAUTION, Labelled, Tags, tags
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.picture import Picture
from reconcile.pipeline import compare
from reconcile.site_file import LabelsTable
from tests.reconcile.handmade_network import answer, port, snapshot

RECORD = PatchMap(
    switches=[Switch(name="sw-a", room="closet", rack="R1", ports=("1", "2"))],
    panels=[Panel(name="PP", jacks=("1", "2", "3"), room="closet", rack="R1")],
    outlets=[Outlet(name="O-1", room="lab"), Outlet(name="O-2", room="loft")],
    fixed_cables=[FixedCable(label="F1", a=End("PP", "1"), b=End("O-1", "1")),
                  FixedCable(label="F2", a=End("PP", "2"), b=End("O-2", "1"))],
    cords=[Cord(label="C1", a=End("sw-a", "1"), b=End("PP", "1")),
           Cord(label="C2", a=End("sw-a", "2"), b=End("PP", "2"))],
    devices=[Device(name="camera", at=End("O-1", "1")), Device(name="pc", at=End("O-2", "1"))],
)  # fmt: skip


@lru_cache(maxsize=1)
def seen() -> Picture:
    """Port 1 offers power, port 2 does not."""
    ports = [port("1", power={"enabled": True, "state": "searching"}), port("2", power={"enabled": False})]
    return compare(RECORD, snapshot(answer("sw-a", ports))).picture


def of(kind: Labelled, *what: str, picture: Picture | None = None) -> Tags:
    return tags(kind, what, RECORD, LabelsTable(), picture)


def test_both_ends_of_every_cord_are_labelled_side_by_side_those_without_a_row_included() -> None:
    assert [tag.text for tag in of(Labelled.CORDS).tags] == [
        "sw-a:1 > PP:1", "PP:1 > sw-a:1", "sw-a:2 > PP:2", "PP:2 > sw-a:2",
        "O-1:1 > camera", "camera > O-1:1", "O-2:1 > pc", "pc > O-2:1",
    ]  # fmt: skip


def test_every_jack_of_panels_and_outlets_has_a_label_that_says_where_its_cable_goes() -> None:
    found = [(tag.text, tag.more) for tag in of(Labelled.JACKS).tags]
    assert found == [
        ("PP:1", "to O-1:1"),
        ("PP:2", "to O-2:1"),
        ("PP:3", ""),
        ("O-1:1", "to PP:1"),
        ("O-2:1", "to PP:2"),
    ]


@pytest.mark.parametrize(
    ("kind", "live"),
    [
        (Labelled.CORDS, {"sw-a:1 > PP:1", "PP:1 > sw-a:1", "O-1:1 > camera", "camera > O-1:1"}),
        (Labelled.CABLES, {"PP:1 > O-1:1", "O-1:1 > PP:1"}),
        (Labelled.JACKS, {"PP:1", "O-1:1"}),
    ],
)
def test_the_caution_stands_on_the_whole_channel_behind_a_port_that_offers_power_and_nowhere_else(
    kind: Labelled, live: set[str]
) -> None:
    found = of(kind, picture=seen()).tags
    assert {tag.text for tag in found if tag.caution == POE_CAUTION} == live
    assert {tag.caution for tag in found if tag.text not in live} <= {""}


def test_without_a_snapshot_no_label_claims_anything_of_power() -> None:
    assert not any(tag.caution for tag in of(Labelled.CORDS).tags)


@pytest.mark.parametrize(
    ("what", "texts"),
    [
        ("c1", {"sw-a:1 > PP:1", "PP:1 > sw-a:1"}),
        ("PP:2", {"sw-a:2 > PP:2", "PP:2 > sw-a:2"}),
        ("pp", {"sw-a:1 > PP:1", "PP:1 > sw-a:1", "sw-a:2 > PP:2", "PP:2 > sw-a:2"}),
        ("r1", {"sw-a:1 > PP:1", "PP:1 > sw-a:1", "sw-a:2 > PP:2", "PP:2 > sw-a:2"}),
        ("Loft", {"O-2:1 > pc", "pc > O-2:1"}),
        ("camera", {"O-1:1 > camera", "camera > O-1:1"}),
    ],
)
def test_cords_can_be_chosen_by_label_jack_holder_rack_room_and_device(what: str, texts: set[str]) -> None:
    assert {tag.text for tag in of(Labelled.CORDS, what).tags} == texts


def test_a_name_that_nothing_bears_is_answered_with_the_nearest() -> None:
    with pytest.raises(UsageError, match="no cords of this name") as refused:
        of(Labelled.CORDS, "camra")
    assert "camera" in refused.value.hint


def test_a_name_that_is_near_to_nothing_is_answered_with_what_may_be_named() -> None:
    with pytest.raises(UsageError) as refused:
        of(Labelled.CORDS, "zzzzzzzz")
    assert refused.value.hint.startswith("a cord, jack, panel")


def test_a_pattern_that_gives_two_cords_the_same_text_is_told() -> None:
    found = tags(Labelled.CORDS, (), RECORD, LabelsTable(cord="{room}"), None)
    assert any("same text" in problem for problem in found.problems)


def test_a_map_without_cords_has_nothing_to_label_and_says_so() -> None:
    with pytest.raises(UsageError, match="none to label"):
        tags(Labelled.CORDS, (), PatchMap(), LabelsTable(), None)
