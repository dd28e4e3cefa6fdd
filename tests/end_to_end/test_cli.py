"""Every command with right and wrong input: what it prints, where, and its exit code."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot import FailedSwitch, Snapshot
from collectors.snapshot_files import load_snapshot, save_snapshot
from reconcile.cli.commands import COMMANDS, app
from reconcile.cli.follow import KINDS
from reconcile.cli.options import WHOLE_TABLE
from reconcile.patchmap.columns import describe_columns
from reconcile.patchmap.messages import CATALOGUE
from reconcile.patchmap.model import Severity
from reconcile.subjects import SubjectKind
from tests.reconcile.example_network import LATHE, MICROSCOPE, STRANGER, TAKEN, snapshot

NAMES = [command.__name__ for command in COMMANDS]
NEEDS_SITE = [["check"], ["collect"], ["reconcile"], ["trace", "X"], ["simulate"]]
DRIFT = {"SW-1": {"Gi1/0/1": MICROSCOPE, "Gi1/0/9": STRANGER}, "SW-2": {"Gi0/1": LATHE}}


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The example site, entered, with a snapshot in which all is as documented."""
    folder = tmp_path / "site"
    assert toneout("init", folder).exit_code == 0
    seen(folder, snapshot())
    monkeypatch.chdir(folder)
    return folder


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


def seen(folder: Path, what: Snapshot) -> None:
    (folder / "snapshots").mkdir(exist_ok=True)
    save_snapshot(what, folder / "snapshots" / "latest.json")


def break_a_row(folder: Path) -> None:
    devices = folder / "map" / "devices.csv"
    devices.write_text(devices.read_text().replace("0000.5e00.5331", "not-a-mac"))


def test_help_tells_every_command_and_every_exit_code() -> None:
    shown = toneout("--help").output
    assert [name for name in NAMES if f"\n  {name} " not in shown] == []
    for code in ("0 nothing", "1 drift", "2 could not run", "3 no drift seen", "130", "141"):
        assert code in " ".join(shown.split())


@pytest.mark.parametrize("name", NAMES)
def test_every_command_explains_itself(name: str) -> None:
    outcome = toneout(name, "--help")
    assert outcome.exit_code == 0
    assert f"Usage: toneout {name}" in outcome.output


def test_first_sentences_fit_the_list_of_commands() -> None:
    assert "..." not in toneout("--help").output.replace("[ARGS]...", "")


@pytest.mark.parametrize("arguments", [[], ["frobnicate"], ["check", "--format", "pdf"], ["trace"], ["init"]])
def test_wrong_use_is_code_2(arguments: list[str]) -> None:
    assert toneout(*arguments).exit_code == 2


@pytest.mark.parametrize("arguments", NEEDS_SITE)
def test_without_a_site_folder_the_way_to_one_is_told(
    arguments: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    outcome = toneout(*arguments)
    assert outcome.exit_code == 2
    assert outcome.stdout == ""
    assert outcome.stderr.startswith("toneout: ")
    assert "no toneout.toml here or in any folder above; try: toneout init DIR" in outcome.stderr


@pytest.mark.parametrize("before", [True, False])
def test_the_site_can_be_named_before_or_after_the_command(before: bool, site: Path, tmp_path: Path) -> None:
    arguments = ["--site", site, "check"] if before else ["check", "--site", site]
    assert toneout(*arguments).exit_code == 0


def test_a_site_is_found_from_a_folder_below(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(site / "map")
    assert toneout("check").exit_code == 0


@pytest.mark.parametrize("arguments", NEEDS_SITE)
def test_faults_of_toneout_toml_are_listed_each_with_its_line(arguments: list[str], site: Path) -> None:
    (site / "toneout.toml").write_text('[site]\nname = 7\n\n[mapp]\nform = "tables"\n')
    outcome = toneout(*arguments)
    assert outcome.exit_code == 2
    assert "toneout.toml line 2" in outcome.stderr
    assert "toneout.toml line 4" in outcome.stderr
    assert "Traceback" not in outcome.stderr


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"[site", b"", b"\0" * 100])
def test_an_unreadable_toneout_toml_is_code_2(content: bytes, site: Path) -> None:
    (site / "toneout.toml").write_bytes(content)
    outcome = toneout("check")
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr.startswith("toneout: ")


