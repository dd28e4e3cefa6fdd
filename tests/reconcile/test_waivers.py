"""The file of accepted findings: kept by hand and by command, side by side."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reconcile.errors import SiteError, UsageError
from reconcile.result import Cause
from reconcile.waivers import WAIVERS_FILE, Waiver, add_waiver, apply_waivers, read_waivers, remove_waiver
from tests.reconcile.handmade import TAKEN, finding, result

ONE, OTHER = "dead-port-00000001", "moved-device-00000002"
TODAY = TAKEN.astimezone().date()
BY_HAND = """\
# Agreed with the boat crew in spring.

[[waiver]]
key = "dead-port-00000001" # the tide gauge
until = 2026-09-30
reason = "the shed has no mains before autumn"
"""


def test_a_site_without_the_file_has_no_waiver(tmp_path: Path) -> None:
    assert read_waivers(tmp_path) == ()


def test_what_was_added_is_read_again(tmp_path: Path) -> None:
    first, second = Waiver(ONE, date(2026, 9, 30), "no mains"), Waiver(OTHER, date(2027, 1, 1), "lent", "desk")
    add_waiver(tmp_path, first)
    add_waiver(tmp_path, second)
    assert read_waivers(tmp_path) == (first, second)


@given(st.text(min_size=1).filter(lambda text: text.strip() and "\r" not in text and text.isprintable()))
def test_any_reason_survives_the_file(tmp_path_factory: pytest.TempPathFactory, reason: str) -> None:
    folder = tmp_path_factory.mktemp("waivers")
    add_waiver(folder, Waiver(ONE, TODAY, reason))
    assert read_waivers(folder)[0].reason == reason


def test_comments_of_a_person_stay_when_a_waiver_is_added_changed_or_removed(tmp_path: Path) -> None:
    path = tmp_path / WAIVERS_FILE
    path.write_text(BY_HAND)
    add_waiver(tmp_path, Waiver(OTHER, date(2027, 1, 1), "lent"))
    assert path.read_text().startswith(BY_HAND)
    add_waiver(tmp_path, Waiver(ONE, date(2026, 10, 31), "no mains before November"))
    text = path.read_text()
    assert "# Agreed with the boat crew" in text
    assert "# the tide gauge" in text
    assert text.count("[[waiver]]") == 2
    remove_waiver(tmp_path, OTHER)
    assert "# the tide gauge" in path.read_text()
    assert [waiver.key for waiver in read_waivers(tmp_path)] == [ONE]


def test_removing_what_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / WAIVERS_FILE).write_text(BY_HAND)
    with pytest.raises(UsageError, match=f"has no waiver for it; try: {ONE}"):
        remove_waiver(tmp_path, "dead-port-00000007")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[waiver]\n", "is not TOML"),
        ('waiver = "all"\n', "not a list of tables"),
        ("waiver = [1]\n", "waiver 1: is not a table"),
        (BY_HAND.replace("until = 2026-09-30", 'until = "soon"'), "waiver 1: until is missing or no date"),
        (BY_HAND.replace("until = 2026-09-30", "until = 2026-09-30T10:00:00"), "until is missing or no date"),
        (BY_HAND.replace('reason = "the shed', 'raeson = "the shed'), "raeson is not known"),
        (BY_HAND.replace('"the shed has no mains before autumn"', '" "'), "reason is missing"),
    ],
)
def test_a_fault_made_by_hand_is_named_with_its_entry(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / WAIVERS_FILE).write_text(text)
    with pytest.raises(SiteError, match=words):
        read_waivers(tmp_path)


def test_a_file_with_a_fault_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / WAIVERS_FILE).write_text("[[waiver]\n")
    with pytest.raises(SiteError):
        add_waiver(tmp_path, Waiver(ONE, TODAY, "x"))
    assert (tmp_path / WAIVERS_FILE).read_text() == "[[waiver]\n"


def test_an_accepted_finding_leaves_the_findings_and_the_cause_that_explains_it_alone() -> None:
    causes = [
        Cause(kind="a", story="alone", findings=(ONE,)),
        Cause(kind="b", story="together", findings=(ONE, OTHER)),
    ]
    found = result(finding(ONE), finding(OTHER), causes=causes)
    applied = apply_waivers(found, [Waiver(ONE, TODAY, "no mains")])
    assert [f.key for f in applied.findings] == [OTHER]
    assert [(w.finding.key, w.reason) for w in applied.waived] == [(ONE, "no mains")]
    assert [cause.story for cause in applied.causes] == ["together"]
    assert len(found.findings) == 2  # the result that was given is as it was


def test_a_waiver_counts_on_its_last_day_and_no_longer() -> None:
    for last, accepted in ((TODAY, True), (TODAY.replace(day=TODAY.day - 1), False)):
        applied = apply_waivers(result(finding(ONE)), [Waiver(ONE, last, "no mains")])
        assert bool(applied.waived) is accepted
        assert any("ran out" in note for note in applied.notes) is not accepted


def test_a_waiver_for_nothing_is_reported_unless_nobody_could_look() -> None:
    waiver = Waiver(ONE, TODAY, "no mains")
    assert "--remove" in apply_waivers(result(), [waiver]).notes[0]
    assert apply_waivers(result(), [waiver], unseen={ONE}).notes == []
