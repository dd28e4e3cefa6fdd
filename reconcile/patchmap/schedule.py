"""One flat schedule, a row per channel, taken apart into the tables of the model.

    switch port -- cord -- panel jack == fixed cable == outlet -- device
    switch port -- cord -- panel jack == tie cable == far jack -- device

Any part may be missing. Where the jack is missing, a fixed cable leads from the switch port to the outlet; where the
outlet is missing, one leads from the jack to the device; where both are, the device is plugged into the port. An
outlet that bears the name of a device is a socket of that device: a computer behind a phone.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from reconcile.patchmap.lines import Line
from reconcile.patchmap.messages import quoted
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch, fold

_Place = tuple[End, str]
"""An end and the column of the schedule that it was read from."""


class ScheduleRow(NamedTuple):
    """The parts of one row, in the order of the channel; None where the row has nothing."""

    line: Line
    port: End | None
    jack: End | None
    far_jack: End | None
    outlet: End | None
    device: End | None
    macs: tuple[str, ...] = ()
    is_link: bool = False
    """True when the device is another switch, which has rows of its own to keep a note with."""

    @property
    def leftover(self) -> dict[str, Any]:
        """The note and the user's own columns, for a row that has no device to keep them with."""
        return {} if self.device and not self.is_link else {"note": self.line.text("note"), "extra": self.line.extra}


def read_schedule(lines: Iterable[Line], patch_map: PatchMap) -> None:
    """Fills the map from the lines of a schedule."""
    rows = [row for line in lines if (row := row_of(line))]
    switches = {fold(row.port.name) for row in rows if row.port}
    devices = {fold(row.device.name) for row in rows if row.device} - switches
    build = _Build(patch_map, switches, devices)
    for row in rows:
        build.add(row)
    build.finish()


def row_of(line: Line) -> ScheduleRow | None:
    """The parts of one line; None for one that cannot be used, which it has said."""
    port = _pair(line, "switch", "port", "port-without-switch")
    jack = _pair(line, "panel", "jack", "jack-without-panel")
    far_jack, outlet = line.end("far_jack", required=False), line.end("outlet", required=False)
    device = line.end("device", required=False)
    macs = line.macs()
    if macs and not device:
        device = End(macs[0].replace(":", "-"))  # somebody knows the address and not yet the name
    switch = line.word("switch")
    if switch and ":" not in switch and line.blank("port"):
        line.say("switch-without-port", "port", value=quoted(switch))
    if outlet and far_jack:
        line.say("outlet-and-far-jack", "far_jack", outlet=quoted(str(outlet)), far=quoted(str(far_jack)))
        return None
    if far_jack and not jack:
        line.say("far-jack-alone", "far_jack", value=quoted(str(far_jack)))
        return None
    if not any((port, jack, far_jack, outlet, device)):
        line.say("row-says-nothing")
        return None
    return ScheduleRow(line, port, jack, far_jack, outlet, device, macs)


def _pair(line: Line, holder: str, place: str, alone: str) -> End | None:
    """An end given in two columns, or as NAME:POSITION in either of them."""
    name, position = line.word(holder), line.position(place, "/" if place == "port" else "-")
    if name and ":" in name and not position:
        name, _, position = name.partition(":")
    elif not name and ":" in position:
        name, _, position = position.partition(":")
    elif name and fold(position).startswith(fold(name) + ":"):
        position = position.partition(":")[2]
    name, position = name.strip(), position.strip()
    if position and not name:
        line.say(alone, place, value=quoted(position))
    return End(name, position) if name and position else None