def test_check_of_a_clean_map_is_code_0(site: Path) -> None:
    outcome = toneout("check")
    assert outcome.exit_code == 0
    assert "No fault found." in outcome.stdout
    assert "2 switches, 3 panels, 4 outlets" in outcome.stdout


def test_check_tells_file_row_and_column_of_every_fault_and_ends_with_2(site: Path) -> None:
    break_a_row(site)
    outcome = toneout("check")
    assert outcome.exit_code == 2
    assert "devices.csv" in outcome.stdout
    assert "error: row 5, column mac" in outcome.stdout
    assert "Found 1 error" in outcome.stdout


def test_check_for_programs_and_spreadsheets_has_the_same_faults(site: Path) -> None:
    break_a_row(site)
    faults = json.loads(toneout("check", "--format", "json").stdout)["faults"]
    rows = list(csv.DictReader(io.StringIO(toneout("check", "--format", "csv").stdout, newline="")))
    assert faults == rows
    assert [(f["file"], f["row"], f["severity"]) for f in faults] == [("devices.csv", "5", "error")]


@pytest.mark.parametrize("form", ["text", "json", "csv"])
def test_check_lists_the_columns_of_a_map_without_a_site(
    form: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    outcome = toneout("check", "--columns", "--format", form)
    assert outcome.exit_code == 0
    assert [c.name for c in describe_columns() if c.name not in outcome.stdout] == []


def test_reconcile_of_what_is_as_documented_is_code_0_and_tells_the_age(site: Path) -> None:
    outcome = toneout("reconcile")
    assert outcome.exit_code == 0
    assert "The network is as the map says." in outcome.stdout
    assert " days ago." in outcome.stdout


def test_reconcile_of_drift_is_code_1_in_every_form(site: Path) -> None:
    seen(site, snapshot(DRIFT))
    text = toneout("reconcile")
    assert text.exit_code == 1
    assert STRANGER in text.stdout
    report = json.loads(toneout("reconcile", "--format", "json").stdout)
    rows = list(csv.DictReader(io.StringIO(toneout("reconcile", "--format", "csv").stdout, newline="")))
    assert [f["key"] for f in report["findings"]] == [row["key"] for row in rows if row["what"] == "finding"]
    assert all(f["key"] in text.stdout for f in report["findings"])


def test_a_switch_that_did_not_answer_makes_it_code_3(site: Path) -> None:
    partly = snapshot()
    partly.switches.pop()
    partly.failed.append(FailedSwitch(name="SW-2", started=TAKEN, reason="nothing came back", kind="no answer"))
    seen(site, partly)
    outcome = toneout("reconcile")
    assert outcome.exit_code == 3
    assert "nothing came back" in outcome.stdout
    assert "as the map says" not in outcome.stdout


def test_rows_of_the_map_that_cannot_be_used_make_it_code_3_at_least(site: Path) -> None:
    panels = site / "map" / "outlets.csv"
    panels.write_text(panels.read_text() + ",Cellar,1,6A,\n")
    outcome = toneout("reconcile")
    assert outcome.exit_code == 3
    assert "the patch map" in outcome.stdout
    assert "toneout check lists them" in outcome.stdout


def lose_the_map(folder: Path) -> None:
    (folder / "map").rename(folder / "elsewhere")


def lose_a_column(folder: Path) -> None:
    cords = folder / "map" / "cords.csv"
    cords.write_text(cords.read_text().replace("label,a,b,", "label,a,whither,"))


def put_a_folder_in_place_of_a_table(folder: Path) -> None:
    (folder / "map" / "cords.csv").unlink()
    (folder / "map" / "cords.csv").mkdir()


@pytest.mark.parametrize("damage", [lose_the_map, lose_a_column, put_a_folder_in_place_of_a_table])
@pytest.mark.parametrize("command", [["reconcile"], ["trace", "PP-A:1"]])
def test_a_map_of_which_a_whole_table_cannot_be_read_is_code_2(
    command: list[str], damage: Callable[[Path], None], site: Path
) -> None:
    damage(site)
    outcome = toneout(*command)
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert "the patch map cannot be read; try: toneout check" in outcome.stderr
    assert toneout("check").exit_code == 2


def test_the_faults_that_cost_a_whole_table_are_faults_that_exist() -> None:
    assert {code: CATALOGUE[code].severity for code in WHOLE_TABLE} == dict.fromkeys(WHOLE_TABLE, Severity.ERROR)


def test_without_any_snapshot_reconcile_tells_how_to_take_one(site: Path) -> None:
    (site / "snapshots" / "latest.json").unlink()
    outcome = toneout("reconcile")
    assert outcome.exit_code == 2
    assert "there is no such file; try: toneout collect" in outcome.stderr


def test_a_folder_given_as_a_snapshot_is_code_2_and_named(site: Path) -> None:
    outcome = toneout("reconcile", "--snapshot", "map")
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr.startswith("toneout: map: cannot be read")


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"schema_version": 99}', b"\xff", b"null"])
@pytest.mark.parametrize("command", [["reconcile"], ["trace", "PP-A:1"]])
def test_a_broken_snapshot_is_code_2_and_named(command: list[str], content: bytes, site: Path) -> None:
    (site / "broken.json").write_bytes(content)
    outcome = toneout(*command, "--snapshot", "broken.json")
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr.startswith("toneout: broken.json: ")


