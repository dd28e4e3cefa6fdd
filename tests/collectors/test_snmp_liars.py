"""Agents that loop, lie, fall silent or never end cost bounded time, leave a reason, and spoil no other table."""

from __future__ import annotations

import asyncio
import os
import resource
from pathlib import Path
from typing import Any

import pytest

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableReport, TableState
from collectors.snmp_collector import SnmpCollector
from collectors.tables.mib import OBJECTS
from collectors.transports import snmp, snmp_walk
from tests.collectors import liars
from tests.collectors.liars import Agent, wet_lab

os.environ["TONEOUT_TEST_COMMUNITY"] = "public"

USUAL = {"timeout": 3, "retries": 1, "community": "env:TONEOUT_TEST_COMMUNITY"}
SOON = 0.3
"""Seconds to wait for agents that leave something without answer."""


async def ask(port: int, *, budget: float = 20.0, host: str = "127.0.0.1", **settings: Any) -> Any:
    access = SwitchAccess.model_validate(
        {"name": "wetlab-sw1", "address": host, "budget": budget, "snmp": USUAL | {"port": port} | settings}
    )
    return await SnmpCollector().collect(
        access, secrets_from=Path(), want=frozenset(Table), progress=lambda switch, doing: None
    )


def collect(agent: Agent, **settings: Any) -> CollectedSwitch:
    """The switch behind an agent, within a minute whatever it does."""

    async def run() -> Any:
        async with liars.serving(agent) as port:
            return await asyncio.wait_for(ask(port, **settings), 60)

    found = asyncio.run(run())
    assert isinstance(found, CollectedSwitch), found
    return found


def refused(agent: Agent, **settings: Any) -> FailedSwitch:
    async def run() -> Any:
        async with liars.serving(agent) as port:
            return await asyncio.wait_for(ask(port, **settings), 60)

    found = asyncio.run(run())
    assert isinstance(found, FailedSwitch), found
    return found


def others_are_whole(found: CollectedSwitch) -> TableReport:
    """Checks that every other table is as the honest switch has it; gives the report on the forwarding table."""
    assert [port.name for port in found.ports] == ["Gi1/0/1", "Gi1/0/2", "Gi1/0/3", "Gi1/0/4"]
    assert [(row.port, row.chassis_id) for row in found.neighbours] == [("Gi1/0/4", "00:00:5e:00:53:44")]
    assert len(found.addresses) == 2
    assert found.vlans == {30: ""}
    for table in (Table.SYSTEM, Table.INTERFACES, Table.BRIDGE_PORTS, Table.NEIGHBOURS, Table.ADDRESSES):
        assert found.report(table).state is TableState.READ, table
    return found.report(Table.FORWARDING)


def test_an_honest_agent_is_read_whole_and_without_a_word_of_oddity() -> None:
    agent = Agent(wet_lab())
    found = collect(agent)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)
    assert {row.port for row in found.sightings} == {"Gi1/0/1", "Gi1/0/2", "Gi1/0/3", "Gi1/0/4"}
    assert found.oddities == []


@pytest.mark.parametrize("version", ["1", "2c"])
@pytest.mark.parametrize("liar", [liars.Looping, liars.Repeating])
def test_quirk_54_an_agent_that_repeats_an_oid_is_stopped_with_what_it_said_once(
    liar: type[Agent], version: str
) -> None:
    report = others_are_whole(collect(liar(wet_lab()), version=version))
    assert (report.state, report.rows) == (TableState.CUT_SHORT, 6)
    assert "repeats itself" in report.reason


@pytest.mark.parametrize("version", ["1", "2c"])
def test_quirk_53_an_agent_whose_oids_fall_is_read_whole_and_the_disorder_told(version: str) -> None:
    found = collect(liars.Backwards(wet_lab()), version=version)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)
    assert any("dot1qTpFdbPort came out of order" in told for told in found.oddities)


