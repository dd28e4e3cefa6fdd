"""The difference between two runs, held to a model that writes every night down in full."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from reconcile.history.facts import Fact, FactKind, Key
from reconcile.history.stretches import Stretch, difference

NIGHTS = st.lists(st.dictionaries(st.sampled_from("abcd"), st.sampled_from("xy")), max_size=12)


def keyed(night: dict[str, str]) -> dict[Key, Fact]:
    return {Key(FactKind.PORT, subject): Fact(value) for subject, value in night.items()}


@given(NIGHTS)
def test_stretches_tell_of_every_night_what_a_full_diary_would(nights: list[dict[str, str]]) -> None:
    standing: dict[Key, Stretch] = {}
    closed: list[Stretch] = []
    for run, night in enumerate(nights, 1):
        change = difference(standing, keyed(night))
        closed += [stretch._replace(to_run=run - 1) for stretch in change.ended]
        for stretch in change.ended:
            del standing[stretch.key]
        standing |= {key: Stretch(0, key, fact, run) for key, fact in change.begun}
    for run, night in enumerate(nights, 1):
        lasting = [*closed, *standing.values()]
        then = [s for s in lasting if s.from_run <= run and (s.to_run is None or run <= s.to_run)]
        assert {s.key.subject: s.fact.value for s in then} == night
        assert len(then) == len(night)


@given(st.dictionaries(st.sampled_from("abcd"), st.sampled_from("xy")))
def test_a_night_like_the_one_before_changes_nothing(night: dict[str, str]) -> None:
    standing = {key: Stretch(0, key, fact, 1) for key, fact in keyed(night).items()}
    assert difference(standing, keyed(night)) == ((), ())


def test_a_fact_that_nobody_could_look_for_stands() -> None:
    key = Key(FactKind.PORT, "a")
    standing = {key: Stretch(0, key, Fact("x"), 1)}
    assert difference(standing, {}, lambda *_: False) == ((), ())