def test_asking_and_reading_a_snapshot_at_once_is_wrong_use(site: Path) -> None:
    outcome = toneout("reconcile", "--collect", "--snapshot", "snapshots/latest.json")
    assert outcome.exit_code == 2
    assert "give one of them" in outcome.stderr


def test_out_writes_the_file_and_prints_nothing(site: Path) -> None:
    seen(site, snapshot(DRIFT))
    outcome = toneout("reconcile", "--format", "json", "--out", "report.json")
    assert (outcome.exit_code, outcome.stdout) == (1, "")
    assert json.loads((site / "report.json").read_text())["site"] == "Example"
    assert [path.name for path in site.iterdir() if path.suffix == ".part"] == []


def test_out_replaces_a_file_whole_keeps_its_mode_and_follows_a_link(site: Path) -> None:
    report, link = site / "report.csv", site / "link.csv"
    report.write_text("old " * 10_000)
    report.chmod(0o600)
    link.symlink_to(report)
    toneout("reconcile", "--format", "csv", "--out", link)
    assert link.is_symlink()
    assert report.read_text().startswith('"what"')
    assert report.stat().st_mode & 0o777 == 0o600


def test_a_device_given_as_out_stays_a_device(site: Path) -> None:
    assert toneout("reconcile", "--out", "/dev/null").exit_code == 0
    assert Path("/dev/null").is_char_device()
    assert toneout("collect", "--out", "/dev/null", "--site", site).exit_code == 2
    assert Path("/dev/null").is_char_device()


@pytest.mark.parametrize("out", ["missing/report.txt", ".", "toneout.toml/x"])
def test_an_out_that_cannot_be_written_is_code_2_and_named(out: str, site: Path) -> None:
    outcome = toneout("reconcile", "--out", out)
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr.startswith(f"toneout: {out}: ")


def test_trace_prints_the_channel_and_what_was_seen(site: Path) -> None:
    outcome = toneout("trace", "microscope-1")
    assert outcome.exit_code == 0
    for words in ("C-101", "PP-A:1", "FC-1", "LAB-01:1", "SW-1 port Gi1/0/1", "1 Gbit/s", MICROSCOPE):
        assert words in outcome.stdout


def test_trace_takes_a_name_of_several_words_without_quotes(site: Path) -> None:
    assert toneout("trace", "pp-a", "1").stdout == toneout("trace", "PP-A:1").stdout


def test_trace_works_before_any_switch_was_asked(site: Path) -> None:
    (site / "snapshots" / "latest.json").unlink()
    outcome = toneout("trace", "SRV-1")
    assert outcome.exit_code == 0
    assert "No snapshot yet" in outcome.stdout


@pytest.mark.parametrize("form", ["json", "csv"])
def test_trace_for_programs_names_every_step(form: str, site: Path) -> None:
    outcome = toneout("trace", "SRV-1", "--format", form)
    for label in ("SW-1:Gi1/0/5", "C-106", "PP-F:1", "T1", "PP-R:1", "C-107", "SRV-1"):
        assert label in outcome.stdout


