"""Against simulated switches over real UDP; what a switch does that none of these does, a scripted collector does."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collectors.access import SnmpAccess, SshAccess, SwitchAccess
from collectors.errors import Refused
from collectors.probe import Advice, ProbeReport, platform_of, probe
from collectors.simulator import Simulator
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableReport, TableState
from tests.collectors.test_fleet import Script, Scripted, makers

IF_NAME = "1.3.6.1.2.1.31.1.1.1.1"


@pytest.fixture
def kelp(tmp_path: Path) -> dict[str, Path]:
    path = tmp_path / "kelp.snmprec"
    path.write_text(
        "1.3.6.1.2.1.1.1.0|4|Cisco IOS Software, C2960 Software\n1.3.6.1.2.1.1.5.0|4|kelp\n"
        f"1.3.6.1.2.1.2.2.1.2.1|4|GigabitEthernet0/1\n1.3.6.1.2.1.2.2.1.8.1|2|1\n{IF_NAME}.1|4|Gi0/1\n"
    )
    return {"kelp": path}


@pytest.fixture(autouse=True)
def community(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TONEOUT_TEST_COMMUNITY", "public")


def access(endpoint: tuple[str, int], **snmp: object) -> SwitchAccess:
    how = {"community": "env:TONEOUT_TEST_COMMUNITY", "port": endpoint[1], "timeout": 2.0, **snmp}
    return SwitchAccess(name="kelp", address=endpoint[0], snmp=SnmpAccess.model_validate(how))


def probed(access: SwitchAccess) -> ProbeReport:
    return asyncio.run(probe(access, Path()))


def scripted(script: Script, **more: object) -> ProbeReport:
    snmp = SnmpAccess(community="env:TONEOUT_TEST_COMMUNITY")
    told = SwitchAccess.model_validate({"name": "kelp", "address": "192.0.2.1", "snmp": snmp, **more})
    return asyncio.run(probe(told, Path(), collectors=makers(Scripted(script))))


def test_a_switch_that_answers_is_told_with_its_tables_and_their_times(kelp: dict[str, Path]) -> None:
    with Simulator(kelp) as simulator:
        report = probed(access(simulator.endpoints["kelp"]))
    assert report.works
    assert report.resolved == ["127.0.0.1"]
    answer = report.ways[0].answer
    assert isinstance(answer, CollectedSwitch)
    assert answer.report(Table.INTERFACES).state is TableState.READ
    assert answer.report(Table.FORWARDING).state is TableState.NOT_SERVED
    assert all(told.seconds >= 0 for told in answer.tables.values())


def test_lacking_tables_advise_ssh_with_the_platform_that_the_switch_names(kelp: dict[str, Path]) -> None:
    with Simulator(kelp) as simulator:
        report = probed(access(simulator.endpoints["kelp"]))
    why = "no full forwarding and neighbours by SNMP; SSH may tell them"
    assert Advice(why, 'ssh = { platform = "cisco_ios", user = "..." }') in report.advice


def test_a_wrong_community_at_an_agent_with_snmpv3_is_told_from_silence(kelp: dict[str, Path]) -> None:
    with Simulator(kelp, community="other") as simulator:
        report = probed(access(simulator.endpoints["kelp"], timeout=0.3, retries=0))
    assert not report.works
    assert [advice.line for advice in report.advice] == ['snmp.version = "3"']
    assert "this community" in report.advice[0].why


@contextlib.contextmanager
def only_version_1(endpoint: tuple[str, int]) -> Iterator[tuple[str, int]]:
    """Passes on SNMPv1 (version number 0, RFC 1157) and drops the rest, as agents do that know nothing else."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as front, socket.socket(type=socket.SOCK_DGRAM) as back:
        front.bind(("127.0.0.1", 0))
        back.connect(endpoint)

        def pass_on() -> None:
            data, asker = front.recvfrom(65535)
            while data:
                if b"\x02\x01\x00" in data[:8]:
                    back.send(data)
                    front.sendto(back.recv(65535), asker)
                data, asker = front.recvfrom(65535)

        thread = threading.Thread(target=pass_on)
        thread.start()
        yield front.getsockname()
        front.sendto(b"", front.getsockname())
        thread.join()


