"""The hatchery under fixtures/ is what its world writes, to the byte."""

from __future__ import annotations

from tests.worlds import cable_limits
from tests.worlds.files import SITES, read_site


def test_the_committed_hatchery_equals_what_its_world_writes() -> None:
    assert read_site(SITES / "cable-limits") == cable_limits.files(), "run python -m tests.worlds.cable_limits"
