"""One site whose every word is hostile, through every command that tells something of a site, in every form.

Outlets, devices, rooms and cords are called as in `tests/nasty.py`, and so do switches, ports and neighbours speak.
"""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from itertools import count
from pathlib import Path

import openpyxl
import pypdfium2
import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot import MAX_TEXT, Neighbour, Snapshot
from collectors.snapshot_files import save_snapshot
from reconcile.cli.commands import app
from reconcile.reports.escape import LONGEST_SENTENCE
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade_network import answer, heard, port, snapshot

WORDS = [text[:MAX_TEXT].encode("utf-8", "replace").decode() for text in NASTY.values() if text.strip()]
SITE = NASTY["direction marks"] + NASTY["script"]
NEWCOMER = "dc:a6:32:9e:04:5b"

ALL = ("text", "json", "csv")
OUTPUTS: dict[str, tuple[list[list[str]], tuple[str, ...]]] = {
    "check": ([[], ["--columns"]], ALL),
    "reconcile": ([["--all"]], ALL),
    "nightly": ([["--snapshot", "{now}"]], ("text", "json")),
    "history": ([[], ["SW-1:p3"]], ("text", "json")),
    "waive": ([[]], ()),
    "todo": ([[]], ALL),
    "adopt": ([["--dry-run", "{key}"]], ()),
    "trace": ([["--why", "SW-1:p3"], [f"{NASTY['script']} box {WORDS.index(NASTY['script'])}"]], ALL),
    "limits": ([["--all"]], ALL),
    "spare": ([[]], ALL),
    "cords": ([["--labels"]], ALL),
    "teardown": ([["SW-1"]], ALL),
    "swap": ([["check", "--snapshot", "{now}"]], ALL),
}
"""What to run to see everything that a command tells, and its forms. Those that write files are tried further below."""

WRITES = {"page", "labels", "draft"}
SILENT = {
    "init": "writes our own words",
    "collect": "tests/reconcile/test_reports_asked.py",
    "probe": "tests/reconcile/test_reports_asked.py",
    "record": "tests/collectors/test_recording.py",
    "demo": "an invented site",
    "simulate": "an invented site",
    "schema": "no site",
}
"""Commands that tell nothing of a site, or where else what they tell is tried."""


def run(site: Path, *arguments: str) -> Result:
    return CliRunner().invoke(app, ["--site", str(site), *arguments], prog_name="toneout")


def mac(number: int) -> str:
    return f"20:47:47:00:{number // 256:02x}:{number % 256:02x}"


def said(*, crossed: bool) -> Snapshot:
    """What the switch says of its ports and neighbours; each two devices may have changed places, and one be new."""
    ports, rows, neighbours = [], [], []
    for n, text in enumerate(WORDS):
        ports.append(port(f"p{n}", alias=text, descr=text))
        rows.append((mac(n ^ 1 if crossed else n), f"p{n}"))
        if n > 5:
            neighbours.append(
                Neighbour(
                    port=f"p{n}", system_name=text, port_id=text, port_description=text, system_description=text,
                    chassis_id=text,
                )
            )  # fmt: skip
    switch = answer("SW-1", [*ports, port("p99")], heard(*rows, *([(NEWCOMER, "p99")] if crossed else [])), neighbours)
    switch.oddities = list(WORDS)
    switch.system.name = switch.system.descr = NASTY["terminal title"]
    return snapshot(switch, failed=["SW-2"])


def night(number: int) -> Snapshot:
    """On odd nights devices have changed places."""
    seen, later = said(crossed=number % 2 == 1), timedelta(days=number)
    for one in (*seen.switches, *seen.failed):
        one.started += later
    return seen.model_copy(update={"started": seen.started + later, "finished": seen.finished + later})


NIGHTS = count()


def tonight(site: Path) -> str:
    """The snapshot of one more night in a file: no night can be told twice."""
    file = site / f"{next(NIGHTS)}.json"
    save_snapshot(night(int(file.stem)), file)
    return str(file)


