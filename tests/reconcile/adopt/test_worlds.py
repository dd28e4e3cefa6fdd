"""In every small world and every story: what was adopted is gone, and nothing else came or went."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from collectors.snapshot import Snapshot
from reconcile.adopt.wish import By, Wish
from reconcile.findings import Finding, Kind
from reconcile.patchmap.edit.keeping import revert
from reconcile.patchmap.files import read_map
from reconcile.pipeline import reconcile
from reconcile.site import Site
from tests.reconcile.adopt.making import FORMS, Form, adopted, contents, keys, wish_for
from tests.worlds import changes
from tests.worlds.equipment import host, mute
from tests.worlds.model import World
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES
from tests.worlds.strategies import Small, small_worlds

NEWCOMER = "dc:a6:32:9e:04:5b"
quick = settings(
    max_examples=10,
    deadline=None,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),  # an example is small enough as it is, and takes a while
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
forms = st.sampled_from(FORMS)


def check_adopted(form: Form, world: World, folder: Path, *, by: By | None = None, off: tuple[str, ...] = ()) -> Site:
    """Adopts the first difference: all of its cause go, no other comes or goes, and going back gives every byte."""
    snapshot = snapshot_of(world)
    here = form(world.record, folder)
    before = keys(here, snapshot)
    cause = next(iter(reconcile(read_map(here)[0], snapshot).causes), None)
    assume(cause is not None)  # a schedule has no row for what is plugged straight into a switch
    assert cause is not None
    wish = wish_for(before[cause.findings[0]])
    was = contents(here)
    adopted(here, snapshot, Wish(wish.keys, name=wish.name, off=(*wish.off, *off), by=by))
    after = keys(here, snapshot)
    assert set(before) - set(after) == set(cause.findings)
    assert set(after) <= set(before)
    now = contents(here)
    revert(here.map.path if here.map.form == "tables" else here.folder)
    assert contents(here) == was
    for name, content in now.items():
        _untouched_lines_stay(was[name], content)
    return here


def _untouched_lines_stay(was: bytes, now: bytes) -> None:
    """Of a CSV file a few rows change, and the others keep every byte and their order."""
    if not was.startswith(b"PK"):
        kept = [line for line in was.splitlines(keepends=True) if line in now.splitlines(keepends=True)]
        assert len(was.splitlines()) - len(kept) <= 5
        assert [line for line in now.splitlines(keepends=True) if line in kept] == kept


def scratch(tmp_path: Path) -> Path:
    """A folder that no earlier example has used."""
    return tmp_path / str(len(list(tmp_path.iterdir())))


@quick
@given(small_worlds(least_devices=1), forms, st.data())
def test_a_moved_cord(tmp_path: Path, small: Small, form: Form, data: st.DataObject) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    assume(small.free)
    to = data.draw(st.sampled_from(small.free), "to")
    check_adopted(form, changes.replug(small.world, small.at[device], to), scratch(tmp_path))


@quick
@given(small_worlds(least_devices=2), forms, st.sampled_from((None, *By)), st.data())
def test_two_crossed_cords_by_cords_or_by_devices(
    tmp_path: Path, small: Small, form: Form, by: By | None, data: st.DataObject
) -> None:
    one, two = data.draw(st.lists(st.sampled_from(sorted(small.at)), min_size=2, max_size=2, unique=True), "devices")
    check_adopted(form, changes.cross(small.world, small.at[one], small.at[two]), scratch(tmp_path), by=by)


@quick
@given(small_worlds(least_devices=3), forms, st.data())
def test_three_cords_in_a_ring(tmp_path: Path, small: Small, form: Form, data: st.DataObject) -> None:
    names = data.draw(st.lists(st.sampled_from(sorted(small.at)), min_size=3, max_size=3, unique=True), "devices")
    one, two, three = (small.at[name] for name in names)
    world = changes.cross(changes.cross(small.world, one, two), two, three)
    check_adopted(form, world, scratch(tmp_path))


@quick
@given(small_worlds(least_devices=1), forms, st.data())
def test_a_replaced_device(tmp_path: Path, small: Small, form: Form, data: st.DataObject) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    check_adopted(form, changes.new_address(small.world, device, NEWCOMER), scratch(tmp_path))


@quick
@given(small_worlds(), forms, st.data())
def test_a_newcomer_and_something_without_a_voice(
    tmp_path: Path, small: Small, form: Form, data: st.DataObject
) -> None:
    assume(small.free)
    at = data.draw(st.sampled_from(small.free), "at")
    box = data.draw(st.sampled_from((host("newcomer", NEWCOMER), mute("mute"))), "box")
    check_adopted(form, changes.add_box(small.world, box, at), scratch(tmp_path))


@quick
@given(small_worlds(), forms, st.data())
def test_a_moved_uplink(tmp_path: Path, small: Small, form: Form, data: st.DataObject) -> None:
    was, to = data.draw(st.sampled_from(small.trunks), "from and to")
    check_adopted(form, changes.replug(small.world, was, to), scratch(tmp_path))


@quick
@given(small_worlds(least_devices=1), forms, st.data())
def test_a_device_that_is_gone_with_the_cord_in_its_port(
    tmp_path: Path, small: Small, form: Form, data: st.DataObject
) -> None:
    device = data.draw(st.sampled_from(sorted(small.at)), "device")
    at = small.at[device]
    cord = next((c.label for c in small.world.record.cords if at in (str(c.a), str(c.b))), "")
    check_adopted(form, changes.unplug(small.world, at), scratch(tmp_path), off=(cord,) if cord else ())


def wanted(finding: Finding, snapshot: Snapshot) -> Wish:
    """A person's answer for the stories, where the network alone does not tell."""
    if finding.kind is Kind.UNDOCUMENTED_DEVICE and len(finding.macs) > 1:
        return Wish((finding.key,), behind="small-switch")
    if finding.kind is Kind.PORT_NOT_FOUND:
        return Wish((finding.key,), at="wet-1:Gi1/0/7")
    return wish_for(finding)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
@pytest.mark.parametrize("story", sorted(STORIES))
def test_every_story_is_as_documented_when_all_was_adopted(story: str, form: Form, tmp_path: Path) -> None:
    world, _ = STORIES[story]()
    snapshot = snapshot_of(world)
    here = form(world.record, tmp_path)
    for _ in range(6):
        left = keys(here, snapshot)
        if not left:
            break
        adopted(here, snapshot, wanted(next(iter(left.values())), snapshot))
    assert keys(here, snapshot) == {}
