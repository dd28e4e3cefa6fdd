"""A trace as text, and as a table."""

from __future__ import annotations

import csv
import io

import pytest
from rich.cells import cell_len

from reconcile.reports import as_json, traced
from reconcile.seen import SeenNeighbour, SeenPort, SeenStation
from reconcile.trace import Trace, TracedChannel, TracedStep
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade import TAKEN, finding


def answer(said: str = "SW-2", stations: int = 1) -> Trace:
    """A trace in which a neighbour, and everything else that is text, says `said`."""
    seen = tuple(
        SeenStation(mac=f"00:0c:29:00:00:{n:02x}", maker="VMware, Inc.", device=said, at=said, heard=(said,) * 14)
        for n in range(stations)
    )
    port = SeenPort(
        switch="sw-lab",
        port="GigabitEthernet1/0/7",
        state="up",
        speed_mbps=2500,
        duplex="full",
        vlan=10,
        description=said,
        watts=6.5,
        since=TAKEN,
        leads_to=said,
        neighbours=(SeenNeighbour(protocol="lldp", name=said, port=said, description=said, chassis_id=said),),
        stations=seen,
        perhaps=seen,
        passing=3,
    )
    steps = (
        TracedStep(kind="port", label="sw-lab:GigabitEthernet1/0/7", room=said),
        TracedStep(kind="cord", label="", note=said),
        TracedStep(kind="jack", label="P1:7", asked=True, origin="panels.csv row 2"),
    )
    channels = (
        TracedChannel(steps=steps, ports=(port,), verdict="silent", because=said, findings=(finding(seen=said),)),
        TracedChannel(steps=steps, broken=said),
    )
    return Trace(
        kind="jack", name="P1:7", taken=TAKEN, documented=said, channels=channels, stations=seen, touching=(said,)
    )


def test_the_documented_side_comes_first_then_what_was_seen() -> None:
    report = traced.render(answer())
    assert report.index("AS DOCUMENTED") < report.index("AS SEEN ON 2026-03-14")


def test_a_port_is_told_in_the_words_of_the_trade() -> None:
    report = traced.render(answer(), width=200)
    assert "up, 2.5 Gbit/s, full duplex, VLAN 10, gives 6.5 W, since 2026-03-14" in report
    assert "3 stations heard through this port, attached elsewhere" in report


def test_what_was_asked_for_is_marked_without_colour() -> None:
    assert "P1:7  (asked for)" in traced.render(answer())


def test_a_cord_without_a_label_is_told_as_such() -> None:
    assert "without a label" in traced.render(answer())


def test_where_a_path_breaks_is_told() -> None:
    assert "and no further: SW-2" in traced.render(answer())


def test_long_lists_are_counted_instead() -> None:
    report = traced.render(answer(stations=15))
    assert "and 3 more stations" in report
    assert "and at 2 more places" in report


@pytest.mark.parametrize("width", [20, 40, 80])
def test_identifiers_stay_whole_and_lines_within_the_width(width: int) -> None:
    report = traced.render(answer(), width=width)
    for name in ("GigabitEthernet1/0/7", "P1:7", "00:0c:29:00:00:00", "sw-lab"):
        assert name in report
    if width >= 40:
        assert max(cell_len(line) for line in report.splitlines()) <= width


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_no_form_of_a_trace_acts_on_a_terminal(nasty: str) -> None:
    found = answer(nasty)
    assert acting_characters(traced.render(found)) == set()
    assert acting_characters(as_json.render(found)) == set()
    table = traced.render_csv(found)
    assert acting_characters(table.replace("\r\n", "\n")) == set()
    assert len(list(csv.reader(io.StringIO(table, newline="")))) == 7


def test_a_table_has_a_row_for_each_step_with_what_was_seen_at_the_port() -> None:
    rows = list(csv.DictReader(io.StringIO(traced.render_csv(answer()), newline="")))
    assert [row["kind"] for row in rows] == ["port", "cord", "jack"] * 2
    assert "2.5 Gbit/s" in rows[0]["seen"]
    assert [row["asked"] for row in rows[:3]] == ["", "", "yes"]


def test_the_verdict_and_findings_are_told_with_what_to_do() -> None:
    report = traced.render(answer(), width=120)
    for words in ("silent: SW-2", "dead port: SW-2", "look whether the device is switched on", "dead-port-00000001"):
        assert words in report


def test_nine_hundred_places_take_a_few_lines() -> None:
    places = tuple(f"acc-{n // 48} port {n % 48 + 1}" for n in range(912))
    station = SeenStation(mac="00:0c:29:00:00:01", grade="ambiguous", because="open", candidates=places)
    report = traced.render(Trace(kind="address", name="x", taken=TAKEN, stations=(station,)), width=200)
    assert "one of  acc-0 ports 1, 2, 3, 4, 5, 6, 7, 8 and 40 more" in report
    assert "and 528 ports of 11 more switches (--format json shows all)" in report
    assert len(report.splitlines()) < 25


def test_a_few_places_take_a_line_each() -> None:
    station = SeenStation(
        mac="00:0c:29:00:00:01", grade="ambiguous", because="open", candidates=("a port 1", "b port 2")
    )
    report = traced.render(Trace(kind="address", name="x", taken=TAKEN, stations=(station,)))
    assert "one of  a port 1\n          b port 2" in report


def test_stations_that_may_be_at_a_port_are_counted_where_they_are_many() -> None:
    assert "and perhaps 8 more stations (--format json shows all)" in traced.render(answer(stations=20), width=200)
