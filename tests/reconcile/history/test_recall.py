"""How long ports have been silent, as far as the runs go."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from collectors.snapshot import Snapshot
from reconcile.history.facts import Fact, FactKind, Key
from reconcile.history.recall import recalled
from reconcile.history.store import reading, writing
from reconcile.locate.placement import PortRef
from reconcile.recalled import NOTHING, Recalled, Silence
from tests.reconcile.handmade_network import answer, port
from tests.reconcile.history.making import FIRST, NIGHT, result

LAPTOP = "00:30:de:41:b7:09"
KINDS = (FactKind.PORT, FactKind.STATION, FactKind.GAP)


def live(folder: Path, *nights: str) -> None:
    """A run per word, a letter per port: u(p), d(own), s(hut); `gap` for a night in which the switch was silent."""
    former: dict[Key, Fact] = {}
    for number, night in enumerate(nights):
        facts = {Key(FactKind.GAP, "sw"): Fact("no answer", "sw")} | former
        if night != "gap":
            words = {"u": "link up, 1000 Mbit/s", "d": "link down", "s": "link down, shut"}
            facts = {Key(FactKind.PORT, f"sw:{n}"): Fact(words[state], "sw") for n, state in enumerate(night, 1)}
            if night[0] == "u":
                facts[Key(FactKind.STATION, LAPTOP)] = Fact("sw:1", "sw")
            former = facts
        with writing(folder) as book:
            book.remember(book.begin_run(result(number), "", FIRST), KINDS, facts)


def recall(folder: Path, night: float, *states: str) -> Recalled:
    """What is recalled for a snapshot of that night with ports of these states."""
    taken = FIRST + night * NIGHT
    switch = answer("sw", [port(str(n), state) for n, state in enumerate(states, 1)])
    with reading(folder) as book:
        assert book is not None
        return recalled(book, Snapshot(started=taken, finished=taken, switches=[switch]))


def silence(found: Recalled, name: str = "1") -> Silence | None:
    return found.silent.get(PortRef("sw", name))


def test_a_port_that_never_had_a_link_is_silent_since_the_first_run(tmp_path: Path) -> None:
    live(tmp_path, "d", "s", "d", "d")
    found = recall(tmp_path, 4, "down")
    assert silence(found) == Silence(FIRST, 5)
    assert (found.runs, found.first) == (5, FIRST)
    assert found.length(FIRST + 4 * NIGHT) == timedelta(days=4)


def test_a_port_whose_device_left_is_silent_since_the_night_after_and_says_who_was_there(tmp_path: Path) -> None:
    live(tmp_path, "u", "u", "d", "d")
    assert silence(recall(tmp_path, 4, "down")) == Silence(FIRST + 2 * NIGHT, 3, FIRST + NIGHT, LAPTOP)


def test_a_port_that_has_a_link_is_not_silent_and_one_that_lost_it_tonight_is_so_since_tonight(tmp_path: Path) -> None:
    live(tmp_path, "ud", "uu")
    found = recall(tmp_path, 2, "down", "up")
    assert silence(found) == Silence(FIRST + 2 * NIGHT, 1, FIRST + NIGHT, LAPTOP)
    assert silence(found, "2") is None


def test_nights_in_which_nobody_could_look_are_not_counted(tmp_path: Path) -> None:
    live(tmp_path, "d", "gap", "gap", "d")
    assert silence(recall(tmp_path, 4, "down")) == Silence(FIRST, 3)


def test_runs_after_the_snapshot_are_left_out_and_its_own_is_counted_once(tmp_path: Path) -> None:
    live(tmp_path, "d", "d", "u", "u")
    found = recall(tmp_path, 1, "down")
    assert (found.runs, silence(found)) == (2, Silence(FIRST, 2))


def test_a_snapshot_from_before_the_first_run_recalls_nothing(tmp_path: Path) -> None:
    live(tmp_path, "d")
    assert recall(tmp_path, 0, "down") == NOTHING
