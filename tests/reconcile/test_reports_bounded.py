"""Texts for people stay readable when thousands of things are alike: the first are listed, the others counted."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest

from reconcile.findings import Finding
from reconcile.history.night import Night
from reconcile.patchmap.model import Fault, Origin, Severity
from reconcile.reports import as_csv, as_json, checked, text
from reconcile.reports import night as nightly
from reconcile.result import Cause, CoverageGap
from tests.reconcile.handmade import AT_LAB, finding, result

MANY = 3_000


def dead_ports(count: int) -> list[Finding]:
    """Dead ports of devices with names of their own, 48 on each switch."""
    places = (AT_LAB.model_copy(update={"switch": f"sw-{n // 48}", "port": f"Gi{n % 48}"}) for n in range(count))
    return [finding(key=f"dead-port-{n:08}", device=f"dev-{n}.", where=at) for n, at in enumerate(places)]


def gone(findings: list[Finding]) -> list[Cause]:
    """A cause for each."""
    return [Cause(kind="gone", story=f"{f.device} is gone", findings=(f.key,)) for f in findings]


def unknown_switches(count: int) -> list[Fault]:
    """A fault for each row of a table."""
    one = Fault(Origin("cords.csv", row=0), "a", "", severity=Severity.ERROR, code="unknown-name")
    rows = range(2, count + 2)
    return [one._replace(origin=Origin("cords.csv", row=row), problem=f"There is no SW-{row}.") for row in rows]


def test_of_thousands_of_like_findings_the_first_are_listed_and_the_others_counted_by_switch() -> None:
    findings = dead_ports(MANY)
    report = text.render(result(*findings), width=200)
    assert len(re.findall(r"^    key", report, re.M)) == text.MOST_ALIKE
    assert f"Dead port ({MANY}, medium)" in report
    assert f"And {MANY - text.MOST_ALIKE} more differences: 48 on sw-1, 48 on sw-2" in report
    assert "toneout reconcile --all lists them" in report


def test_of_thousands_of_like_causes_the_first_are_listed_and_every_kind_is_counted() -> None:
    findings = dead_ports(MANY)
    causes = [*gone(findings[1:]), Cause(kind="crossed", story="Two are crossed", findings=(findings[0].key,))]
    report = text.render(result(*findings, causes=causes), width=200)
    assert report.count("is gone (likely") == text.MOST_ALIKE
    assert f"{MANY}. Two are crossed" in report  # a kind of its own is never crowded out, and keeps its number
    assert f"By kind: {MANY - 1} gone, 1 crossed; none of them sure" in report
    assert f"And {MANY - 1 - text.MOST_ALIKE} more causes: {MANY - 1 - text.MOST_ALIKE} gone (" in report


def test_a_cause_of_hundreds_of_findings_names_some_of_them() -> None:
    findings = dead_ports(300)
    cause = Cause(kind="renumbered", story="All ports answer to other names", findings=tuple(f.key for f in findings))
    report = text.render(result(*findings, causes=[cause]))
    assert re.search(r"^ +and 280 more$", report, re.M)


def test_all_are_listed_on_request() -> None:
    findings = dead_ports(100)
    report = text.render(result(*findings, causes=gone(findings)), most=None)
    assert all(f"key     {f.key}" in report and f"{f.device}: " in report for f in findings)
    assert "--all" not in report


@pytest.mark.parametrize("count", [1, text.MOST_ALIKE])
def test_as_many_as_a_person_reads_are_listed_without_a_word_of_more(count: int) -> None:
    findings = dead_ports(count)
    assert "--all" not in text.render(result(*findings, causes=gone(findings)))


def test_data_for_programs_and_spreadsheets_is_never_shortened() -> None:
    findings = dead_ports(MANY)
    found = result(*findings, causes=gone(findings))
    data = json.loads(as_json.render(found))
    assert (len(data["findings"]), len(data["causes"])) == (MANY, MANY)
    assert len(list(csv.reader(io.StringIO(as_csv.render(found))))) == MANY + 1


def test_a_thousand_switches_that_did_not_answer_are_named_in_part() -> None:
    gaps = [CoverageGap(switch=f"sw-{n}", state="no answer", reason="silent") for n in range(1000)]
    report = text.render(result(gaps=gaps))
    assert "and 980 more" in report
    assert "sw-999" in text.render(result(gaps=gaps), most=None)


def test_of_thousands_of_like_faults_of_a_map_the_first_are_listed_and_the_others_told_by_rows() -> None:
    other = Fault(Origin("cords.csv", row=5000), "b", "Odd.", severity=Severity.WARNING, code="odd")
    report = checked.render(None, [*unknown_switches(MANY), other], "text", width=200)
    assert report.count("error: row") == checked.MOST_ALIKE
    assert "warning: row 5000" in report  # another kind is never crowded out
    assert "and 2980 more errors of the kind unknown-name, in rows 22 to 3001 (toneout check --all" in report
    assert f"{MANY} errors and 1 warning" in report


def test_all_faults_of_a_map_are_in_the_text_on_request_and_always_in_the_data() -> None:
    faults = unknown_switches(100)
    assert checked.render(None, faults, "text", most=None).count("error: row") == 100
    assert len(json.loads(checked.render(None, faults, "json"))["faults"]) == 100
    assert len(list(csv.reader(io.StringIO(checked.render(None, faults, "csv"))))) == 101


def test_a_night_that_brings_thousands_lists_the_first_of_each_kind_and_counts_the_others() -> None:
    findings = dead_ports(MANY)
    night = Night(run=2, taken=result().taken, new=findings, gone=findings)
    report = nightly.render(night, width=200)
    assert len(re.findall(r"^    key", report, re.M)) == text.MOST_ALIKE
    assert report.count(f"and {MANY - text.MOST_ALIKE} more; toneout reconcile --all") == 2