@dataclass(slots=True)
class _Build:
    """The map as far as it was read. Things named in several rows are kept once, with the first row's origin."""

    patch_map: PatchMap
    switches: set[str]
    devices: set[str]
    _switches: dict[str, Switch] = field(default_factory=dict)
    _jacks: dict[str, dict[str, None]] = field(default_factory=dict)
    _holders: dict[str, tuple[str, End, Line, str]] = field(default_factory=dict)
    _devices: dict[str, dict[str, Any]] = field(default_factory=dict)
    _links: dict[frozenset[tuple[str, str]], ScheduleRow] = field(default_factory=dict)

    def add(self, row: ScheduleRow) -> None:
        if row.outlet and not row.outlet.position and fold(row.outlet.name) not in self.devices:
            row = row._replace(outlet=End(row.outlet.name, "1"))
        line = row.line
        if row.port:
            self._switch(row.port.name, line)
        for end, column in ((row.jack, "jack"), (row.far_jack, "far_jack"), (row.outlet, "outlet")):
            if end and fold(end.name) not in self.devices:
                self._holder(end, column, line)
        peer = row.device if row.device and fold(row.device.name) in self.switches else None
        device = None if peer else row.device
        row = row._replace(is_link=peer is not None)
        if device:
            self._device(device, row)
        self._join(row, peer or device, "device")

    def _join(self, row: ScheduleRow, target: End | None, column: str) -> None:
        """The cords and cables of a row, from the switch port to the device or the other switch's port."""
        port = (row.port, "port") if row.port else None
        jack = (row.jack, "jack") if row.jack else None
        outer = (row.far_jack, "far_jack") if row.far_jack else (row.outlet, "outlet") if row.outlet else None
        label, last_label = row.line.word("cord"), row.line.word("device_cord")
        if jack and port:
            self._cord(row, label, port, jack)
        if outer and (inner := jack or port):
            self._cable(row, inner, outer)
        if not target:
            return
        if outer:
            self._plug(row, last_label, outer, (target, column))
        elif jack:
            self._cable(row, jack, (target, column))
        elif port:
            self._plug(row, last_label or label, port, (target, column))

    def _plug(self, row: ScheduleRow, label: str, a: _Place, b: _Place) -> None:
        """A device is plugged in: with a cord of its own where one is named or needed, else by its `at`."""
        device = self._devices.get(fold(b[0].name))
        if label or device is None or b[0].position or device["at"] is not None:
            self._cord(row, label, a, b)
        else:
            device["at"] = a[0]
            device["headings"] = device["headings"] | {"at": row.line.headings.get(a[1], a[1])}

    def _cord(self, row: ScheduleRow, label: str, a: _Place, b: _Place) -> None:
        if not self._again(row, a[0], b[0]):
            self.patch_map.cords.append(Cord(label=label, **self._common(row, a, b)))

    def _cable(self, row: ScheduleRow, a: _Place, b: _Place) -> None:
        if not self._again(row, a[0], b[0]):
            line = row.line
            details = {"label": line.word("cable"), "category": line.word("category"), "shield": line.word("shield")}
            cable = FixedCable(length_m=line.length("length_m"), **details, **self._common(row, a, b))
            self.patch_map.fixed_cables.append(cable)

    def _again(self, row: ScheduleRow, a: End, b: End) -> bool:
        """The same two ends in a second row: a link between two switches is often written on both of its ports."""
        return self._links.setdefault(frozenset((a.key, b.key)), row) is not row

    def _common(self, row: ScheduleRow, a: _Place, b: _Place) -> dict[str, Any]:
        heading = row.line.headings
        headings = {"a": heading.get(a[1], a[1]), "b": heading.get(b[1], b[1])}
        return {"a": a[0], "b": b[0], "origin": row.line.origin, "headings": headings, **row.leftover}

    def _switch(self, name: str, line: Line) -> None:
        headings = {"name": line.headings.get("switch", "switch")}
        if fold(name) not in self._switches:
            self._switches[fold(name)] = Switch(name=name, origin=line.origin, headings=headings)

    def _holder(self, end: End, column: str, line: Line) -> None:
        self._holders.setdefault(fold(end.name), (column, end, line, line.word("room")))
        self._jacks.setdefault(fold(end.name), {}).setdefault(fold(end.position) and end.position)

    def _device(self, end: End, row: ScheduleRow) -> None:
        line = row.line
        kind, carries = line.word("kind"), line.flag("carries")
        known = self._devices.setdefault(
            fold(end.name),
            {
                "name": end.name, "kind": kind, "macs": (), "carries": False, "at": None, "room": line.word("room"),
                "owner": line.text("owner"), "note": line.text("note"), "extra": line.extra, "origin": line.origin,
                "headings": {**line.headings, "name": line.headings.get("device", "device")},
            },
        )  # fmt: skip
        known["macs"] = tuple(dict.fromkeys((*known["macs"], *row.macs)))
        known["carries"] |= fold(kind) in line.reading.carrying if carries is None else carries

    def finish(self) -> None:
        """Panels and outlets get the jacks that the rows name; then everything goes into the map."""
        self.patch_map.switches.extend(self._switches.values())
        for key, (column, end, line, room) in self._holders.items():
            common: dict[str, Any] = {
                "name": end.name, "jacks": tuple(self._jacks[key]), "origin": line.origin,
                "headings": {"name": line.headings.get(column, column)},
            }  # fmt: skip
            if column == "outlet":
                self.patch_map.outlets.append(Outlet(room=room, **common))
            else:
                self.patch_map.panels.append(Panel(**common))
        self.patch_map.devices.extend(Device(**device) for device in self._devices.values())
