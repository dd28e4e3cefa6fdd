"""Which rule a pairing of port names follows: unchanged, a stack renumbered, a block shifted, or none.

A port name is read as a group and a number: `Gi2/0/5` is number 5 of the group `Gi2/0/`. The first of several numbers
in a name is the unit of a stack, the last one the position on its front (common practice of all families we know).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

_LAST = re.compile(r"(.*?)(\d{1,6})$")
_UNIT = re.compile(r"(\D*)(\d+)(\D.*)")
FEWEST = 3
"""Ports that must move alike before that counts as a block: two may be a coincidence or an exchange."""
_FEW = 0.25
"""Part of the known ports that may break an order before it is no order."""


class Name(NamedTuple):
    """`Gi2/0/5` as `Gi2/0/` and 5; a name without a number is a group of its own."""

    group: str
    number: int


def read(name: str) -> Name:
    """Group and number of a port name."""
    found = _LAST.fullmatch(name)
    return Name(found.group(1), int(found.group(2))) if found else Name(name, 0)


def predict(old: Sequence[str], new: Sequence[str], anchors: Mapping[str, str]) -> dict[str, str]:
    """The new name of each old port by the rule of the nearest port that is known; else the same name or position.

    `anchors` are pairs that evidence gives. A prediction that names no port of the new switch is left out.
    """
    known = set(new)
    near: dict[str, list[tuple[int, Name]]] = defaultdict(list)
    for one, other in anchors.items():
        near[read(one).group].append((read(one).number, read(other)))
    spelled = {read(name): name for name in new}
    found: dict[str, str] = {}
    for index, name in enumerate(old):
        group, number = read(name)
        if near[group]:
            at, there = min(near[group], key=lambda anchor: (abs(anchor[0] - number), anchor[0]))
            guess = spelled.get(Name(there.group, there.number + number - at), "")
        elif anchors:
            guess = name if name in known else ""
        else:
            guess = name if name in known else new[index] if index < len(new) else ""
        if guess:
            found[name] = guess
    return found


def strays(anchors: Mapping[str, str]) -> set[str]:
    """Old ports that break the order which nearly all others keep: probably plugged into the wrong port.

    None where the others keep no order, or where those that break it are more than a few.
    """
    groups: dict[str, list[tuple[Name, Name]]] = defaultdict(list)
    names = {read(name): name for name in anchors}
    for one, other in sorted((read(a), read(b)) for a, b in anchors.items()):
        groups[one.group].append((one, other))
    runs = [run for rows in groups.values() for run in _runs(rows)]
    blocks = {_step(*run[0]) for run in runs if len(run) >= FEWEST}
    odd = {names[one] for run in runs if len(run) < FEWEST for one, other in run if _step(one, other) not in blocks}
    return odd if blocks and len(odd) <= _FEW * len(anchors) else set()


def _step(one: Name, other: Name) -> tuple[str, str, int]:
    return one.group, other.group, other.number - one.number


def describe(pairs: Iterable[tuple[str, str]], old: Sequence[str], new: Sequence[str], *, fewest: int = 1) -> list[str]:
    """What a pairing amounts to, a sentence a group of ports; `old` and `new` are all ports of the two switches.

    `fewest` ports at least must move alike where nothing else is known of the group.
    """
    groups: dict[str, list[tuple[Name, Name]]] = defaultdict(list)
    for one, other in sorted(pairs, key=lambda pair: read(pair[0])):
        groups[read(one).group].append((read(one), read(other)))
    first_old, first_new = _firsts(old), _firsts(new)
    told = [words for group, rows in groups.items() for words in _group(group, rows, (first_old, first_new), fewest)]
    if told and all(words == "names unchanged" for words in told):
        return ["every port keeps its name"]
    return list(dict.fromkeys(words for words in told if words != "names unchanged"))


def _group(
    group: str, rows: list[tuple[Name, Name]], firsts: tuple[Mapping[str, int], Mapping[str, int]], fewest: int
) -> list[str]:
    first_old, first_new = firsts
    told: list[str] = []
    odd = 0
    known: set[tuple[str, str, int]] = set()
    for run in _runs(rows):
        (low, there), (high, _) = run[0], run[-1]
        # The order is unchanged when the first port of one group stands for the first of the other: 1 and 0 often do.
        shift = there.number - low.number - (first_new.get(there.group, 0) - first_old.get(group, 0))
        if len(run) < max(min(FEWEST, len(rows)), fewest) and (shift or there.group != group):
            odd += len(run)
        elif not shift and _step(low, there) in known:
            continue
        elif shift:
            span = f"{group}{low.number} to {group}{high.number}"
            told.append(f"a shifted block: {span} are now {there.group}{there.number} and so on, {_by(shift)}")
        elif there.group == group:
            told.append("names unchanged")
        elif unit := _unit(group, there.group):
            told.append(f"a renumbered stack: unit {unit[0]} became {unit[1]}")
        else:
            told.append(f"order unchanged, new names: {group}{low.number} is now {there.group}{there.number}")
        known.add(_step(low, there))
    if odd:
        told.append(f"{odd} {'port' if odd == 1 else 'ports'} of {group or 'the switch'} follow no rule")
    return told


def _runs(rows: list[tuple[Name, Name]]) -> list[list[tuple[Name, Name]]]:
    """Neighbouring rows that move alike."""
    runs: list[list[tuple[Name, Name]]] = []
    for one, other in rows:
        if runs:
            before, there = runs[-1][-1]
            if other.group == there.group and other.number - one.number == there.number - before.number:
                runs[-1].append((one, other))
                continue
        runs.append([(one, other)])
    return runs


def _unit(group: str, other: str) -> tuple[str, str] | None:
    """The units, when two groups differ in their first number alone."""
    one, two = _UNIT.fullmatch(group), _UNIT.fullmatch(other)
    if one and two and one.group(1) == two.group(1) and one.group(3) == two.group(3) and one.group(2) != two.group(2):
        return one.group(2), two.group(2)
    return None


def _by(shift: int) -> str:
    return f"{abs(shift)} {'further' if shift > 0 else 'back'}"


def _firsts(names: Sequence[str]) -> dict[str, int]:
    firsts: dict[str, int] = {}
    for group, number in map(read, names):
        firsts[group] = min(number, firsts.get(group, number))
    return firsts
