"""The report for people."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from rich.cells import cell_len

from reconcile.findings import Evidence, Kind, Place, Severity
from reconcile.reports import text
from reconcile.result import Cause, CoverageGap
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade import AT_BOAT, AT_LAB, TAKEN, everything, finding, result

IDENTIFIERS = (
    "GigabitEthernet1/0/7",
    "P1:7",
    "WL-04:1",
    "C-107",
    "confocal-pc",
    "tank-camera",
    "00:0c:29:5e:00:07",
    "moved-device-00000002",
    "dead-port-00000001",
    "sw-boat",
)


def test_causes_come_before_findings_and_findings_before_coverage() -> None:
    report = text.render(everything())
    places = [report.index(h) for h in ("CAUSES", "DIFFERENCES", "CHANNELS", "COULD NOT BE LOOKED AT")]
    assert places == sorted(places)


def test_a_report_without_causes_has_no_heading_for_them() -> None:
    assert "CAUSES" not in text.render(result(finding()))


def test_a_cause_tells_what_undoes_it_and_what_would_decide() -> None:
    report = text.render(everything())
    for words in ("1. pull cord C-107", "2. plug it into", "the devices were exchanged", "read the label"):
        assert words in report


def test_only_a_cause_that_is_not_sure_says_so() -> None:
    cause = Cause(kind="gone", story="It was taken away", findings=("dead-port-00000001",))
    assert "not proven" in text.render(result(finding(), causes=[cause]))
    assert "not proven" not in text.render(result(finding(), causes=[cause.model_copy(update={"sure": True})]))


def test_each_finding_tells_place_map_sight_proof_and_what_to_do() -> None:
    row = Evidence("sw-lab", "GigabitEthernet1/0/7", "interfaces", "ifOperStatus down")
    report = text.render(result(finding(evidence=(row,))))
    for words in (
        "tank-camera: sw-lab port GigabitEthernet1/0/7, panel P1:7, outlet WL-04:1",
        "tank-camera is at outlet WL-04:1 (cords.csv row 8)",
        "the port has no link",
        "sw-lab port GigabitEthernet1/0/7, interfaces: ifOperStatus down",
        "look whether the device is switched on",
        "dead-port-00000001",
    ):
        assert words in report


def test_the_worst_findings_stand_first_and_ports_in_the_order_of_their_numbers() -> None:
    def at(port: str, severity: Severity) -> Place:
        return AT_LAB.model_copy(update={"port": port, "room": severity.value})

    low = finding(key="a", severity=Severity.LOW, where=at("Gi1", Severity.LOW))
    tenth = finding(key="b", severity=Severity.HIGH, where=at("Gi10", Severity.HIGH))
    second = finding(key="c", severity=Severity.HIGH, where=at("Gi2", Severity.HIGH))
    report = text.render(result(low, tenth, second))
    assert re.findall(r"port (Gi\d+)", report) == ["Gi2", "Gi10", "Gi1"]


def test_findings_of_one_kind_are_counted_under_one_heading() -> None:
    report = text.render(result(finding(key="a"), finding(key="b"), finding(key="c", kind=Kind.SHUT_PORT)))
    assert "Dead port (2, medium): no link where the map has a device" in report
    assert "Shut port (1, medium)" in report


def test_every_kind_of_finding_is_explained_in_words() -> None:
    for kind in Kind:
        report = text.render(result(finding(kind=kind)), width=200)
        assert f"{kind.value.capitalize()} (1, medium): " in report


def test_addresses_that_the_sentence_does_not_name_are_listed() -> None:
    mac = "00:0c:29:5e:00:07"
    assert text.render(result(finding(macs=(mac,)))).count(mac) == 1
    assert text.render(result(finding(macs=(mac,), seen=f"{mac} is there"))).count(mac) == 1


def test_more_proof_than_a_person_reads_is_counted_instead() -> None:
    report = text.render(everything())
    assert "in VLAN 13" in report
    assert "in VLAN 14" not in report
    assert "and 2 more rows" in report


def test_what_could_not_be_looked_at_is_said_with_reason_and_hint_and_alike_gaps_stand_together() -> None:
    report = text.render(everything())
    assert "no answer: nothing came back in 2 s" in report
    assert "toneout probe sw-boat" in report
    assert "sw-lab, sw-wet: neighbours" in report
    assert report.count("no LLDP-MIB") == 1


def test_verdicts_are_counted_and_unchecked_ones_explained() -> None:
    report = text.render(result())
    assert re.search(r"^2 +unchecked", report, re.M)
    assert "sw-boat:1, sw-boat:2: sw-boat could not be asked" in report


def test_a_clean_run_says_so_and_a_run_with_gaps_does_not_claim_it() -> None:
    gap = CoverageGap(switch="sw-boat", state="no answer", reason="silent")
    assert "The network is as the map says." in text.render(result())
    partly = text.render(result(gaps=[gap]))
    assert "as the map says" not in partly
    assert "not everything could be looked at" in partly


def test_the_age_of_the_snapshot_is_told() -> None:
    assert "3 hours ago." in text.render(result(), now=TAKEN + timedelta(hours=3, minutes=59))


@pytest.mark.parametrize("width", [20, 40, 80, 132])
def test_no_line_is_wider_than_asked_unless_one_word_is(width: int) -> None:
    for line in text.render(everything(), width=width).splitlines():
        longest_word = max(map(len, line.split()), default=0)
        assert cell_len(line) <= width or longest_word > width - 12


@pytest.mark.parametrize("width", [1, 20, 40, 80])
def test_no_identifier_is_truncated_at_any_width(width: int) -> None:
    report = text.render(everything(), width=width)
    assert [name for name in IDENTIFIERS if name not in report] == []


def test_an_identifier_of_ten_thousand_characters_stays_whole() -> None:
    name = "p" * 10_000
    assert name in text.render(result(finding(where=AT_BOAT.model_copy(update={"port": name}))), width=40)


def test_wide_characters_count_as_two_cells() -> None:
    report = text.render(result(finding(seen="水槽 " * 60)), width=40)
    assert max(cell_len(line) for line in report.splitlines()) <= 40


def test_without_colour_there_is_no_escape_sequence_and_colour_changes_nothing_else() -> None:
    plain, coloured = text.render(everything()), text.render(everything(), colour=True)
    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_nothing_that_anyone_says_acts_on_the_terminal(nasty: str) -> None:
    place = Place(**dict.fromkeys(("switch", "port", "panel", "outlet", "room", "cord", "origin"), nasty))
    poor = finding(key=nasty, where=place, seen=nasty, device=nasty, moved_to=place, macs=(nasty,))
    row = Evidence(nasty, nasty, nasty, nasty)
    poor = poor.model_copy(update={"evidence": (row,), "advice": nasty, "documented": nasty})
    cause = Cause(kind=nasty, story=nasty, findings=(nasty,), undo=(nasty,), same_in_effect=(nasty,), decides=nasty)
    found = result(poor, causes=[cause], gaps=[CoverageGap(switch=nasty, state=nasty, reason=nasty, hint=nasty)])
    found.site, found.notes = nasty, [nasty]
    assert acting_characters(text.render(found)) == set()


def test_markup_of_the_terminal_library_is_printed_as_it_is() -> None:
    markup = NASTY["markup of the terminal library"]
    assert markup in text.render(result(finding(seen=markup)), colour=True)