def test_an_agent_that_knows_version_1_alone_is_found_out(kelp: dict[str, Path]) -> None:
    with Simulator(kelp) as simulator, only_version_1(simulator.endpoints["kelp"]) as endpoint:
        report = probed(access(endpoint, timeout=0.3, retries=0))
    assert report.advice == [Advice("answers SNMP version 1, and not version 2c", 'snmp.version = "1"')]


def test_a_name_that_does_not_resolve_and_a_port_where_nobody_listens_are_told(tmp_path: Path) -> None:
    report = probed(access(("no-such-host.invalid", 161)))  # RFC 6761: .invalid never resolves
    assert report.resolved == []
    assert isinstance(report.ways[0].answer, FailedSwitch)
    assert report.ways[0].answer.kind == "unreachable"
    assert report.advice
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as unused:
        unused.bind(("127.0.0.1", 0))
        closed = unused.getsockname()
    refused = probed(access(closed, retries=0, timeout=0.5)).ways[0].answer
    assert isinstance(refused, FailedSwitch)
    assert refused.kind == "unreachable"


def test_slow_tables_and_a_budget_nearly_used_up_name_the_lines_to_change() -> None:
    late = TableReport(state=TableState.TIMED_OUT, reason="nothing came back")
    read = TableReport(state=TableState.READ, rows=1)

    async def slow(access: SwitchAccess) -> CollectedSwitch:
        tables = {Table.FORWARDING: read, Table.NEIGHBOURS: read, Table.POWER: late}
        return CollectedSwitch(name="kelp", started=datetime.now(UTC), seconds=70.0, tables=tables)

    lines = {advice.line: advice.why for advice in scripted(slow).advice}
    assert lines == {
        "snmp.timeout = 4": "no answer in time to power",
        "budget = 210": "took 70 s of the 120 s that it may cost",
    }


def test_a_refused_table_is_advice_about_the_switch_s_own_view() -> None:
    async def narrow(access: SwitchAccess) -> CollectedSwitch:
        whole = dict.fromkeys((Table.FORWARDING, Table.NEIGHBOURS), TableReport(state=TableState.EMPTY))
        refused = TableReport(state=TableState.REFUSED, reason="noAccess")
        return CollectedSwitch(name="kelp", started=datetime.now(UTC), tables={**whole, Table.POWER: refused})

    assert [advice.why for advice in scripted(narrow).advice] == [
        "refused: power; on the switch, let the view of this user include them"
    ]


def test_every_way_is_asked_though_the_first_one_gave_everything() -> None:
    async def refuses(access: SwitchAccess) -> CollectedSwitch:
        raise Refused(access.name, "did not let us in", "another password: `secret`")

    report = scripted(refuses, ssh=SshAccess(platform="linux", user="keeper"))
    assert [way.way for way in report.ways] == ["snmp", "ssh"]
    assert [advice.why for advice in report.advice] == ["another password: `secret`"] * 2


@pytest.mark.parametrize(
    ("descr", "platform"),
    [  # Texts as in the recordings of the package snmpsim-data, shortened.
        ("Cisco IOS Software, C3560 Software (C3560-IPSERVICESK9-M), Version 12.2(55)SE", "cisco_ios"),
        ("Cisco NX-OS(tm) n5000, Software (n5000-uk9), Version 6.0(2)N2(3)", "cisco_nxos"),
        ("Arista Networks EOS version 4.15.0F running on an Arista Networks DCS-7150S-52-CL", "arista_eos"),
        ("Juniper Networks, Inc. mx960 internet router, kernel JUNOS 13.3R9.13", "juniper_junos"),
        ("H3C Comware Platform Software, Software Version 5.20", "hp_comware"),
        ("Linux kelp 6.1.0 #1 SMP x86_64", "linux"),
        ("a media converter", ""),
    ],
)
def test_the_platform_for_ssh_is_guessed_from_what_the_switch_says_it_is(descr: str, platform: str) -> None:
    assert platform_of(descr) == platform