def test_a_table_that_never_ends_is_cut_at_a_number_of_values(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(snmp_walk, "MAX_TABLE_BINDINGS", 3000)
    report = others_are_whole(collect(liars.Endless(wet_lab())))
    assert report.state is TableState.CUT_SHORT
    assert 1500 <= report.rows <= 1600
    assert "values of one table" in report.reason


def test_a_switch_that_never_ends_is_cut_at_a_number_of_values(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(snmp, "MAX_BINDINGS", 5000)
    report = collect(liars.Endless(wet_lab())).report(Table.FORWARDING)
    assert (report.state, report.rows > 1000) == (TableState.CUT_SHORT, True)
    assert "more than one switch can have" in report.reason


@pytest.mark.long
def test_a_table_that_never_ends_is_cut_at_the_real_limit_in_bounded_memory() -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    report = others_are_whole(collect(liars.Endless(wet_lab()), budget=300, repetitions=200))
    grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert report.state is TableState.CUT_SHORT
    assert grown_kib < 400 * 1024


def test_answers_with_another_request_id_are_none_and_told() -> None:
    found = collect(liars.OtherRequestId(wet_lab()), timeout=SOON)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.TIMED_OUT, 0)
    assert any("an answer to nothing that was asked" in told for told in found.oddities)


def test_answers_from_another_address_are_not_taken_and_the_address_is_told() -> None:
    async def run() -> Any:
        agent = liars.FromElsewhere(wet_lab())
        speaker = asyncio.DatagramProtocol()
        loop = asyncio.get_running_loop()
        other, _ = await loop.create_datagram_endpoint(lambda: speaker, local_addr=("127.0.0.77", 0))
        agent.elsewhere = other.sendto
        try:
            async with liars.serving(agent) as port:
                return await ask(port, timeout=SOON)
        finally:
            other.close()

    found = asyncio.run(run())
    assert isinstance(found, FailedSwitch)
    assert (found.kind, found.reason) == ("bad answer", "answers come from 127.0.0.77, not from the address asked")
    assert "127.0.0.77" in found.hint


def test_a_second_answer_changes_nothing() -> None:
    report = others_are_whole(collect(liars.Twice(wet_lab())))
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)


def test_noise_is_no_answer_and_the_other_tables_are_kept() -> None:
    found = collect(liars.Garbage(wet_lab()), timeout=SOON)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.TIMED_OUT, 0)
    assert any("taken for no answer" in told for told in found.oddities)


def test_a_port_that_answers_noise_to_everything_is_called_no_agent() -> None:
    class Noise(Agent):
        def replies(self, question: liars.Question) -> Any:
            yield b"SSH-2.0-OpenSSH_9.6\r\n"

    found = refused(Noise({}), timeout=SOON)
    assert found.kind == "bad answer"
    assert "taken for no answer" in found.reason


@pytest.mark.parametrize("version", ["1", "2c"])
@pytest.mark.parametrize("most", [1, 3, 30])
def test_an_agent_that_says_too_big_is_asked_for_less(most: int, version: str) -> None:
    report = others_are_whole(collect(liars.TooBig(wet_lab(), most), version=version))
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)


def test_an_agent_that_says_too_big_to_everything_is_given_up_with_its_reason() -> None:
    found = collect(liars.TooBig(wet_lab(), 0))
    assert found.ports == []
    assert found.report(Table.INTERFACES).state is TableState.NOT_SERVED


@pytest.mark.parametrize(
    ("status", "position", "state", "word"),
    [
        (5, 0, TableState.CUT_SHORT, "genErr"),
        (5, 1, TableState.CUT_SHORT, "genErr"),
        (5, 2**31 - 1, TableState.CUT_SHORT, "genErr"),
        (1, 0, TableState.CUT_SHORT, "tooBig"),
        (13, 0, TableState.CUT_SHORT, "resourceUnavailable"),
        (99, -1, TableState.CUT_SHORT, "error-status 99"),
        (16, 0, TableState.REFUSED, "authorizationError"),
        (6, 1, TableState.REFUSED, "noAccess"),
        (0, 0, TableState.CUT_SHORT, "without a single row"),
    ],
)
def test_an_error_status_of_one_table_is_its_reason(status: int, position: int, state: TableState, word: str) -> None:
    report = others_are_whole(collect(liars.Failing(wet_lab(), status, position)))
    assert report.state is state
    assert word in report.reason


def test_the_largest_messages_fill_no_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(snmp, "MAX_OCTETS", 2**20)
    found = collect(liars.Huge(wet_lab()))
    assert found.report(Table.FORWARDING).state is TableState.CUT_SHORT
    assert found.sightings == []
    assert [port.name for port in found.ports][:1] == ["Gi1/0/1"]


