"""Recorded sessions of every platform, scrubbed, tell the collector the same structure and nothing of whose it is."""

from __future__ import annotations

import asyncio
import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml

from collectors import platforms
from collectors.access import SshAccess, SwitchAccess
from collectors.errors import RecordingError, SwitchError
from collectors.scrub import Scrubber
from collectors.snapshot import CollectedSwitch, Table
from collectors.ssh_collector import Connect, SshCollector
from collectors.transports import ssh
from collectors.transports.recording import record
from collectors.transports.recording_ssh import replay

SESSIONS = Path(__file__).parents[2] / "fixtures" / "recordings" / "ssh"


class Session:
    """A recorded session of the fixtures."""

    ended = ""

    def __init__(self, told: dict[str, Any]) -> None:
        self._told = told

    def ask(self, command: str) -> ssh.Answer:
        return ssh.Answer(self._told["commands"].get(command, self._told["rejected"]))

    def close(self) -> None:
        pass


def access(platform: str) -> SwitchAccess:
    return SwitchAccess(name="kelp-switch", address="192.0.2.9", ssh=SshAccess(platform=platform, user="keeper"))


def collected(platform: str, connect: Connect) -> CollectedSwitch:
    collector = SshCollector(connect=connect)
    told = asyncio.run(
        collector.collect(
            access(platform), secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None
        )
    )
    assert isinstance(told, CollectedSwitch)
    return told


def shape(switch: CollectedSwitch) -> dict[str, Any]:
    """Everything that scrubbing must leave: states, ports by name, who is where, in numbers."""
    return {
        "tables": {table: (report.state, report.rows) for table, report in switch.tables.items()},
        "ports": [(p.name, p.admin, p.oper, p.speed_mbps, p.duplex, p.pvid, p.aggregate) for p in switch.ports],
        "stations": Counter((row.port, row.vlan, row.status) for row in switch.sightings),
        "neighbours": Counter((row.port, row.protocol, row.port_id_kind) for row in switch.neighbours),
        "vlans": sorted(switch.vlans),
        "addresses": len(switch.addresses),
        "hardware": Counter((part.kind, part.model) for part in switch.hardware),
    }


def secrets_of(switch: CollectedSwitch) -> set[str]:
    """What the readers found that is somebody's; MAC addresses without their maker's half."""
    names = {switch.system.name, switch.system.location, *(row.system_name for row in switch.neighbours)}
    serials = {*(part.serial for part in switch.hardware), *(row.serial for row in switch.neighbours)}
    aliases = {port.alias for port in switch.ports}
    addresses = {row.ip for row in switch.addresses} | {
        a for row in switch.neighbours for a in row.management_addresses
    }
    macs = {row.mac for row in switch.sightings if row.mac.startswith("00:00:5e:00:53")}
    return {text for text in names | serials | aliases | addresses | macs if len(text) > 2 and not text.isdecimal()}


@pytest.mark.parametrize("platform", platforms.NAMES)
def test_a_scrubbed_session_tells_the_same_structure_and_no_secret(
    platform: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = yaml.safe_load((SESSIONS / f"{platform}.yaml").read_text("utf-8"))
    connect: Connect = lambda door, driver, allowed, deadline: Session(told)  # noqa: E731 - one line of test set-up
    monkeypatch.setattr(ssh, "connect", connect)
    recording = asyncio.run(record(access(platform), tmp_path, secrets_from=tmp_path))
    assert [file.name for file in recording.files] == ["switch-1.ssh.json"]

    original, copy = collected(platform, connect), collected(platform, replay(recording.files[0]))
    assert shape(copy) == shape(original)
    content = recording.files[0].read_text("utf-8").lower()
    hidden = secrets_of(original)
    assert len(hidden) > 3
    leaked = {text for text in hidden if re.search(rf"(?<![a-z0-9]){re.escape(text.lower())}(?![a-z0-9])", content)}
    assert leaked == set()


def test_an_answer_that_no_reader_understood_is_left_out_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = yaml.safe_load((SESSIONS / "cisco_ios.yaml").read_text("utf-8"))
    told["commands"]["show ip arp"] = "a form that nobody knows, of keeper Astrid\n"
    monkeypatch.setattr(ssh, "connect", lambda *_: Session(told))
    recording = asyncio.run(record(access("cisco_ios"), tmp_path, secrets_from=tmp_path))
    assert "`show ip arp`: its answer was not understood" in recording.missing
    assert "Astrid" not in recording.files[0].read_text("utf-8")


def test_names_in_json_are_found_though_json_writes_them_in_its_own_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = yaml.safe_load((SESSIONS / "linux.yaml").read_text("utf-8"))
    links = json.loads(told["commands"]["ip -j -d link"])
    links[-1]["ifalias"] = "Tümpel 4"
    told["commands"]["ip -j -d link"] = json.dumps(links)
    assert "T\\u00fcmpel" in told["commands"]["ip -j -d link"]
    monkeypatch.setattr(ssh, "connect", lambda *_: Session(told))
    recording = asyncio.run(record(access("linux"), tmp_path, secrets_from=tmp_path))
    session = json.loads(recording.files[0].read_text("utf-8"))
    assert "mpel" not in json.dumps(session)
    assert json.loads(session["commands"]["ip -j -d link"])[-1]["ifalias"].startswith("alias-")


def test_columns_stay_where_they_are() -> None:
    scrubber = Scrubber()
    scrubber.word("name", "barnacle-switch-in-the-shed")
    scrubber.word("name", "pi1")
    table = "barnacle-switch-in-the-shed  Gi1/0/1\npi1  Gi1/0/2\nx    10.1.2.3        Gi1/0/3\n"
    lines = scrubber.text(table, aligned=True).splitlines()
    assert [line.index("Gi") for line in lines] == [29, 7, 21]
    assert lines[0].startswith("name-1 ")


def test_a_switch_that_lets_nobody_in_is_an_error_and_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> Session:
        raise SwitchError("kelp-switch", "did not accept the password", "`secret`")

    monkeypatch.setattr(ssh, "connect", refused)
    with pytest.raises(SwitchError, match="did not accept the password"):
        asyncio.run(record(access("linux"), tmp_path / "out", secrets_from=tmp_path))
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_no_session_is_refused_by_name(tmp_path: Path) -> None:
    path = tmp_path / "odd.ssh.json"
    path.write_text("[]")
    with pytest.raises(RecordingError, match=r"odd\.ssh\.json: is no recorded session"):
        replay(path)
