"""Names that a person or a neighbour gives: they stand in the map as given, or nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from reconcile.adopt.adoption import adopt
from reconcile.adopt.wish import Wish
from reconcile.errors import ReconcileError
from reconcile.patchmap.files import read_map
from reconcile.patchmap.spelling import clean
from tests.nasty import NASTY
from tests.reconcile.adopt.making import FORMS, contents, keys
from tests.worlds import saltmarsh
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import STORIES

SNAPSHOT = snapshot_of(saltmarsh.drifted())
RECORD = saltmarsh.drifted().record


@pytest.mark.parametrize("what", sorted(set(NASTY) - {"emptiness"}))
def test_a_nasty_name_is_read_again_as_it_was_given_or_nothing_is_written(what: str, tmp_path: Path) -> None:
    for number, form in enumerate((FORMS[0], FORMS[3])):
        here = form(RECORD, tmp_path / str(number))
        was = contents(here)
        key = next(key for key in keys(here, SNAPSHOT) if key.startswith("undocumented"))
        try:
            adopt(here, SNAPSHOT, Wish((key,), name=NASTY[what])).write()
        except ReconcileError:
            assert contents(here) == was
            continue
        names = {device.name for device in read_map(here)[0].devices}
        assert not NASTY[what].strip() or clean(NASTY[what]) in names
        assert key not in keys(here, SNAPSHOT)


def test_what_a_neighbour_calls_itself_never_becomes_a_cell_that_acts(tmp_path: Path) -> None:
    world, _ = STORIES["undocumented-device"]()
    snapshot = snapshot_of(world)
    said = [row for switch in snapshot.switches for row in switch.neighbours]
    for row in said:
        row.__dict__["system_name"] = "=cmd()"
    here = FORMS[0](world.record, tmp_path)
    key = next(iter(keys(here, snapshot)))
    adopt(here, snapshot, Wish((key,))).write()
    assert all(b"=cmd" not in content for content in contents(here).values())
