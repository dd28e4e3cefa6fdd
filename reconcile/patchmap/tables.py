"""Rows of the six tables as rows of the model."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from reconcile.patchmap.lines import Line
from reconcile.patchmap.messages import quoted
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch, fold
from reconcile.patchmap.ranges import positions


def add_row(patch_map: PatchMap, table: str, line: Line) -> None:
    """Adds what one line of a table says to the map; nothing where the line cannot be used, which it has said."""
    rows: list[Any] = getattr(patch_map, table)
    rows.extend(_READERS[table](line))


def _common(line: Line) -> dict[str, Any]:
    return {"origin": line.origin, "extra": line.extra, "headings": line.headings, "note": line.text("note")}


def _switch(line: Line) -> Iterator[Switch]:
    if name := line.name("name", expected="the name of the switch"):
        yield Switch(
            name=name, model=line.text("model"), room=line.word("room"), rack=line.word("rack"),
            unit=line.position("unit"), ports=line.positions("ports", count=False), **_common(line),
        )  # fmt: skip


def _panel(line: Line) -> Iterator[Panel]:
    name = line.name("name", expected="the name of the panel")
    jacks = line.positions("jacks", count=True)
    face = fold(line.word("face")) or "front"
    if face not in ("front", "rear"):
        line.say("bad-choice", "face", value=quoted(face), expected="front, rear")
        face = "front"
    if not jacks and not line.text("jacks"):
        line.say("required-empty", "jacks", expected="how many jacks it has")
    if name and jacks:
        yield Panel(
            name=name, jacks=jacks, room=line.word("room"), rack=line.word("rack"), unit=line.position("unit"),
            face="rear" if face == "rear" else "front", category=line.word("category"), shield=line.word("shield"),
            crossed=line.flag("crossed"), **_common(line),
        )  # fmt: skip


def _outlet(line: Line) -> Iterator[Outlet]:
    jacks = line.positions("jacks", count=True)
    if name := line.name("name", expected="the name of the outlet"):
        yield Outlet(
            name=name, room=line.word("room"), jacks=jacks or ("1",), category=line.word("category"),
            shield=line.word("shield"), crossed=line.flag("crossed"), **_common(line),
        )  # fmt: skip


def _fixed_cables(line: Line) -> Iterator[FixedCable]:
    a, b = line.end("a"), line.end("b")
    if a is None or b is None:
        return
    at_a, at_b = _positions(line, "a", a), _positions(line, "b", b)
    if len(at_a) != len(at_b):
        words = {"a": quoted(str(a)), "a_count": len(at_a), "b": quoted(str(b)), "b_count": len(at_b)}
        line.say("range-lengths", "b", **words)
        return
    common = _common(line) | {
        "category": line.word("category"), "shield": line.word("shield"), "gauge_awg": line.gauge("gauge_awg"),
        "length_m": line.length("length_m"), "temperature_c": line.temperature("temperature_c"),
        "crossed": line.flag("crossed"),
    }  # fmt: skip
    for label, one, other in zip(_labels(line, at_a), at_a, at_b, strict=True):
        yield FixedCable(label=label, a=End(a.name, one), b=End(b.name, other), **common)


def _positions(line: Line, column: str, end: End) -> tuple[str, ...]:
    """The positions of one end of a fixed cable row: usually one, many where it is a range."""
    if not end.position:
        return ("",)
    try:
        return positions(end.position, descending=True)
    except ValueError as error:
        line.say("bad-range", column, value=quoted(end.position), why=error)
        return (end.position,)


def _labels(line: Line, at_a: tuple[str, ...]) -> tuple[str, ...]:
    """A label for each cable of a row: T1-T24 one by one, another label with the position behind it."""
    label = line.word("label")
    if len(at_a) == 1 or not label:
        return (label,) * len(at_a)
    try:
        labels = positions(label)
    except ValueError:
        labels = (label,)
    if len(labels) == 1:
        return tuple(f"{label}/{position}" for position in at_a)
    if len(labels) != len(at_a):
        line.say("range-label", "label", value=quoted(label), count=len(labels), cables=len(at_a))
        return tuple(f"{label}/{position}" for position in at_a)
    return labels


def _cord(line: Line) -> Iterator[Cord]:
    a, b = line.end("a"), line.end("b")
    details = {
        "label": line.word("label"), "category": line.word("category"), "shield": line.word("shield"),
        "gauge_awg": line.gauge("gauge_awg"), "length_m": line.length("length_m"), "colour": line.word("colour"),
        "crossed": line.flag("crossed"),
    }  # fmt: skip
    if a is not None and b is not None:
        yield Cord(a=a, b=b, **details, **_common(line))


def _device(line: Line) -> Iterator[Device]:
    macs, at, kind, carries = line.macs(), line.end("at", required=False), line.word("kind"), line.flag("carries")
    if name := line.name("name", expected="the name of the device"):
        yield Device(
            name=name, kind=kind, macs=macs, at=at, room=line.word("room"), owner=line.text("owner"),
            carries=fold(kind) in line.reading.carrying if carries is None else carries, **_common(line),
        )  # fmt: skip


_READERS: dict[str, Callable[[Line], Iterator[Any]]] = {
    "switches": _switch,
    "panels": _panel,
    "outlets": _outlet,
    "fixed_cables": _fixed_cables,
    "cords": _cord,
    "devices": _device,
}
