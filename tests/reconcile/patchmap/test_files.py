"""Text files of a map: encodings, separators, headings, ragged rows, and what is the user's own."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest

from reconcile.patchmap.model import Cord, Device, End, FixedCable, Origin, Outlet, Panel, Severity
from tests.reconcile.patchmap.site_folder import read_schedule, read_tables

SCHEDULE = "outlet,jack,switch,port,device,mac,room\nWL-01:1,PP-A:1,SW-1,1,BÜRO-PC,00:00:5e:00:53:01,Büro\n"


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", codecs.BOM_UTF8),
        ("utf-16-le", codecs.BOM_UTF16_LE),
        ("utf-16-be", codecs.BOM_UTF16_BE),
        ("utf-16-le", b""),
        ("utf-16-be", b""),
    ],
)
def test_every_unicode_encoding_is_found_out(tmp_path: Path, encoding: str, mark: bytes) -> None:
    the_map, faults = read_schedule(tmp_path, mark + SCHEDULE.encode(encoding))
    assert ([device.name for device in the_map.devices], faults) == (["BÜRO-PC"], ())


def test_windows_1252_is_read_with_a_warning_that_shows_a_word(tmp_path: Path) -> None:
    the_map, (fault,) = read_schedule(tmp_path, SCHEDULE.encode("cp1252"))
    assert the_map.devices[0].room == "Büro"
    assert (fault.code, fault.severity) == ("guessed-encoding", Severity.WARNING)
    assert '"BÜRO"' in fault.problem


def test_an_encoding_named_in_the_site_file_is_taken_without_a_warning(tmp_path: Path) -> None:
    the_map, faults = read_schedule(tmp_path, SCHEDULE.encode("cp850"), 'encoding = "cp850"')
    assert (the_map.devices[0].room, faults) == ("Büro", ())


@pytest.mark.parametrize("separator", [";", "\t", "|", ","])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_separator_and_line_end_are_found_out(tmp_path: Path, separator: str, ending: str) -> None:
    text = SCHEDULE.replace(",", separator).replace("\n", ending)
    the_map, faults = read_schedule(tmp_path, text)
    assert ([d.room for d in the_map.devices], faults) == (["Büro"], ())


def test_a_separator_named_in_the_first_line_is_taken(tmp_path: Path) -> None:
    the_map, faults = read_schedule(tmp_path, "sep=;\n" + SCHEDULE.replace(",", ";"))
    assert ([d.origin.row for d in the_map.devices], faults) == ([3], ())


def test_commas_inside_cells_do_not_mislead_the_choice_of_separator(tmp_path: Path) -> None:
    text = "Station, site A, page 1;;\nname;mac;note\nNAS;00:00:5e:00:53:01,00:00:5e:00:53:02;a, b, c, d\n"
    the_map, faults = read_tables(tmp_path, devices=text)
    assert ([(len(d.macs), d.note) for d in the_map.devices], faults) == ([(2, "a, b, c, d")], ())


def test_titles_empty_rows_and_comments_around_the_table_are_left_out_and_rows_keep_their_numbers(
    tmp_path: Path,
) -> None:
    text = "Patch panels,,\n,,\nname,jacks,room\n\n# the old one is gone,,\n ,,\nPP-A,2,Comms room\n"
    the_map, faults = read_tables(tmp_path, panels=text)
    assert ([(p.name, p.origin) for p in the_map.panels], faults) == ([("PP-A", Origin("panels.csv", "", 7))], ())


def test_a_label_that_begins_with_a_number_sign_is_no_comment(tmp_path: Path) -> None:
    the_map, _ = read_tables(tmp_path, cords="label,a,b\n#12,SW-1:1,SW-2:1\n# 13,SW-1:2,SW-2:2\n")
    assert [cord.label for cord in the_map.cords] == ["#12", "# 13"]


def test_columns_of_the_users_own_are_kept_as_they_are(tmp_path: Path) -> None:
    text = "name,Asset no.,jacks,Bought, \nPP-A,0042,2, 2019 ,x\n"
    the_map, faults = read_tables(tmp_path, panels=text)
    assert (the_map.panels[0].extra, faults) == ({"Asset no.": "0042", "Bought": " 2019 "}, ())


def test_two_columns_of_the_users_own_with_one_heading_are_both_kept(tmp_path: Path) -> None:
    the_map, _ = read_tables(tmp_path, panels="name,jacks,Old,Old\nPP-A,2,a,b\n")
    assert the_map.panels[0].extra == {"Old": "a", "Old (D)": "b"}


def test_faults_name_the_heading_as_the_user_wrote_it(tmp_path: Path) -> None:
    _, (fault,) = read_tables(tmp_path, devices="Hostname,MAC Address\nNAS,nonsense\n")
    assert str(fault).startswith('devices.csv row 2, column MAC Address: "nonsense" is not a MAC address')


def test_a_row_with_fewer_cells_than_headings_is_as_good_as_one_with_empty_ones(tmp_path: Path) -> None:
    the_map, faults = read_tables(tmp_path, devices="name,kind,mac,note\nNAS\n")
    assert (the_map.devices[0].name, faults) == ("NAS", ())


def test_a_row_with_more_cells_than_headings_may_have_shifted_and_is_a_fault(tmp_path: Path) -> None:
    _, (fault,) = read_tables(tmp_path, devices="name,note\nNAS,by the door, left\n")
    assert (fault.code, fault.origin.row) == ("long-row", 2)


def test_an_unclosed_quotation_mark_is_said_with_its_row(tmp_path: Path) -> None:
    _, (fault,) = read_tables(tmp_path, devices='name,note\nNAS,ok\nPRINTER,"by the door\nPHONE,x\n')
    assert (fault.code, fault.origin.row) == ("bad-quotes", 3)


@pytest.mark.parametrize("blank", ["", " ", "\N{NO-BREAK SPACE}", "-", "n/a", "None", "\N{EM DASH}"])
def test_a_cell_that_says_nothing_is_empty(tmp_path: Path, blank: str) -> None:
    the_map, faults = read_tables(tmp_path, devices=f"name,mac,at,kind\nNAS,{blank},{blank},{blank}\n")
    assert (faults, the_map.devices[0].macs, the_map.devices[0].at, the_map.devices[0].kind) == ((), (), None, "")


def test_stray_blanks_and_look_alike_hyphens_in_names_do_not_matter(tmp_path: Path) -> None:
    the_map, faults = read_tables(
        tmp_path, outlets="name\n WL\N{NON-BREAKING HYPHEN}01\N{NO-BREAK SPACE}\n\N{NO-BREAK SPACE}Wet  lab  2\n"
    )
    assert ([outlet.name for outlet in the_map.outlets], faults) == (["WL-01", "Wet lab 2"], ())


def test_letters_composed_or_not_are_one_spelling(tmp_path: Path) -> None:
    the_map, _ = read_tables(tmp_path, outlets="name\nBu\u0308ro\n")
    assert the_map.outlets[0].name == "B\u00fcro"


def test_numbers_that_a_table_program_gave_a_point_are_whole_again(tmp_path: Path) -> None:
    the_map, faults = read_tables(
        tmp_path, panels="name,jacks,unit\nPP-A,24.0,38.0\n", cords="label,a,b,gauge\nC-1,PP-A:7.0,SW-1:12.0,24.0\n"
    )
    assert (len(the_map.panels[0].jacks), the_map.panels[0].unit, faults) == (24, "38", ())
    cord = the_map.cords[0]
    assert (cord.a, cord.b, cord.gauge_awg) == (End("PP-A", "7"), End("SW-1", "12"), 24)


@pytest.mark.parametrize(
    ("text", "metres"), [("2", 2.0), ("2.5", 2.5), ("2,5", 2.5), ("2.5 m", 2.5), ("50cm", 0.5), ("10 ft", 3.048)]
)
def test_lengths_are_metres_unless_they_say_otherwise(tmp_path: Path, text: str, metres: float) -> None:
    the_map, faults = read_tables(tmp_path, cords=f'label,a,b,length\nC-1,SW-1:1,SW-2:1,"{text}"\n')
    assert (the_map.cords[0].length_m, faults) == (metres, ())


def test_a_tie_given_as_a_range_is_as_many_cables_with_labels(tmp_path: Path) -> None:
    the_map, faults = read_tables(tmp_path, fixed_cables="label,a,b\nT01-T24,PP-F:1-24,PP-R:1-24\n")
    assert faults == ()
    assert len(the_map.fixed_cables) == 24
    last = the_map.fixed_cables[-1]
    assert (last.label, last.a, last.b, last.origin.row) == ("T24", End("PP-F", "24"), End("PP-R", "24"), 2)


@pytest.mark.parametrize(
    ("row", "cables"),
    [
        ("TIE,PP-F:1-2,PP-R:1-2", [("TIE/1", "1", "1"), ("TIE/2", "2", "2")]),
        (",PP-F:1-2,PP-R:25-26", [("", "1", "25"), ("", "2", "26")]),
        ("T,PP-F:1-2,PP-R:2-1", [("T/1", "1", "2"), ("T/2", "2", "1")]),
        ('T,"PP-F:1,5",PP-R:1-2', [("T/1", "1", "1"), ("T/5", "5", "2")]),
        ("FC-07,PP-F:7,WL-01", [("FC-07", "7", "")]),
        ("2024-25,PP-F:1-2,PP-R:1-2", [("2024-25/1", "1", "1"), ("2024-25/2", "2", "2")]),
    ],
)
def test_ranges_of_cables_pair_off_in_order(tmp_path: Path, row: str, cables: list[tuple[str, str, str]]) -> None:
    the_map, faults = read_tables(tmp_path, fixed_cables=f"label,a,b\n{row}\n")
    assert faults == ()
    assert [(cable.label, cable.a.position, cable.b.position) for cable in the_map.fixed_cables] == cables


def test_a_kind_of_device_that_carries_others_need_not_say_so(tmp_path: Path) -> None:
    the_map, _ = read_tables(tmp_path, devices="name,kind,carries\nA,Phone,\nB,phone,no\nC,printer,\nD,printer,yes\n")
    assert [(device.name, device.carries) for device in the_map.devices] == [
        ("A", True), ("B", False), ("C", False), ("D", True),
    ]  # fmt: skip


def test_a_position_may_have_a_colon_of_its_own(tmp_path: Path) -> None:
    the_map, _ = read_tables(tmp_path, cords="label,a,b\nC-1,SW-1:1:12,NAS\n")
    assert (the_map.cords[0].a, the_map.cords[0].b) == (End("SW-1", "1:12"), End("NAS", ""))


def test_a_heading_mapped_in_the_site_file_needs_no_renaming(tmp_path: Path) -> None:
    text = "Dose;Rangierfeld;Gerät;LAN;WLAN;Ort\n12;7;PC-12;00:00:5e:00:53:01;00:00:5e:00:53:02;Büro\n"
    more = '[map.columns]\noutlet = "dose"\ndevice = "Gerät"\nmacs = ["LAN", "WLAN"]\nroom = "Ort"\n'
    the_map, faults = read_schedule(tmp_path, text, more)
    assert faults == ()
    device = the_map.devices[0]
    assert (device.name, len(device.macs), device.at, device.extra) == (
        "PC-12",
        2,
        End("12", "1"),
        {"Rangierfeld": "7"},
    )


def test_tables_are_read_whatever_their_files_are_called(tmp_path: Path) -> None:
    from reconcile.patchmap.files import read_map
    from tests.reconcile.patchmap.site_folder import site

    (tmp_path / "map").mkdir()
    (tmp_path / "map" / "Steckfelder.csv").write_text("Feld,Ports\nPP-A,24\n", "utf-8")
    (tmp_path / "map" / "Fixed Cables.TXT").write_text("label\ta\tb\nFC-1\tPP-A:1\tPP-A:2\n", "utf-8")
    more = 'tables = { panels = "Steckfelder.csv" }\n[map.columns.panels]\nname = "Feld"\njacks = "Ports"\n'
    the_map, faults = read_map(site(tmp_path, "tables", "map", more))
    assert ([p.name for p in the_map.panels], [c.label for c in the_map.fixed_cables], faults) == (
        ["PP-A"],
        ["FC-1"],
        (),
    )


def test_every_column_of_every_table_arrives_in_the_model(tmp_path: Path) -> None:
    the_map, faults = read_tables(
        tmp_path,
        switches="name,model,room,rack,unit,ports,note\nSW-1,m,Comms room,R1,40,1-2,n\n",
        panels="name,jacks,room,rack,unit,face,category,shield,note\nPP-A,2,Comms room,R1,38,rear,6A,U/FTP,n\n",
        outlets="name,room,jacks,category,shield,note\nWL-01,Wet lab,2,6A,U/FTP,n\n",
        fixed_cables="label,a,b,category,shield,length_m,note\nFC-1,PP-A:1,WL-01:1,6A,U/FTP,42.5,n\n",
        cords="label,a,b,category,shield,gauge_awg,length_m,colour,note\nC-1,SW-1:1,PP-A:1,6A,U/FTP,26,2,blue,n\n",
        devices="name,kind,macs,carries,at,room,owner,note\nP,phone,00:00:5e:00:53:01,yes,WL-01:1,Wet lab,Maud,n\n",
    )
    assert faults == ()
    assert the_map.switches[0].model_dump(exclude={"origin", "extra", "headings"}) == {
        "name": "SW-1", "model": "m", "room": "Comms room", "rack": "R1", "unit": "40", "ports": ("1", "2"),
        "note": "n",
    }  # fmt: skip
    where = {"room": "Comms room", "rack": "R1", "unit": "38", "category": "6A", "shield": "U/FTP", "note": "n"}
    plain = {"category": "6A", "shield": "U/FTP", "note": "n"}
    expected = [
        Panel(name="PP-A", jacks=("1", "2"), face="rear", **where),
        Outlet(name="WL-01", room="Wet lab", jacks=("1", "2"), **plain),
        FixedCable(label="FC-1", a=End("PP-A", "1"), b=End("WL-01", "1"), length_m=42.5, **plain),
        Cord(label="C-1", a=End("SW-1", "1"), b=End("PP-A", "1"), gauge_awg=26, length_m=2, colour="blue", **plain),
        Device(name="P", kind="phone", macs=("00:00:5e:00:53:01",), carries=True, at=End("WL-01", "1"), room="Wet lab",
               owner="Maud", note="n"),
    ]  # fmt: skip
    bare = {"origin": Origin(), "headings": {}}
    assert [row.model_copy(update=bare) for row in list(the_map.rows())[1:]] == expected
