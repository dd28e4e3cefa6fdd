"""A collection in several passes, with collectors that answer as a test wants."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable

import pytest

from collectors.deep import collect_deep
from collectors.snapshot import CollectedSwitch, Port, Sighting, Snapshot, Table, TableReport, TableState
from tests.collectors.test_fleet import HERE, Scripted, Told, access, makers, read, switch

PUMP, LOGGER = "00:30:de:41:b7:09", "00:30:de:41:b7:0a"


def collected(*passes: Iterable[Sighting] | TableReport, pause: float = 0.0) -> tuple[Snapshot, Scripted]:
    """One switch that tells these rows in one pass after another, or in a pass a report instead."""
    rounds = iter(passes)

    async def tell(access: object) -> Told:
        told = next(rounds)
        rows, report = ([], told) if isinstance(told, TableReport) else (list(told), read())
        return switch("a", ports=[Port(name="1"), Port(name="2")], sightings=rows, tables={Table.FORWARDING: report})

    scripted = Scripted(tell)  # type: ignore[arg-type]  # it does not look at its switch
    how = {"site": "saltmarsh", "secrets_from": HERE, "collectors": makers(scripted), "pause": pause}
    return asyncio.run(collect_deep([access("a")], passes=len(passes), **how)), scripted  # type: ignore[arg-type]  # passed on


def rows(told: Snapshot) -> set[tuple[str, str | None]]:
    (one,) = told.switches
    assert isinstance(one, CollectedSwitch)
    return {(row.mac, row.port) for row in one.sightings}


def test_who_spoke_in_any_pass_is_heard() -> None:
    told, scripted = collected([Sighting(PUMP, 1, "1")], [Sighting(LOGGER, 1, "2")])
    assert rows(told) == {(PUMP, "1"), (LOGGER, "2")}
    assert told.switches[0].report(Table.FORWARDING).rows == 2
    assert [want for _, want in scripted.asked][1] == {Table.FORWARDING}


def test_who_moved_between_two_passes_is_where_the_last_one_heard_it() -> None:
    assert rows(collected([Sighting(PUMP, 1, "1")], [Sighting(PUMP, 1, "2")])[0]) == {(PUMP, "2")}


def test_a_row_without_a_port_tells_of_no_place_and_takes_none_away() -> None:
    # A row whose bridge port leads to no interface (BRIDGE-MIB, RFC 4188: dot1dTpFdbPort 0 is "not known").
    assert rows(collected([Sighting(PUMP, 1, "1")], [Sighting(PUMP, 1)])[0]) == {(PUMP, "1")}
    assert rows(collected([Sighting(PUMP, 1)], [Sighting(PUMP, 1, "2")])[0]) == {(PUMP, "2")}
    assert rows(collected([Sighting(PUMP, 1)], [Sighting(PUMP, 1)])[0]) == {(PUMP, None)}


def test_a_pass_that_could_not_read_takes_nothing_away() -> None:
    refused = TableReport(state=TableState.TIMED_OUT, reason="no answer")
    told, _ = collected([Sighting(PUMP, 1, "1")], refused, [Sighting(LOGGER, 1, "2")])
    assert rows(told) == {(PUMP, "1"), (LOGGER, "2")}


def test_ages_count_from_the_start_of_the_first_pass() -> None:
    told, _ = collected([Sighting(PUMP, 1, "1", at=0.1)], [Sighting(LOGGER, 1, "2", at=0.1)], pause=0.05)
    ages = {row.mac: row.at or 0 for row in told.switches[0].sightings}
    assert 0.1 <= ages[PUMP] < ages[LOGGER]  # each with what its own pass had taken before it
    assert ages[LOGGER] >= 0.15
    assert told.started <= told.finished


def test_one_pass_is_a_plain_collection() -> None:
    told, scripted = collected([Sighting(PUMP, 1, "1")])
    assert rows(told) == {(PUMP, "1")}
    assert len(scripted.asked) == 1


def test_an_interruption_between_two_passes_is_told() -> None:
    async def cut_short() -> Snapshot:
        async def tell(access: object) -> Told:
            return switch("a", sightings=[Sighting(PUMP, 1, "1")], tables={Table.FORWARDING: read()})

        how = {"site": "saltmarsh", "secrets_from": HERE, "collectors": makers(Scripted(tell))}  # type: ignore[arg-type]  # as above
        work = asyncio.create_task(collect_deep([access("a")], passes=2, pause=60, **how))  # type: ignore[arg-type]  # passed on
        await asyncio.sleep(0.2)
        work.cancel()
        return await work

    assert asyncio.run(cut_short()).unfinished.startswith("interrupted")


def test_a_run_whose_time_is_over_says_how_many_passes_it_made(caplog: pytest.LogCaptureFixture) -> None:
    async def tell(access: object) -> Told:
        return switch("a", sightings=[Sighting(PUMP, 1, "1")], tables={Table.FORWARDING: read()})

    scripted = Scripted(tell)  # type: ignore[arg-type]  # it does not look at its switch
    how = {"site": "saltmarsh", "secrets_from": HERE, "collectors": makers(scripted), "pause": 60, "deadline": 30}
    with caplog.at_level(logging.WARNING, logger="collectors"):  # a command of another test may have quieted it
        told = asyncio.run(collect_deep([access("a")], passes=3, **how))  # type: ignore[arg-type]  # passed on
    assert rows(told) == {(PUMP, "1")}
    assert "after 1 of 3 passes" in caplog.text
