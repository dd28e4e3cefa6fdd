"""What is written on both ends of every cord and fixed cable, by the site's own pattern; collisions and gaps.

TIA-606 and ISO/IEC 14763-2 ask that both ends are labelled; which form the text has is the site's choice.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from reconcile.patchmap.model import Cord, Device, End, FixedCable, PatchMap, fold
from reconcile.site_file import LabelsTable


class Label(NamedTuple):
    """One cord or cable with the text for each end. `problem` is empty when both can be written."""

    kind: str
    at_a: str
    at_b: str
    a: str
    b: str
    origin: str
    problem: str = ""


def labels(patch_map: PatchMap, table: LabelsTable, also: Iterable[tuple[str, str]] = ()) -> list[Label]:
    """Every cord and fixed cable of the map, cords of devices that have no row included; `also` are further cords, by
    their two ends. A text that two different cables bear is a collision on both."""
    rooms = {fold(holder.name): holder.room for holder in patch_map.holders()}
    made = [_label("fixed cable", row, table.cable, rooms) for row in patch_map.fixed_cables]
    made += [_label("cord", row, table.cord, rooms) for row in patch_map.cords]
    plugged = {end.key for row in patch_map.cords for end in (row.a, row.b)}
    made += [
        _label("cord", device, table.cord, rooms)
        for device in patch_map.devices
        if device.at and device.at.key not in plugged
    ]
    for a, b in also:
        here, there = _end(a), _end(b)
        made.append(_label("cord", Cord(label="", a=here, b=there), table.cord, rooms))
    return _checked(made)


def _end(text: str) -> End:
    name, _, position = text.partition(":")
    return End(name, position)


def _label(kind: str, row: Cord | FixedCable | Device, pattern: str, rooms: dict[str, str]) -> Label:
    a, b = (row.at or End(""), End(row.name)) if isinstance(row, Device) else (row.a, row.b)
    own = "" if isinstance(row, Device) else row.label
    texts, gaps = [], []
    for here, there in ((a, b), (b, a)):
        words = {"here": str(here), "there": str(there), "label": own, "room": rooms.get(fold(here.name), "")}
        gaps += [field for field, value in words.items() if f"{{{field}}}" in pattern and not value]
        texts.append(_filled(pattern, words))
    problem = f"the map has no {gaps[0]} for it" if gaps else ""
    return Label(kind, texts[0], texts[1], str(a), str(b), str(row.origin), problem)


def _filled(pattern: str, words: Mapping[str, str]) -> str:
    """The pattern with its fields in place, in one pass: what a field holds is text, never a pattern."""
    return re.sub(r"\{(\w+)\}", lambda found: words[found.group(1)], pattern)


def _checked(made: list[Label]) -> list[Label]:
    bearers: dict[str, set[int]] = defaultdict(set)
    for number, label in enumerate(made):
        for text in (label.at_a, label.at_b):
            bearers[fold(text)].add(number)
    checked = []
    for number, label in enumerate(made):
        others = sorted((bearers[fold(label.at_a)] | bearers[fold(label.at_b)]) - {number})
        if others and not label.problem:
            other = made[others[0]]
            label = label._replace(problem=f"the same text as on the {other.kind} from {other.a} to {other.b}")
        checked.append(label)
    return checked
