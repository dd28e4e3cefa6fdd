"""Real switches (recordings of snmpsim-data): the draft of what they saw is clean, and says what it leaves open."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.collectors import recorded
from tests.reconcile.draft.round_trip import FORMS, trip
from tests.reconcile.locate.recorded_switches import snapshot, switch

SMALL = [name for name, facts in recorded.truth().items() if facts["rows"] < recorded.LARGE]
LARGE = [name for name in recorded.truth() if name not in SMALL]


def assert_clean(names: dict[str, str], folder: Path, config: pytest.Config) -> None:
    seen = snapshot(*(switch(name, recorded.trimmed(path, config)) for name, path in names.items()))
    found = trip(seen, folder, FORMS[len("".join(names.values())) % len(FORMS)])
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []
    written = [mac for row in found.draft.rows for mac in row.macs]
    assert len(written) == len(set(written))


@pytest.mark.parametrize("name", SMALL)
def test_the_draft_of_a_real_switch_is_clean(name: str, tmp_path: Path, pytestconfig: pytest.Config) -> None:
    assert_clean({"sw": name}, tmp_path, pytestconfig)


@pytest.mark.long
@pytest.mark.parametrize("name", LARGE)
def test_the_draft_of_a_large_real_switch_is_clean(name: str, tmp_path: Path, pytestconfig: pytest.Config) -> None:
    assert_clean({"sw": name}, tmp_path, pytestconfig)


def test_two_real_switches_that_see_one_another_have_one_link(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    """The link that their tables tell from both sides; what the record of recordings says of it stands there."""
    pair = {"hpe": "network/switch/hpe-procurve-516733-b21", "nexus": "network/switch/cisco-n5000-uk9"}
    seen = snapshot(*(switch(name, recorded.trimmed(path, pytestconfig)) for name, path in pair.items()))
    found = trip(seen, tmp_path)
    links = [(str(row.at), str(row.far)) for row in found.draft.rows if row.far]
    assert links == [("hpe:17", "nexus:Ethernet1/19")]
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []


@pytest.mark.long
def test_a_ring_of_four_real_routers_is_drafted_as_a_ring(tmp_path: Path, pytestconfig: pytest.Config) -> None:
    """Eight rows of LLDP, the remote port an ifIndex as text."""
    routers = {
        "first": "network/router/juniper-mx960-12-3r6-6",
        "second": "network/router/juniper-mx960-13-3r9-13",
        "a": "network/router/juniper-mx960-16-1r6-7-a",
        "b": "network/router/juniper-mx960-16-1r6-7-b",
    }
    seen = snapshot(*(switch(name, recorded.trimmed(path, pytestconfig)) for name, path in routers.items()))
    found = trip(seen, tmp_path)
    assert {frozenset((str(row.at), str(row.far))) for row in found.draft.rows if row.far} == {
        frozenset(pair)
        for pair in (
            ("a:xe-3/0/0", "second:xe-0/2/0"),
            ("a:xe-3/1/1", "b:xe-1/2/0"),
            ("b:xe-0/2/0", "first:xe-0/2/0"),
            ("first:xe-1/2/0", "second:xe-1/2/0"),
        )
    }
    assert [str(fault) for fault in found.faults] == []
    assert found.not_told == []