def test_wrong_types_everywhere_are_nothing_known_and_no_error() -> None:
    found = collect(liars.WrongTypes(wet_lab()))
    assert [port.speed_mbps for port in found.ports] == [None] * 4
    assert len({port.name for port in found.ports}) == 4
    assert {row.port for row in found.sightings} <= {None}


def test_one_row_at_a_time_uses_the_time_that_the_switch_may_cost_and_no_more() -> None:
    found = collect(liars.OneRowAtATime(wet_lab(400), 0.05), budget=1.5)
    report = others_are_whole(found)
    assert report.state is TableState.CUT_SHORT
    assert 3 <= report.rows < 400
    assert "time that this switch may cost was used up" in report.reason


def test_a_switch_that_falls_silent_in_the_middle_keeps_what_it_said() -> None:
    found = collect(liars.StopsInTheMiddle(wet_lab(4000), 14), timeout=SOON)
    assert len(found.ports) == 4
    report = found.report(Table.FORWARDING)
    assert report.state is TableState.TIMED_OUT
    assert 0 < report.rows < 4000
    assert "nothing came back" in report.reason


def test_a_switch_that_falls_silent_early_ends_soon_with_every_table_accounted_for() -> None:
    found = collect(liars.StopsInTheMiddle(wet_lab(), 4), timeout=SOON)
    assert found.system.name == "wetlab-sw1"
    states = {table: found.report(table).state for table in Table}
    assert TableState.TIMED_OUT in states.values()
    assert states[Table.FORWARDING] in (TableState.TIMED_OUT, TableState.CUT_SHORT)
    assert not any(report.whole for report in found.tables.values() if report.state is TableState.TIMED_OUT)


def test_a_silent_table_costs_its_own_tries_alone() -> None:
    report = others_are_whole(collect(liars.Silent(wet_lab()), timeout=SOON))
    assert (report.state, report.rows) == (TableState.TIMED_OUT, 0)


def test_lost_answers_are_asked_for_again() -> None:
    found = collect(liars.Lossy(wet_lab(), 5), retries=3, timeout=SOON)
    assert others_are_whole(found).rows == liars.STATIONS
    assert any("had to be asked again" in told for told in found.oddities)


def test_where_large_answers_are_lost_small_ones_are_asked_for() -> None:
    found = collect(liars.DropsFragments(wet_lab(400)), repetitions=100, timeout=SOON)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.READ, 400)


@pytest.mark.parametrize("version", ["1", "2c"])
def test_an_agent_that_says_nothing_to_long_questions_is_asked_short_ones(version: str) -> None:
    rows = wet_lab() | {OBJECTS["dot1dTpAgingTime"] + (0,): liars.number(300)}
    found = collect(liars.Shy(rows), timeout=SOON, version=version)
    report = others_are_whole(found)
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)
    assert found.aging_seconds == 300
    assert not any("would not say" in told for told in found.oddities)


def test_an_agent_that_answers_less_than_asked_for_is_read_whole() -> None:
    agent = Agent(wet_lab())
    agent.max_octets = 120
    report = others_are_whole(collect(agent))
    assert (report.state, report.rows) == (TableState.READ, liars.STATIONS)


def test_a_switch_that_says_nothing_at_all_is_one_failed_row() -> None:
    found = refused(liars.StopsInTheMiddle(wet_lab(), 0), timeout=SOON)
    assert (found.kind, found.reason) == ("no answer", "nothing came back in 2 tries")


def test_a_port_where_nobody_listens_is_refused_at_once() -> None:
    async def run() -> Any:
        async with liars.serving(Agent({})) as port:
            pass
        return await ask(port)

    found = asyncio.run(run())
    assert isinstance(found, FailedSwitch)
    assert (found.kind, found.reason) == ("unreachable", "refused: no SNMP agent listens on this port")


def test_an_address_that_does_not_resolve_is_told_as_that() -> None:
    found = asyncio.run(ask(161, host="no such host"))
    assert isinstance(found, FailedSwitch)
    assert (found.kind, found.reason) == ("unreachable", "its address does not resolve to a host")


def test_cancelling_is_let_through() -> None:
    async def run() -> None:
        async with liars.serving(liars.Silent(wet_lab())) as port:
            with pytest.raises(TimeoutError):
                await asyncio.wait_for(ask(port, timeout=5), 0.2)

    asyncio.run(run())
