"""Every message has an input that brings it out: fixtures/bad_inputs/index.toml."""

from __future__ import annotations

import io
import shutil
import tomllib
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from reconcile.channels import resolve
from reconcile.errors import SiteError
from reconcile.limits.faults import limit_faults
from reconcile.patchmap import grids
from reconcile.patchmap.check import check_map, check_site
from reconcile.patchmap.files import read_map
from reconcile.patchmap.messages import CATALOGUE
from reconcile.patchmap.model import Fault
from reconcile.site import load_site

BAD = Path(__file__).parents[3] / "fixtures" / "bad_inputs"
CASES: list[dict[str, Any]] = tomllib.loads((BAD / "index.toml").read_text("utf-8"))["case"]


def faults_of(site: Path) -> list[Fault]:
    """All that `toneout check` would say about a site folder."""
    try:
        here = load_site(site)
    except SiteError as error:
        return list(error.faults)
    patch_map, faults = read_map(here)
    channels = resolve(patch_map)
    beyond = limit_faults(channels, here.limits)
    return [*faults, *check_map(patch_map, channels), *check_site(here, patch_map), *beyond]


def sparse_file(folder: Path) -> Path:
    path = folder / "patching.csv"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    return path


def zip_bomb(folder: Path) -> Path:
    path = folder / "patching.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/workbook.xml", "w") as part:
        for _ in range(100):
            part.write(bytes(1_000_000))
    return path


def schedule_of(text: str) -> Callable[[Path], Path]:
    def write(folder: Path) -> Path:
        path = folder / "patching.csv"
        path.write_text(text, "utf-8")
        return path

    return write


MADE: dict[str, Callable[[Path], Path]] = {
    "100 MB": sparse_file,
    "zip bomb": zip_bomb,
    "too many rows": schedule_of("outlet,note\n" + "WL-01:1,x\n" * 501),
    "a cell of 40,000 characters": schedule_of("outlet,jack,note\nWL-01:1,PP-A:1," + "x" * 40_000 + "\n"),
    "a cell of 200,000 characters": schedule_of("outlet,jack,note\nWL-01:1,PP-A:1," + "x" * 200_000 + "\n"),
}


def site_of(case: dict[str, Any], folder: Path) -> Path:
    """A site folder around the input of a case."""
    name = str(case["input"])
    if name.endswith(".toml"):
        shutil.copy(BAD / name, folder / "toneout.toml")
        shutil.copy(BAD / "sound.csv", folder)
        return folder
    source = MADE[name.removeprefix("made: ")](folder) if name.startswith("made: ") else BAD / name
    form = case.get("form") or ("tables" if source.is_dir() else "schedule")
    lines = ["[site]", 'name = "Saltmarsh Field Station"', "[map]", f'form = "{form}"', f'path = "{source.as_posix()}"']
    (folder / "toneout.toml").write_text("\n".join([*lines, case.get("map", "")]), "utf-8")
    return folder


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["code"] + " " + case["input"])
def test_each_bad_input_gets_its_message_and_no_other(
    case: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(grids, "MAX_ROWS", 500)
    faults = faults_of(site_of(case, tmp_path))
    assert {fault.code for fault in faults} == {case["code"], *case.get("also", ())}, "\n".join(map(str, faults[:20]))
    told = [str(fault) for fault in faults if fault.code == case["code"]]
    assert any(all(words in line for words in case["says"]) for line in told), "\n".join(told[:20])


def test_every_message_has_an_input_that_brings_it_out() -> None:
    assert {case["code"] for case in CASES} == set(CATALOGUE)


def test_every_input_is_used() -> None:
    used = {case["input"] for case in CASES} | {"index.toml", "sound.csv"}
    assert {path.name for path in BAD.iterdir()} <= used


def test_the_sound_map_that_bad_site_files_stand_on_has_no_fault(tmp_path: Path) -> None:
    case = {"input": "sound.csv"}
    assert faults_of(site_of(case, tmp_path)) == []


def test_every_message_says_what_to_do() -> None:
    assert [code for code, message in CATALOGUE.items() if not message.hint] == []


def test_a_secret_typed_into_the_site_file_is_not_repeated(tmp_path: Path) -> None:
    (tmp_path / "toneout.toml").write_text(
        '[site]\nname = "x"\n[snmp]\ncommunity = "tidewater7"\n[[switch]]\nname = "a"\naddress = "b"\n'
        'snmp = { version = "3", user = "u", auth = "sha1", auth_secret = "tidewater7" }\n',
        "utf-8",
    )
    with pytest.raises(SiteError) as caught:
        load_site(tmp_path)
    assert "tidewater7" not in str(caught.value) + repr(caught.value.faults)
    assert {fault.column for fault in caught.value.faults} == {"snmp.community", "switch.1.snmp.auth_secret"}


def test_an_archive_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", bytes(2_000_000))
    honest = packed.getvalue()
    size = (2_000_000).to_bytes(4, "little")
    (tmp_path / "patching.xlsx").write_bytes(honest.replace(size, (10).to_bytes(4, "little")))
    case = {"input": "sound.csv", "form": "schedule"}
    folder = site_of(case, tmp_path)
    text = (folder / "toneout.toml").read_text("utf-8").replace((BAD / "sound.csv").as_posix(), "patching.xlsx")
    (folder / "toneout.toml").write_text(text, "utf-8")
    assert [fault.code for fault in faults_of(folder)] == ["not-workbook"]
