"""What became of asking the switches, and the faults of a map, as text."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from collectors.probe import Advice, ProbeReport, WayProbed
from collectors.snapshot import FailedSwitch, Snapshot, Table, TableReport, TableState
from reconcile.cli.probing import told
from reconcile.coverage import coverage_gaps
from reconcile.patchmap.columns import ColumnHelp
from reconcile.patchmap.model import Fault, Origin, Severity
from reconcile.reports import asked, checked
from reconcile.reports.layout import Sheet
from reconcile.site import MapSource, Site
from tests.nasty import NASTY, acting_characters
from tests.reconcile.example_network import TAKEN, snapshot


def partly(said: str = "nothing came back") -> Snapshot:
    """SW-1 answered without its forwarding table, SW-2 not at all."""
    seen = snapshot()
    seen.switches.pop()
    seen.switches[0].tables[Table.FORWARDING] = TableReport(state=TableState.REFUSED, reason=said, source=said)
    seen.switches[0].oddities.append(said)
    seen.failed.append(FailedSwitch(name="SW-2", started=TAKEN, reason=said, kind="no answer", hint=said))
    seen.unfinished = said
    return seen


def test_each_switch_has_what_it_told_and_what_it_did_not() -> None:
    seen = partly()
    report = asked.render(seen, coverage_gaps(seen, ()))
    assert "SW-1\n  told" in report
    assert "not     forwarding: refused, nothing came back" in report
    assert "failed  no answer: nothing came back" in report
    assert "1 of 2 switches answered" in report
    assert "Not finished: nothing came back." in report


def test_details_list_every_table_with_its_time() -> None:
    report = asked.render(snapshot(), (), details=True)
    assert report.count("lldp local: read, 1 row in 0.0 s") == 2
    assert "lldp local" not in asked.render(snapshot(), ())


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_nothing_that_a_switch_says_acts_on_the_terminal(nasty: str) -> None:
    seen = partly(nasty)
    assert acting_characters(asked.render(seen, coverage_gaps(seen, ()), details=True)) == set()


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_a_probe_of_a_hostile_switch_acts_on_nothing(nasty: str, tmp_path: Path) -> None:
    seen = partly(nasty)
    seen.switches[0].system.name = seen.switches[0].system.descr = nasty
    ways = [WayProbed("snmp", seen.switches[0]), WayProbed("ssh", seen.failed[0])]
    report = ProbeReport(nasty, nasty, [nasty], ways, [Advice(nasty, nasty)])
    sheet = Sheet()
    told(sheet, report, Site(folder=tmp_path, name=nasty, accesses=(), map=MapSource("tables", tmp_path)))
    assert acting_characters(str(sheet)) == set()


def faults(said: str) -> list[Fault]:
    return [
        Fault(Origin("cords.csv", "", 7), said, said, said),
        Fault(Origin(said, said, 2), said, said, said, Severity.WARNING, "odd"),
        Fault(Origin("toneout.toml", "", 3), "snmp.port", said),
    ]


def test_faults_stand_under_their_file_with_row_or_line() -> None:
    report = checked.render(None, faults("twice there"), "text")
    assert "cords.csv\n\n  error: row 7, column twice there\n    twice there\n    do" in report
    assert "error: line 3, key snmp.port" in report
    assert "Found 2 errors and 1 warning" in report


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_no_form_of_faults_acts_on_a_terminal_or_in_a_spreadsheet(nasty: str) -> None:
    assert acting_characters(checked.render(None, faults(nasty), "text")) == set()
    written = checked.render(None, faults(nasty), "json")
    assert acting_characters(written) == set()
    assert json.loads(written)["faults"][0]["problem"] == nasty
    table = checked.render(None, faults(nasty), "csv")
    assert acting_characters(table.replace("\r\n", "\n")) == set()
    assert len(list(csv.reader(io.StringIO(table, newline="")))) == 4


def test_columns_tell_what_is_needed_an_example_and_other_headings() -> None:
    report = checked.render_columns([ColumnHelp("cords", "a", "one end", "SW-1:7", True, ("from", "source"))], "text")
    for words in ("CORDS", "a (needed)", "one end; for example SW-1:7", "also read: from, source"):
        assert words in report
