"""Many nights of chance: what the history tells is held to diaries that are written in full beside it."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from reconcile.history.facts import FactKind
from reconcile.history.night import Night, Patience, live_through
from reconcile.history.store import reading, writing
from reconcile.pipeline import Comparison, compare
from tests.worlds import changes
from tests.worlds.equipment import host
from tests.worlds.model import TAKEN, World
from tests.worlds.snapshots import snapshot_of
from tests.worlds.stories import NEWCOMER, station

WORLD = station().build()


def some_world(chance: random.Random) -> World:
    """The station on some day: each thing that may be otherwise is so on a few days."""
    world = WORLD
    if chance.random() < 0.2:
        world = changes.cross(world, "wet-1:Gi1/0/1", "wet-1:Gi1/0/2")
    if chance.random() < 0.2:
        world = changes.switch_off(world, "scope")
    if chance.random() < 0.2:
        world = changes.add_box(world, host("raspberry", NEWCOMER), "wet-1:Gi1/0/6")
    if chance.random() < 0.1:
        world = changes.shut(world, "wet-1:Gi1/0/3")
    if chance.random() < 0.15:
        world = changes.change_switch(world, chance.choice(["wet-1", "img-1"]), answers=False)
    return world


def days(count: int, seed: int) -> list[World]:
    """Worlds that stay as they are for some nights on end."""
    chance = random.Random(seed)
    found: list[World] = []
    while len(found) < count:
        found += [some_world(chance)] * chance.randint(1, 5)
    return [replace(world, taken=TAKEN + timedelta(days=n)) for n, world in enumerate(found[:count])]


def lived(folder: Path, world: World) -> tuple[Night, Comparison]:
    compared = compare(world.record, snapshot_of(world))
    with writing(folder) as book:
        night, _ = live_through(compared, book, patience=Patience(), accept=lambda result, _: result, now=world.taken)
    return night, compared


def check(folder: Path, count: int, seed: int) -> None:
    placed: list[tuple[dict[str, str], set[str]]] = []
    told: set[str] = set()
    for world in days(count, seed):
        night, compared = lived(folder, world)
        told = follows(night, told)
        found = {f.key for f in compared.result.findings}
        listed = {f.key for f in (*night.new, *night.still, *night.flapping)} & found
        assert {f.kind.value for f in compared.result.findings if f.key not in listed} <= {"dead port"}  # asleep
        assert told - found == set(night.unlooked)
        stations = compared.picture.located.placements.values()
        silent = {switch.name for switch in world.switches if not switch.answers}
        placed.append(({p.mac: str(p.at) for p in stations if p.at is not None}, silent))
    told_as_placed(folder, placed)


def follows(night: Night, told: set[str]) -> set[str]:
    """What stands after the night; it has to follow from what stood before and from what the night tells."""
    new, still, gone = ({f.key for f in found} for found in (night.new, night.still, night.gone))
    flapping = {f.key for f in night.flapping}
    assert not new & told
    assert still | gone | (flapping & told) == told
    lists = [night.new, night.still, night.gone, night.flapping, night.waiting]
    keys = [f.key for found in lists for f in found]
    assert len(keys) == len(set(keys))
    return new | still | (flapping - told)


def told_as_placed(folder: Path, placed: list[tuple[dict[str, str], set[str]]]) -> None:
    """Each night, the history has every station where it was placed. Others it has at switches alone that were silent,
    where nobody could see them leave."""
    with reading(folder) as book:
        assert book is not None
        stretches = book.stretches(FactKind.STATION, {mac for night, _ in placed for mac in night})
    for run, (night, silent) in enumerate(placed, 1):
        then = [s for s in stretches if s.from_run <= run and (s.to_run is None or run <= s.to_run)]
        assert {s.key.subject: s.fact.value for s in then} | night == {s.key.subject: s.fact.value for s in then}
        assert {s.fact.switch for s in then if s.key.subject not in night} <= silent


@pytest.mark.parametrize("seed", [1, 2])
def test_what_nights_tell_follows_from_the_nights_before_and_agrees_with_a_full_diary(
    tmp_path: Path, seed: int
) -> None:
    check(tmp_path, 40, seed)


@pytest.mark.long
def test_a_whole_year_of_chance_agrees_with_a_full_diary(tmp_path: Path) -> None:
    check(tmp_path, 365, 3)
