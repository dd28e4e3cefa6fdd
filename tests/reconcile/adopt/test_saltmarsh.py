"""Every difference of the demo site, adopted in every form of the map: it is gone, and no other changed."""

from __future__ import annotations

from pathlib import Path

import pytest

from reconcile.adopt.wish import Wish
from reconcile.errors import UsageError
from reconcile.patchmap.edit.keeping import revert
from reconcile.pipeline import reconcile
from tests.reconcile.adopt.making import FORMS, Form, adopted, contents, keys, wish_for
from tests.worlds import changes, saltmarsh
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.drifted()
SNAPSHOT = snapshot_of(WORLD)
CAUSES = reconcile(WORLD.record, SNAPSHOT).causes


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
@pytest.mark.parametrize("number", range(len(CAUSES)))
def test_an_adopted_cause_is_gone_and_nothing_else_changed_and_going_back_gives_every_byte(
    number: int, form: Form, tmp_path: Path
) -> None:
    here = form(WORLD.record, tmp_path)
    was, before = contents(here), keys(here, SNAPSHOT)
    cause = next(c for c in reconcile(WORLD.record, SNAPSHOT).causes if c == CAUSES[number])
    adopted(here, SNAPSHOT, wish_for(before[cause.findings[0]]))
    after = keys(here, SNAPSHOT)
    assert set(before) - set(after) == set(cause.findings)
    assert set(after) <= set(before)
    assert contents(here) != was
    folder = here.map.path if here.map.form == "tables" else here.folder
    revert(folder)
    assert contents(here) == was


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_all_causes_one_after_the_other_leave_no_difference(form: Form, tmp_path: Path) -> None:
    here = form(WORLD.record, tmp_path)
    for _ in CAUSES:
        left = keys(here, SNAPSHOT)
        adopted(here, SNAPSHOT, wish_for(next(iter(left.values()))))
    assert keys(here, SNAPSHOT) == {}


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_a_block_of_cords_that_sits_one_higher_is_adopted_as_one(form: Form, tmp_path: Path) -> None:
    world = saltmarsh.documented()
    for number in range(9, 2, -1):
        world = changes.replug(world, f"acc-1:Gi1/0/{number}", f"acc-1:Gi1/0/{number + 1}")
    snapshot = snapshot_of(world)
    here = form(world.record, tmp_path)
    found = adopted(here, snapshot, wish_for(next(iter(keys(here, snapshot).values()))))
    assert [len(plan.changes) for plan in found.plans] == [7]
    assert keys(here, snapshot) == {}


@pytest.mark.parametrize("word", ["0000000019", "00000000" + "1" * 5000, "99"])
def test_a_number_in_place_of_a_key_is_refused_in_words_however_long(word: str, tmp_path: Path) -> None:
    here = FORMS[0](WORLD.record, tmp_path)
    with pytest.raises(UsageError, match="no difference of this snapshot has this key"):
        adopted(here, SNAPSHOT, Wish((word,)))
