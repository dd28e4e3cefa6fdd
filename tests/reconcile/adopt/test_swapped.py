"""After a switch was replaced by one with another name and other port names, the map follows the file of pairs."""

from __future__ import annotations

from pathlib import Path

import pytest

from collectors.snapshot import Snapshot
from reconcile.adopt.adoption import adopt_ports
from reconcile.errors import UsageError
from reconcile.patchmap.files import read_map
from reconcile.reports.swap import ports_file
from reconcile.swap import Replacement, correspond, look
from tests.reconcile.adopt.making import FORMS, Form, keys
from tests.reconcile.swap.replacing import replace_switch
from tests.worlds import saltmarsh
from tests.worlds.dialects import OFFSET
from tests.worlds.snapshots import snapshot_of

WORLD = saltmarsh.documented()
BEFORE = snapshot_of(WORLD)


def after(name: str) -> Snapshot:
    return snapshot_of(replace_switch(WORLD, "acc-2", name, OFFSET.name_of, dialect=OFFSET))


@pytest.mark.parametrize("name", ["acc-2", "acc-9"])
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_the_map_follows_the_ports_of_the_new_switch(form: Form, name: str, tmp_path: Path) -> None:
    now = after(name)
    looks = look(WORLD.record, BEFORE), look(WORLD.record, now)
    found = correspond(*looks, [Replacement("acc-2", name)], {})
    here = form(WORLD.record, tmp_path)
    adoption = adopt_ports(here, BEFORE, now, ports_file(found.switches), "ports.csv")
    adoption.write()
    assert keys(here, now) == {}
    cables = list(read_map(here)[0].cables())
    ends = [end for cable in cables for end in (cable.a, cable.b) if end.name in ("acc-2", "acc-9")]
    assert {end.name for end in ends} == {name}
    assert all(end.position.startswith("GigabitEthernet1/0/") for end in ends)


def test_a_file_that_changes_nothing_says_so(tmp_path: Path) -> None:
    here = FORMS[0](WORLD.record, tmp_path)
    with pytest.raises(UsageError, match="nothing at a port that is called otherwise"):
        adopt_ports(here, BEFORE, BEFORE, "old port,new port\n", "ports.csv")
