"""The site folder: finding it, reading toneout.toml, writing a first one."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reconcile.channels import resolve
from reconcile.errors import SiteError
from reconcile.patchmap.check import check_map, check_site
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Fault
from reconcile.site import Site, find_site, load_site, write_example_site
from reconcile.site_file import SITE_FILE
from reconcile.toml_lines import line_of
from tests.nasty import NASTY

HEAD = '[site]\nname = "Saltmarsh Field Station"\n'


def write(folder: Path, text: str) -> Path:
    (folder / SITE_FILE).write_text(text, "utf-8")
    return folder


def load(folder: Path, text: str) -> Site:
    return load_site(write(folder, HEAD + text))


def faults(folder: Path, text: str) -> list[Fault]:
    with pytest.raises(SiteError) as caught:
        load_site(write(folder, text))
    return list(caught.value.faults)


def test_the_site_is_found_from_any_folder_within_it(tmp_path: Path) -> None:
    write(tmp_path, HEAD)
    (tmp_path / "map" / "old").mkdir(parents=True)
    assert find_site(tmp_path / "map" / "old") == tmp_path
    assert find_site(tmp_path) == tmp_path


def test_the_nearest_site_wins(tmp_path: Path) -> None:
    write(tmp_path, HEAD)
    (tmp_path / "annex").mkdir()
    write(tmp_path / "annex", HEAD)
    assert find_site(tmp_path / "annex") == tmp_path / "annex"


def test_no_site_says_how_to_make_one(tmp_path: Path) -> None:
    with pytest.raises(SiteError, match=r"no toneout\.toml here or in any folder above; try: toneout init DIR"):
        find_site(tmp_path)


def test_a_site_needs_no_more_than_a_name(tmp_path: Path) -> None:
    site = load(tmp_path, "")
    assert (site.name, site.accesses, site.map.form, site.map.path) == (
        "Saltmarsh Field Station", (), "tables", tmp_path / "map",
    )  # fmt: skip


def test_site_wide_tables_are_defaults_for_every_switch(tmp_path: Path) -> None:
    site = load(
        tmp_path,
        """
        [snmp]
        community = "env:READ"
        timeout = 5

        [[switch]]
        name = "SW-1"
        address = "192.0.2.11"

        [[switch]]
        name = "SW-2"
        address = "192.0.2.12"
        [switch.snmp]
        port = 1161
        community = "file:sw2.secret"
        """,
    )
    first, second = (access.snmp for access in site.accesses)
    assert first is not None
    assert second is not None
    assert (first.community, first.timeout, first.port) == ("env:READ", 5, 161)
    assert (second.community, second.timeout, second.port) == ("file:sw2.secret", 5, 1161)
    assert site.access("sw-2") is site.accesses[1]
    assert site.access("SW-3") is None


def test_a_switch_may_decline_a_site_wide_way_of_asking(tmp_path: Path) -> None:
    site = load(
        tmp_path,
        '[snmp]\ncommunity = "env:READ"\n[[switch]]\nname = "SW-1"\naddress = "192.0.2.11"\nsnmp = false\n'
        'ssh = { platform = "linux", user = "reader" }\n',
    )
    assert (site.accesses[0].snmp, site.accesses[0].ssh is not None) == (None, True)


def test_site_wide_defaults_that_say_too_little_to_ask_are_for_switches_that_say_the_rest(tmp_path: Path) -> None:
    site = load(
        tmp_path,
        '[ssh]\nuser = "reader"\n[snmp]\ncommunity = "env:READ"\n'
        '[[switch]]\nname = "SW-1"\naddress = "192.0.2.11"\n'
        '[[switch]]\nname = "SW-2"\naddress = "192.0.2.12"\nssh.platform = "linux"\n',
    )
    first, second = site.accesses
    assert first.ssh is None
    assert second.ssh is not None
    assert (second.ssh.user, second.ssh.platform) == ("reader", "linux")


def test_every_fault_is_told_at_once_with_its_line(tmp_path: Path) -> None:
    text = """[site]
nam = "x"

[map]
form = "tabels"

[snmp]
community = "env:READ"
timeout = -1

[[switch]]
name = "SW-1"
adress = "192.0.2.11"

