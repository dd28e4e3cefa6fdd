"""Reading tables over UDP from an agent that keeps to the rules: nothing missed, doubled, or read unwanted."""

from __future__ import annotations

import asyncio
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors.access import SwitchAccess
from collectors.snapshot import CollectedSwitch, Table, TableState
from collectors.snmp_collector import SnmpCollector
from collectors.transports.snmp import SnmpSession
from collectors.transports.snmp_ber import Oid
from collectors.transports.snmp_walk import Walk, Walker
from tests.collectors import liars
from tests.collectors.liars import Agent, number, wet_lab

os.environ["TONEOUT_TEST_COMMUNITY"] = "public"
TABLE = (1, 3, 6, 1, 4, 1, 99999, 1)

indexes = st.lists(st.integers(0, 2**32 - 1), min_size=1, max_size=3).map(tuple)
columns = st.lists(st.sets(indexes, max_size=40), min_size=1, max_size=6)


def access(port: int, **snmp: Any) -> SwitchAccess:
    how = {"community": "env:TONEOUT_TEST_COMMUNITY", "port": port, "timeout": 4} | snmp
    return SwitchAccess.model_validate({"name": "wetlab-sw1", "address": "127.0.0.1", "snmp": how})


def walk(agent: Agent, asked: list[Oid], **snmp: Any) -> tuple[Walk, int]:
    """The walk, and the questions that it took."""

    async def run() -> tuple[Walk, int]:
        async with liars.serving(agent) as port:
            deadline = asyncio.get_running_loop().time() + 60
            session = await SnmpSession.open(access(port, **snmp), secrets_from=Path(), deadline=deadline)
            async with session:
                return await Walker(session, asked).walk(), session.requests

    return asyncio.run(run())


@settings(deadline=None, max_examples=60)
@given(
    held=columns,
    version=st.sampled_from(["1", "2c"]),
    repetitions=st.integers(1, 30),
    room=st.integers(60, 3000),
)
def test_a_walk_takes_every_row_of_its_columns_once_and_no_other(
    held: list[set[tuple[int, ...]]], version: str, repetitions: int, room: int
) -> None:
    rows = {(*TABLE, column, *index): number(column) for column, found in enumerate(held) for index in found}
    rows[(1, 3, 6, 1, 4, 1, 99999, 2)] = number(7)  # what comes behind
    agent = Agent(rows)
    agent.max_octets = room
    found, _ = walk(agent, [(*TABLE, column) for column in range(len(held))], version=version, repetitions=repetitions)
    assert [set(column) for column in found.columns] == held
    assert found.state is TableState.READ
    assert found.disorder == 0


@pytest.mark.parametrize("rows", [1, 49, 50, 51, 500])
def test_a_table_takes_as_many_questions_as_its_rows_need(rows: int) -> None:
    held = {(*TABLE, column, index): number(1) for column in range(5) for index in range(rows)}
    found, questions = walk(Agent(held), [(*TABLE, column) for column in range(5)], repetitions=50)
    assert [len(column) for column in found.columns] == [rows] * 5
    assert questions <= math.ceil((rows + 1) / 50)


def collect(want: frozenset[Table], doing: list[str], agent: Agent) -> CollectedSwitch:
    async def run() -> Any:
        async with liars.serving(agent) as port:
            return await SnmpCollector().collect(
                access(port), secrets_from=Path(), want=want, progress=lambda switch, said: doing.append(said)
            )

    found = asyncio.run(run())
    assert isinstance(found, CollectedSwitch)
    return found


def test_what_is_not_wanted_is_neither_read_nor_reported() -> None:
    doing: list[str] = []
    found = collect(frozenset({Table.FORWARDING}), doing, Agent(wet_lab()))
    assert set(found.tables) == {Table.FORWARDING}
    assert {row.port for row in found.sightings} == {"Gi1/0/1", "Gi1/0/2", "Gi1/0/3", "Gi1/0/4"}
    assert (found.neighbours, found.addresses) == ([], [])
    assert found.report(Table.NEIGHBOURS).reason == "was not asked for"
    assert doing == [
        "asking who it is",
        "reading interfaces",
        "reading bridge ports",
        "reading forwarding",
        "reading vlans",
    ]


def test_rows_say_when_they_were_read_after_the_switch_was_first_asked() -> None:
    found = collect(frozenset(Table), [], Agent(wet_lab()))
    for row in (*found.sightings, *found.neighbours):
        assert row.at is not None
        assert 0 <= row.at <= found.seconds + 0.01


def test_pysnmp_is_not_loaded_for_a_switch_that_can_do_without() -> None:
    """It is half of the start-up time of a program that asks for nothing or over version 2c."""
    code = "import sys, collectors.snmp_collector; print([name for name in sys.modules if 'pysnmp' in name.split('.')])"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[]"
