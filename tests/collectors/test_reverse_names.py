"""Names of addresses, from whatever answers, in bounded time."""

from __future__ import annotations

import threading

import pytest

from collectors.transports.reverse_names import reverse_names


def test_names_are_found_and_addresses_without_one_are_answered_for() -> None:
    def ask(ip: str) -> str:
        if ip == "10.0.0.2":
            raise OSError("no such name")
        return f"host-{ip.rpartition('.')[2]}"

    assert reverse_names([f"10.0.0.{n}" for n in range(1, 41)], ask=ask) == (
        {f"10.0.0.{n}": f"host-{n}" for n in range(1, 41) if n != 2},
        0,
    )


def test_who_never_answers_is_not_waited_for() -> None:
    """The test would hang if it were: the resolver here waits until the end."""
    never = threading.Event()

    def ask(ip: str) -> str:
        if ip != "10.0.0.1":
            never.wait()
        return "quick"

    try:
        names, missing = reverse_names(["10.0.0.1", "10.0.0.2", "10.0.0.3"], deadline=0.5, ask=ask)
    finally:
        never.set()
    assert (names, missing) == ({"10.0.0.1": "quick"}, 2)


@pytest.mark.parametrize("error", [OSError("no route"), UnicodeError("label too long"), ValueError("NUL")])
def test_a_resolver_that_raises_has_answered(error: Exception) -> None:
    def ask(ip: str) -> str:
        raise error

    assert reverse_names(["10.0.0.1"], ask=ask) == ({}, 0)


def test_nothing_to_ask_asks_nobody() -> None:
    assert reverse_names([]) == ({}, 0)


def test_the_system_knows_this_machine() -> None:
    """/etc/hosts has a name for 127.0.0.1 on any machine."""
    names, missing = reverse_names(["127.0.0.1"])
    assert missing == 0
    assert "." not in names["127.0.0.1"].partition(".")[0]