[[switch]]
name = "SW-2"
address = "192.0.2.12"
snmp = { version = "3" }
"""
    found = {(f.code, f.column, f.origin.row) for f in faults(tmp_path, text)}
    assert found == {
        ("unknown-key", "site.nam", 2),
        ("missing-key", "site.name", 1),
        ("wrong-value", "map.form", 5),
        ("wrong-value", "snmp.timeout", 9),
        ("unknown-key", "switch.1.adress", 13),
        ("missing-key", "switch.1.address", 11),
        ("wrong-value", "switch.2.snmp", 18),
    }


def test_the_error_names_the_first_fault_and_counts_the_others(tmp_path: Path) -> None:
    text = '[site]\nname = "x"\nnaem = 1\n[mpa]\n'
    with pytest.raises(SiteError) as caught:
        load_site(write(tmp_path, text))
    assert str(caught.value) == (
        f"{tmp_path / SITE_FILE}: line 3: site.naem: there is no such key here (and 1 more fault); "
        'try: did you mean "name"?'
    )


@pytest.mark.parametrize(
    ("text", "column", "hint"),
    [
        ('[sitee]\nname = "x"', "sitee", 'did you mean "site"?'),
        ('[site]\nname = "x"\n[map]\npaht = "map"', "map.paht", 'did you mean "path"?'),
        ('[site]\nname = "x"\n[settings]\nqqq = 1', "settings.qqq", "use one of at_once, deadline"),
        ('[site]\nname = "x"\n[map.tables]\ncord = "x.csv"', "map.tables.cord", 'did you mean "cords"?'),
        ('[site]\nname = "x"\n[map.columns.cord]\na = "Von"', "map.columns.cord", 'did you mean "cords"?'),
        ('[site]\nname = "x"\n[map.columns.cords]\nlable = "Nr"', "map.columns.cords.lable", 'did you mean "label"?'),
        ('[site]\nname = "x"\n[map]\nform = "schedule"\n[map.columns]\nJackk = "F"', "map.columns.Jackk", '"jack"?'),
    ],
)
def test_a_key_that_is_not_known_is_answered_with_the_nearest(
    tmp_path: Path, text: str, column: str, hint: str
) -> None:
    (fault,) = [f for f in faults(tmp_path, text) if f.code == "unknown-key"]
    assert fault.column == column
    assert hint in fault.hint


@pytest.mark.parametrize(
    "text",
    [
        "switch = 3",
        "[switch]\nname = 'x'", "switch = [1, 2]", "snmp = 1\n[[switch]]\nname='a'\naddress='b'",
        "map = []",
        "settings = 'x'", "[map]\ncolumns = 3", "[map]\nform = 'schedule'\ncolumns = { jack = 3 }",
        "[map]\nencoding = 'klingon'", "[map]\nencoding = 'zlib'",
        "[map.columns]\ncords = 3", "[map]\ncolumns = { cords = [] }",
    ],
)  # fmt: skip
def test_a_value_of_the_wrong_kind_is_a_fault(tmp_path: Path, text: str) -> None:
    found = faults(tmp_path, text.replace("\n", "\n", 1) + "\n" + HEAD)
    assert {fault.code for fault in found} == {"wrong-value"}
    assert all(fault.problem and fault.hint for fault in found)


@pytest.mark.parametrize("text", ["a = [[[[" * 2000, "x = 1\nx = 2", "[a]\n[a]", "name", "\0", '"' * 9])
def test_what_is_not_toml_is_said_with_its_line(tmp_path: Path, text: str) -> None:
    (fault,) = faults(tmp_path, text)
    assert fault.code == "not-toml"


def test_a_byte_order_mark_does_not_matter(tmp_path: Path) -> None:
    (tmp_path / SITE_FILE).write_bytes(b"\xef\xbb\xbf" + HEAD.encode())
    assert load_site(tmp_path).name == "Saltmarsh Field Station"


def test_a_site_file_of_megabytes_is_refused(tmp_path: Path) -> None:
    with (tmp_path / SITE_FILE).open("wb") as file:
        file.truncate(100_000_000)
    with pytest.raises(SiteError, match="larger than 4 MB"):
        load_site(tmp_path)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.text(max_size=80)
    | st.lists(
        st.sampled_from(
            ['[site]', 'name = "x"', '[[switch]]', '[switch]', 'address = "b"', "[snmp]", 'community = "env:A"',
             "[switch.snmp]", "port = 7", 'version = "3"', "[map]", 'form = "schedule"', "[map.columns]", 'jack = "F"',
             "[map.columns.cords]", "snmp = false", "[settings]", "at_once = 0", "switch.name = 1", "ssh = []"]
        )
    ).map("\n".join)
)  # fmt: skip
def test_any_text_is_a_site_or_faults(tmp_path: Path, text: str) -> None:
    (tmp_path / SITE_FILE).write_bytes(text.encode("utf-8", "replace"))
    try:
        site = load_site(tmp_path)
    except SiteError as error:
        assert error.faults  # noqa: PT017  # either outcome is right; what counts is that it is one of the two
    else:
        assert site.name


@pytest.mark.parametrize("text", NASTY.values(), ids=list(NASTY))
def test_any_nasty_string_may_name_a_new_site(tmp_path: Path, text: str) -> None:
    try:
        write_example_site(tmp_path / "site", text)
        assert load_site(tmp_path / "site").name == text
    except SiteError as error:
        assert not text.strip() or len(text) > 200 or "\ud83d" in text, error  # noqa: PT017  # only these are refused


def test_a_new_site_passes_the_check_as_it_is(tmp_path: Path) -> None:
    written = write_example_site(tmp_path / "new", 'The "old" station')
    site = load_site(tmp_path / "new")
    patch_map, read_faults = read_map(site)
    channels = resolve(patch_map)
    assert site.name == 'The "old" station'
    assert (*read_faults, *check_map(patch_map, channels), *check_site(site, patch_map)) == ()
    assert (len(channels.resolved), channels.broken) == (7, ())
    assert {path.name for path in written} == {
        ".gitignore", "toneout.toml", "switches.csv", "panels.csv", "outlets.csv", "fixed-cables.csv", "cords.csv",
        "devices.csv",
    }  # fmt: skip


def test_a_new_site_never_overwrites_anything(tmp_path: Path) -> None:
    (tmp_path / "map").mkdir()
    (tmp_path / "map" / "cords.csv").write_text("mine", "utf-8")
    with pytest.raises(SiteError, match=r"cords\.csv: is there already; nothing was written"):
        write_example_site(tmp_path, "x")
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["cords.csv"]


def test_the_commented_ways_of_asking_in_a_new_site_are_sound(tmp_path: Path) -> None:
    write_example_site(tmp_path, "x")
    text = (tmp_path / SITE_FILE).read_text("utf-8")
    lines = [line.removeprefix("# ") if line.startswith(("# snmp", "# ssh")) else line for line in text.splitlines()]
    write(tmp_path, "\n".join(lines))
    access = load_site(tmp_path).accesses[1]
    assert access.snmp is not None
    assert (access.snmp.version, access.ssh is not None) == ("3", True)


def test_a_switch_that_the_map_has_and_nobody_asks_is_no_fault(tmp_path: Path) -> None:
    write_example_site(tmp_path, "x")
    text = (tmp_path / SITE_FILE).read_text("utf-8").partition("[[switch]]")[0]
    site = load_site(write(tmp_path, text))
    patch_map, _ = read_map(site)
    assert (len(patch_map.switches), check_site(site, patch_map)) == (2, ())


def test_two_switches_behind_one_address_on_two_ports_are_two_switches(tmp_path: Path) -> None:
    site = load(
        tmp_path,
        '[snmp]\ncommunity = "env:READ"\n[[switch]]\nname = "SW-1"\naddress = "127.0.0.1"\nsnmp.port = 16101\n'
        '[[switch]]\nname = "SW-2"\naddress = "127.0.0.1"\nsnmp.port = 16102\n',
    )
    assert {fault.code for fault in check_site(site, read_map(site)[0])} == {"access-not-in-map"}


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("site", "name"), 2),
        (("switch", 0), 4),
        (("switch", 0, "snmp", "port"), 7),
        (("switch", 1), 9),
        (("switch", 1, "ssh", "user"), 11),
        (("switch", 1, "snmp"), 9),
        (("nothing",), None),
    ],
)
def test_the_line_of_a_key_is_found(path: tuple[str | int, ...], line: int | None) -> None:
    text = '[site]\nname = "x" # [[switch]]\n\n[[switch]]\nname = "a"\n[switch.snmp]\nport = 1\n\n'
    text += '[[switch]]\nname = "b"\nssh.user = "c"\n'
    assert line_of(text, path) == line


def test_a_column_may_be_named_by_any_of_its_usual_words(tmp_path: Path) -> None:
    site = load(tmp_path, '[map]\nform = "schedule"\n[map.columns]\nmac = "Adresse"\n"Panel jack" = "Feld"')
    assert site.map.columns == {"schedule": {"macs": ("Adresse",), "jack": ("Feld",)}}
