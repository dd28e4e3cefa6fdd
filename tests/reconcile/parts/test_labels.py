"""Label texts by the site's pattern: both ends, unique, gaps told."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from reconcile.parts.labels import labels
from reconcile.patchmap.model import Cord, Device, End, FixedCable, PatchMap, Switch
from reconcile.site_file import LabelsTable


def site(*labelled: str) -> PatchMap:
    cords = [Cord(label=text, a=End("sw-a", str(n)), b=End("PP-A", str(n))) for n, text in enumerate(labelled, 1)]
    return PatchMap(switches=[Switch(name="sw-a", room="comms")], cords=cords)


def test_each_end_names_itself_first() -> None:
    (label,) = labels(site("C-1"), LabelsTable())
    assert (label.at_a, label.at_b, label.problem) == ("sw-a:1 > PP-A:1", "PP-A:1 > sw-a:1", "")


def test_the_site_s_pattern_is_filled_with_label_and_room() -> None:
    (label,) = labels(site("C-1"), LabelsTable(cord="{label} {room}/{here}"))
    assert label.at_a == "C-1 comms/sw-a:1"
    assert label.problem == "the map has no room for it"  # at the panel


def test_one_text_on_two_cords_is_a_collision_on_both() -> None:
    made = labels(site("C-1", "C-2", "c-1"), LabelsTable(cord="{label}"))
    assert ["the same text" in label.problem for label in made] == [True, False, True]


def test_the_same_text_on_both_ends_of_one_cord_is_none() -> None:
    assert [label.problem for label in labels(site("C-1"), LabelsTable(cord="{label}"))] == [""]


def test_a_cord_and_a_fixed_cable_must_not_bear_the_same_text() -> None:
    patch_map = site("X-1")
    patch_map.fixed_cables.append(FixedCable(label="X-1", a=End("PP-A", "1"), b=End("WL-01", "1")))
    assert all(label.problem for label in labels(patch_map, LabelsTable(cord="{label}", cable="{label}")))


def test_the_lead_of_a_device_without_a_row_is_labelled_too() -> None:
    patch_map = site()
    patch_map.devices.append(Device(name="pump", at=End("WL-01", "1")))
    assert [(label.at_a, label.at_b) for label in labels(patch_map, LabelsTable())] == [
        ("WL-01:1 > pump", "pump > WL-01:1")
    ]


def test_what_a_name_holds_is_text_and_never_a_pattern() -> None:
    (label,) = labels(site("{here}"), LabelsTable(cord="{label}"))
    assert label.at_a == "{here}"


@pytest.mark.parametrize("pattern", ["{nothing}", "{here", "{here!r}", "{here.__class__}", "{here:9999999}", "{}", "}"])
def test_a_pattern_has_known_fields_only(pattern: str) -> None:
    with pytest.raises(ValidationError, match="no other fields"):
        LabelsTable(cord=pattern)