def test_trace_of_something_unknown_suggests_the_nearest(site: Path) -> None:
    outcome = toneout("trace", "MICROSKOPE-1")
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr == "toneout: MICROSKOPE-1: nothing in the map has this name; try: MICROSCOPE-1\n"


def test_trace_knows_the_kinds_that_its_help_names(site: Path) -> None:
    assert {word.strip("' ") for word in KINDS.replace(" or ", ", ").split(", ")} == set(SubjectKind)
    assert toneout("trace", "C-101", "--as", "Cord").exit_code == 0
    assert toneout("trace", "C-101", "--as", "plug").exit_code == 2


def test_the_published_schemas_describe_what_is_written(site: Path) -> None:
    # jsonschema is an independent reader of JSON Schema draft 2020-12.
    report = json.loads(toneout("schema").stdout)
    jsonschema.validate(json.loads(toneout("reconcile", "--format", "json").stdout), report)
    snapshots = json.loads(toneout("schema", "--of", "snapshot").stdout)
    jsonschema.validate(json.loads((site / "snapshots" / "latest.json").read_text()), snapshots)


def test_init_never_overwrites(site: Path) -> None:
    before = (site / "toneout.toml").read_bytes()
    outcome = toneout("init", site)
    assert outcome.exit_code == 2
    assert "nothing was written" in outcome.stderr
    assert (site / "toneout.toml").read_bytes() == before


def test_init_keeps_secrets_and_what_toneout_writes_out_of_git(tmp_path: Path) -> None:
    told = toneout("init", tmp_path / "annex").stdout
    assert "put your switches into toneout.toml" in told
    ignored = (tmp_path / "annex" / ".gitignore").read_text().splitlines()
    assert {"/secrets/", "/snapshots/", "/history.sqlite*", "*.lock"} <= set(ignored)
    own = tmp_path / "hall" / ".gitignore"
    own.parent.mkdir()
    own.write_text("*.bak\n")
    assert toneout("init", own.parent).exit_code == 0
    assert own.read_text() == "*.bak\n"


def test_init_names_the_site_after_its_folder_unless_told(tmp_path: Path) -> None:
    toneout("init", tmp_path / "annex")
    toneout("init", tmp_path / "hall", "--name", 'The "big" hall')
    assert 'name = "annex"' in (tmp_path / "annex" / "toneout.toml").read_text()
    assert toneout("--site", tmp_path / "hall", "check").exit_code == 0


def test_simulate_without_recordings_says_so(site: Path) -> None:
    outcome = toneout("simulate", site)
    assert outcome.exit_code == 2
    assert "there are no recordings" in outcome.stderr


def test_collect_without_a_secret_costs_that_switch_alone_and_is_code_3(
    site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("TONEOUT_COMMUNITY", raising=False)
    outcome = toneout("collect", "--out", "now.json")
    assert outcome.exit_code == 3
    assert "this environment variable is not set" in " ".join(outcome.stdout.split())
    assert [failed.name for failed in load_snapshot(site / "now.json").failed] == ["SW-1", "SW-2"]


def test_a_fault_of_our_own_is_one_line_and_verbose_tells_more(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no\x1b[31m cake")

    monkeypatch.setattr("reconcile.pipeline.compare", broken)
    outcome = toneout("reconcile")
    assert (outcome.exit_code, outcome.stdout) == (2, "")
    assert outcome.stderr.count("\n") == 1
    assert "a fault of toneout itself" in outcome.stderr
    assert "\x1b" not in outcome.stderr
    told = toneout("--verbose", "reconcile").stderr
    assert "Traceback" in told
    assert "\x1b" not in told


def test_one_fault_inside_a_group_of_tasks_is_told_as_itself(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ExceptionGroup("unhandled errors in a TaskGroup", [PermissionError(13, "Permission denied", "x.csv")])

    monkeypatch.setattr("reconcile.pipeline.compare", broken)
    outcome = toneout("reconcile")
    assert outcome.exit_code == 2
    assert outcome.stderr.startswith("toneout: x.csv: Permission denied; try: ")


def test_ctrl_c_is_code_130_without_a_traceback(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("reconcile.pipeline.compare", interrupted)
    outcome = toneout("reconcile")
    assert (outcome.exit_code, outcome.stderr) == (130, "toneout: interrupted\n")
