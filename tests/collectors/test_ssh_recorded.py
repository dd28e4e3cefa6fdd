"""Recorded sessions of every platform, replayed on loopback and asked through real netmiko."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from collectors import platforms
from collectors.snapshot import CollectedSwitch, Table, TableState
from tests.collectors.ssh_asking import collect, collected, failed
from tests.collectors.ssh_server import PASSWORD, Faults, Served, recording, serve


@pytest.fixture(autouse=True, scope="module")
def _secret() -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SWITCH_PASSWORD", PASSWORD)
        yield


@pytest.fixture(scope="module")
def replayed(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Each recorded session, collected once for all the tests that look at it."""
    done: dict[str, tuple[CollectedSwitch, Served]] = {}

    def once(name: str) -> tuple[CollectedSwitch, Served]:
        if name not in done:
            with serve(recording(name)) as served:
                done[name] = collected(collect(served, tmp_path_factory.mktemp(name))), served
        return done[name]

    return once


@pytest.mark.parametrize("name", platforms.NAMES)
class TestRecordedSession:
    def test_gives_the_ports_that_its_texts_show(self, name: str, replayed: Any) -> None:
        switch, served = replayed(name)
        told = {
            port.name: [
                *(port.name, port.admin, port.oper, port.speed_mbps, port.duplex, port.pvid, port.aggregate),
            ]
            for port in switch.ports
        }
        assert told == {row[0]: row for row in served.recording["expect"]["ports"]}
        aliases = served.recording["expect"].get("aliases", {})
        assert {port.name: port.alias for port in switch.ports if port.name in aliases} == aliases

    def test_gives_the_sightings_that_its_texts_show(self, name: str, replayed: Any) -> None:
        switch, served = replayed(name)
        told = [[one.mac, one.vlan, one.port, one.status] for one in switch.sightings]
        assert told == served.recording["expect"]["sightings"]
        assert switch.report(Table.FORWARDING).whole
        assert all(one.at is not None and 0 < one.at < 60 for one in switch.sightings)

    def test_gives_the_neighbours_that_its_texts_show(self, name: str, replayed: Any) -> None:
        switch, served = replayed(name)
        told = [[one.port, one.chassis_id, one.port_id, one.system_name, one.capabilities] for one in switch.neighbours]
        assert told == served.recording["expect"]["neighbours"]

    def test_gives_identity_vlans_and_addresses(self, name: str, replayed: Any) -> None:
        switch, served = replayed(name)
        expect = served.recording["expect"]
        assert switch.system.name == expect["name"]
        assert switch.own_macs == expect["own_macs"]
        assert switch.vlans == expect["vlans"]
        assert {row.ip: row.mac for row in switch.addresses} == expect["addresses"]
        assert switch.chassis_id == expect.get("chassis_id", "")
        assert switch.aging_seconds == expect.get("aging_seconds")
        assert [item.serial for item in switch.hardware] == expect.get("serials", [])

    def test_says_how_each_table_was_read(self, name: str, replayed: Any) -> None:
        switch, served = replayed(name)
        asked = {ask.table for ask in platforms.platform(name).asks}  # type: ignore[union-attr]  # NAMES are known
        not_read = served.recording["expect"].get("not_read", {})
        assert switch.tables.keys() == set(Table)
        for table, report in switch.tables.items():
            expected = not_read.get(str(table), "read") if table in asked else "not served"
            assert (table, report.state, report.partial) == (table, expected, "")
            assert bool(report.reason) == (report.state is not TableState.READ)
            assert report.source.startswith(f"ssh {name}: ") == (table in asked)

    def test_sends_nothing_but_the_fixed_list(self, name: str, replayed: Any) -> None:
        """The server saw every line: netmiko's own, ours, and nothing else."""
        _, served = replayed(name)
        platform = platforms.platform(name)
        assert platform is not None
        assert set(served.lines) - {""} <= platform.commands | set(platform.preparation)
        # "cli" is for those who land in the shell of the system.
        assert set(platform.preparation) - {"cli"} <= set(served.lines)


PAGED = [name for name in platforms.NAMES if "paging" in recording(name)]
QUICK = ["cisco_ios", "huawei_vrp", "juniper_junos"]


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[] if name in QUICK else pytest.mark.long) for name in PAGED]
)
def test_pages_are_turned_where_paging_cannot_be_switched_off(name: str, replayed: Any, tmp_path: Path) -> None:
    switch, _ = replayed(name)
    with serve(recording(name), Faults(paging_stays=True)) as served:
        paged = collected(collect(served, tmp_path))
    times = {"started": switch.started, "seconds": switch.seconds}
    ours, theirs = (one.model_copy(update=times).model_dump() for one in (paged, switch))
    for dump in (ours, theirs):
        for report in dump["tables"].values():
            report["seconds"] = 0
        dump["sightings"] = [row[:5] for row in dump["sightings"]]
        dump["neighbours"] = [{**row, "at": 0} for row in dump["neighbours"]]
    assert ours == theirs


@pytest.mark.long
@pytest.mark.parametrize("name", platforms.NAMES)
class TestEveryPlatformInTrouble:
    def test_a_wrong_password_is_refused(self, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("SWITCH_PASSWORD", "not-the-right-one-9")
        with serve(recording(name)) as served:
            result = failed(collect(served, tmp_path))
        assert (result.kind, served.lines) == ("refused", [])

    def test_an_unknown_host_key_is_refused(self, name: str, tmp_path: Path) -> None:
        with serve(recording(name)) as served:
            result = failed(collect(served, tmp_path, known=""))
        assert served.fingerprint in result.reason
        assert served.passwords == []

    def test_a_login_without_a_command_line_is_refused(self, name: str, tmp_path: Path) -> None:
        with serve(recording(name), Faults(no_shell=True)) as served:
            result = failed(collect(served, tmp_path))
        assert result.reason == "lets the user log in and gives no command line"

    def test_a_connection_dropped_in_the_mac_table_keeps_what_came_before(self, name: str, tmp_path: Path) -> None:
        platform = platforms.platform(name)
        assert platform is not None
        told = recording(name)["commands"]
        asks = [ask for ask in platform.asks if ask.table is Table.FORWARDING]
        command = next(line for ask in asks for line in ask.commands() if line in told)
        with serve(recording(name), Faults(drop_in=command)) as served:
            switch = collected(collect(served, tmp_path))
        assert switch.report(Table.INTERFACES).whole
        assert switch.report(Table.FORWARDING).state is TableState.CUT_SHORT
        assert switch.report(Table.NEIGHBOURS).state is TableState.CUT_SHORT
