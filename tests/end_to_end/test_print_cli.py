"""`toneout labels` and the workbook as people ask for them: on the demo, on a bare map, and with slips of the hand."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pypdfium2
import pytest
import zxingcpp
from typer.testing import CliRunner, Result

from reconcile.cli.commands import app
from tests.nasty import acting_characters
from tests.worlds.files import SITES


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


@pytest.fixture
def station(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SITES / "cable-limits", tmp_path / "hatchery"))


def codes(path: Path) -> list[str]:
    pages = pypdfium2.PdfDocument(path)
    return [
        code.text
        for page in pages
        for code in zxingcpp.read_barcodes(page.render(scale=300 / 72, grayscale=True).to_numpy())
    ]


def test_labels_go_into_the_site_folder_and_bear_both_ends_of_a_cord(station: Path) -> None:
    outcome = toneout("--site", station, "labels", "hatch-1:Gi1/0/2")
    assert outcome.exit_code == 0, outcome.output
    assert "2 labels on 1 sheet" in outcome.stdout
    one, other = codes(station / "labels.pdf")
    assert one.split(" > ") == other.split(" > ")[::-1]
    assert "hatch-1:Gi1/0/2" in one.split(" > ")


@pytest.mark.parametrize("kind", ["cords", "cables", "jacks"])
@pytest.mark.parametrize("shape", ["wrap", "flat"])
def test_every_kind_and_shape_prints_on_a_sheet_of_any_size(
    kind: str, shape: str, station: Path, tmp_path: Path
) -> None:
    out = tmp_path / "l.pdf"
    sizes = ("--paper", "letter", "--label", "64 x 32mm", "--printed", "20", "--margin", "5x10", "--gap", "1x1")
    more = ("--shift=-0.5x1", "--used", "3", "--outline", "--out", out)
    outcome = toneout("--site", station, "labels", "--for", kind, "--shape", shape, *sizes, *more)
    assert outcome.exit_code in (0, 1), outcome.output  # 1: two cords of this map bear the same text
    sheet = pypdfium2.PdfDocument(out)[0]
    assert sheet.get_size() == pytest.approx((612, 792))  # 8.5 x 11 inches of 72 points


def test_without_a_snapshot_it_is_told_that_nothing_is_known_of_power(station: Path) -> None:
    shutil.rmtree(station / "snapshots")
    outcome = toneout("--site", station, "labels")
    assert "where PoE is on is not known" in outcome.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ("--label", "wide"),
        ("--paper", "a9999"),
        ("--paper", "0x0"),
        ("--label", "9999x10"),
        ("--margin=-3x2",),
        ("--printed", "nan"),
        ("--font", "no-such-file.ttf"),
        ("nobody",),
        ("--out", "/nowhere/at/all.pdf"),
        ("--out", "/"),
    ],
)
def test_a_slip_of_the_hand_is_answered_in_one_line_with_what_to_try(arguments: tuple[str, ...], station: Path) -> None:
    outcome = toneout("--site", station, "labels", *arguments)
    assert outcome.exit_code == 2
    assert len(outcome.stderr.strip().splitlines()) == 1
    assert "Traceback" not in outcome.output
    assert not acting_characters(outcome.stderr)
    assert not (station / "labels.pdf").exists()


def test_a_workbook_is_written_whole_with_the_exit_code_of_the_report(station: Path, tmp_path: Path) -> None:
    text = toneout("--site", station, "reconcile")
    outcome = toneout("--site", station, "reconcile", "--format", "xlsx", "--out", tmp_path / "drift.xlsx")
    assert outcome.exit_code == text.exit_code == 1
    book = openpyxl.load_workbook(tmp_path / "drift.xlsx")
    assert book["Differences"].max_row > 1
    assert [path.name for path in tmp_path.glob("*.part")] == []


def test_a_workbook_never_goes_to_the_terminal(station: Path) -> None:
    outcome = toneout("--site", station, "reconcile", "--format", "xlsx")
    assert outcome.exit_code == 2
    assert "--out" in outcome.stderr