def keys(site: Path) -> list[str]:
    """The keys of differences: devices that changed places."""
    findings = json.loads(run(site, "reconcile", "--format", "json").stdout)["findings"]
    return [finding["key"] for finding in findings if finding["kind"] == "moved device"]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A flat schedule, three nights of history, a swap that was begun."""
    folder = tmp_path_factory.mktemp("nasty")
    title = json.dumps(SITE)
    (folder / "toneout.toml").write_text(
        f'[site]\nname = {title}\n[map]\nform = "schedule"\npath = "p.csv"\n',
        "utf-8",
    )
    with (folder / "p.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["outlet", "jack", "switch", "port", "device", "mac", "room", "cord", "note"])
        for n, text in enumerate(WORDS):
            name = text[:150].replace(":", ";")  # a colon parts a name from its jack, and 200 characters are the most
            writer.writerow(
                [
                    f"{name} plate {n}:1",
                    f"PP-A:{n}",
                    "SW-1",
                    f"p{n}",
                    f"{name} box {n}",
                    mac(n),
                    name,
                    f"{name} {n}",
                    name,
                ]
            )
            writer.writerow([f"spare {n}:1", f"PP-B:{n}", "", "", "", "", name, "", name])
    (folder / "snapshots").mkdir()
    for _ in range(3):
        assert run(folder, "nightly", "--snapshot", tonight(folder)).exit_code in (0, 1, 3)
    assert run(folder, "swap", "start", "--snapshot", tonight(folder)).exit_code in (0, 1, 3)
    save_snapshot(said(crossed=True), folder / "snapshots" / "latest.json")
    reason = ["--until", "2027-03-31", "--reason", NASTY["direction marks"] + NASTY["formula"]]
    assert run(folder, "waive", keys(folder)[-1], *reason).exit_code == 0
    return folder


LINES = [
    [name, *line, *(["--format", form] if form else [])]
    for name, (lines, forms) in OUTPUTS.items()
    for line in lines
    for form in forms or ("",)
]


def test_no_command_is_forgotten() -> None:
    known = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    assert known | {group.typer_instance.info.name for group in app.registered_groups if group.typer_instance} == set(
        OUTPUTS
    ) | WRITES | set(SILENT)


@pytest.mark.parametrize("line", LINES, ids=" ".join)
def test_hostile_words_are_harmless_in_what_a_command_tells(line: list[str], site: Path) -> None:
    filled = {"{now}": lambda: tonight(site), "{key}": lambda: keys(site)[0]}
    done = run(site, *(filled[part]() if part in filled else part for part in line))
    assert done.exit_code in (0, 1, 3), done.output
    assert "Traceback" not in done.output
    assert acting_characters((done.stdout + done.stderr).replace("\r\n", "\n")) == set()
    if line[-1] == "json" and done.stdout:
        json.loads(done.stdout)
    elif line[-1] == "csv":
        cells = [cell for row in csv.reader(io.StringIO(done.stdout, newline="")) for cell in row]
        assert [cell for cell in cells if cell.lstrip()[:1] in {"=", "+", "-", "@", "＝"}] == []
    else:
        assert max(map(len, done.stdout.split("\n"))) <= LONGEST_SENTENCE


def test_hostile_words_are_harmless_in_the_workbook(site: Path, tmp_path: Path) -> None:
    file = tmp_path / "report.xlsx"
    assert run(site, "reconcile", "--format", "xlsx", "--out", str(file)).exit_code in (0, 1, 3)
    cells = [cell for sheet in openpyxl.load_workbook(file) for row in sheet.iter_rows() for cell in row]
    assert any("SUM(1)" in str(cell.value) for cell in cells)
    assert {cell.data_type for cell in cells} <= {"s", "n", "d", "b", "inlineStr"}  # "f" would be a formula
    assert acting_characters("".join(str(cell.value) for cell in cells)) == set()


def test_hostile_words_are_harmless_in_page_metrics_and_draft(site: Path, tmp_path: Path) -> None:
    page, numbers, draft = tmp_path / "page.html", tmp_path / "site.prom", tmp_path / "draft.csv"
    assert run(site, "page", "--out", str(page)).exit_code == 0
    told = run(site, "nightly", "--snapshot", tonight(site), "--metrics", str(numbers), "--page", str(page))
    assert told.exit_code in (0, 1, 3)
    assert run(site, "draft", "--out", str(draft)).exit_code in (0, 1, 3)
    for file in (page, numbers, draft):
        text = file.read_text("utf-8-sig").replace("\r\n", "\n")
        if file is numbers:  # a monitoring system needs the site's own name as it is, and no other name is in it
            text = text.replace(SITE, "")
        assert len(text) > 1_000
        assert acting_characters(text) == set()
    assert "<script>alert" not in page.read_text("utf-8")


def test_hostile_words_are_harmless_on_labels(site: Path, tmp_path: Path) -> None:
    for kind in ("cords", "cables", "jacks"):
        file = tmp_path / f"{kind}.pdf"
        done = run(site, "labels", "--for", kind, "--out", str(file))
        assert done.exit_code in (0, 1)
        assert acting_characters(done.output) == set()
        document = pypdfium2.PdfDocument(file)
        text = "".join(sheet.get_textpage().get_text_bounded() for sheet in document).replace("\r\n", "")
        assert acting_characters(text) == set()
        assert len(text) > 500
