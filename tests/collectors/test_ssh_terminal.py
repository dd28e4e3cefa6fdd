"""What a terminal shows of the octets that a switch sends."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collectors.transports import ssh_terminal as terminal

PROMPT = "wetlab#"


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"Gi1/0/1 up\r\nGi1/0/2 down\r\n", "Gi1/0/1 up\nGi1/0/2 down\n"),
        (b"one\r\r\ntwo\n\rthree", "one\ntwo\nthree"),
        # Pagers are erased in four ways; the indentation of the line that takes their place stays.
        (b" --More-- " + b"\x08" * 9 + b" " * 8 + b"\x08" * 9 + b"Gi1/0/5", "Gi1/0/5"),
        (b"--More--\r        \r  Gi1/0/5 up", "  Gi1/0/5 up"),
        (b"  ---- More ----\x1b[42D" + b" " * 42 + b"\x1b[42D  GigabitEthernet8/1/16 up", "  GigabitEthernet8/1/16 up"),
        (b"-- MORE --, next page: Space\r\x1b[K  1   up", "  1   up"),
        # A full-screen redraw of the prompt, as ProCurve switches do it.
        (b"\x1b[1;24r\x1b[24;1H\x1b[2K\x1b[24;1H\x1b[?25h\x1b[24;1Hoffice# \x1b[24;9H", "office#"),
        (b"\x1b]0;reader@boatshed: ~\x07\x1b[01;32mreader@boatshed\x1b[00m:~$ ", "reader@boatshed:~$"),
        (b"\x1b[?2004hreader@boatshed:~$ \x1b[?2004l", "reader@boatshed:~$"),
        ("研究所".encode(), "研究所"),
        ("外事楼-S5800".encode("gb18030"), "外事楼-S5800"),
        (b"Labor \xdc\x29", "Labor Ü)"),
    ],
)
def test_lines_come_out_as_they_were_meant(raw: bytes, shown: str) -> None:
    assert terminal.shown(raw) == shown


@pytest.mark.parametrize(
    "pager",
    [
        " --More-- ",
        "--More--",
        "More: <space>,  Quit: q or CTRL+Z, One line: <return> ",
        "-- MORE --, next page: Space, next line: Enter, quit: Control-C",
        "-- MORE --, next page: Space, next line: Enter, quit: q",
        "---- More ----",
        "---(more)---",
        "---(more 45%)---",
        "--More--, next page: Space, next line: Return key, quit: Control-c",
        "-- [Q quit|D dump|down]",
    ],
)
def test_the_pager_of_every_vendor_is_known_as_the_last_line(pager: str) -> None:
    assert terminal.at_pager(f"Gi1/0/1 up\r\n{pager}".encode())
    assert not terminal.at_pager(f"{pager}\r\nGi1/0/1 up".encode())


def test_the_prompt_ends_an_answer_only_alone_in_the_last_line() -> None:
    assert terminal.at_prompt(b"Gi1/0/1 up\r\nwetlab# ", PROMPT)
    assert not terminal.at_prompt(b"System Name: wetlab#\r\nSystem", PROMPT)
    assert not terminal.at_prompt(b"Device ID: wetlab#", PROMPT)
    assert not terminal.at_prompt(b"wetlab#\r\n", PROMPT)


def test_an_answer_stands_between_the_echo_and_the_prompt() -> None:
    raw = b"wetlab#show vlan\r\n\r\nVLAN Name\r\n20 wetlab\r\nwetlab#"
    assert terminal.answer(raw, "show vlan", PROMPT) == terminal.Screen("\nVLAN Name\n20 wetlab", stale=False)


def test_a_command_that_is_echoed_twice_is_left_out_twice() -> None:
    raw = b"[a@b] > /ip arp print\r\r\n[a@b] > /ip arp print\r\n0 address=192.0.2.1\r\n[a@b] > "
    assert terminal.answer(raw, "/ip arp print", "[a@b] >").text == "0 address=192.0.2.1"


def test_text_before_the_echo_is_of_another_answer() -> None:
    screen = terminal.answer(b"20 0000.5e00.5301\r\nwetlab#show vlan\r\n20 wetlab\r\nwetlab#", "show vlan", PROMPT)
    assert screen == terminal.Screen("20 wetlab", stale=True)


def test_without_an_echo_everything_is_the_answer() -> None:
    assert terminal.answer(b"20 wetlab\r\nwetlab#", "show vlan", PROMPT) == ("20 wetlab", False)


@given(st.binary(max_size=400))
def test_no_octets_break_the_terminal(raw: bytes) -> None:
    text = terminal.shown(raw)
    assert "\x1b" not in text
    assert len(text) <= 4096 * (len(raw) + 1)
    terminal.answer(raw, "show vlan", PROMPT)
    terminal.at_pager(raw)
