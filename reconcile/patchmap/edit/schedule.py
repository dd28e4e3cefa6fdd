"""Carries changes out in a flat schedule: a row per channel, where a device is some cells of its row.

A device that moves takes along what the model holds for its own: its note and the user's own columns too, where the
row that it comes to has nothing in them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from reconcile.patchmap.edit import style
from reconcile.patchmap.edit.book import Book
from reconcile.patchmap.edit.changes import (
    AddCord,
    AddDevice,
    Carry,
    Change,
    DropCord,
    DropDevice,
    MovePlug,
    Places,
    RenameSwitch,
    Replug,
    SetAddresses,
    SetPorts,
)
from reconcile.patchmap.edit.sheet import EditError, get, index_of, put
from reconcile.patchmap.files import reading_of
from reconcile.patchmap.index import HolderKind, Place
from reconcile.patchmap.lines import read_lines
from reconcile.patchmap.model import Device, End, PatchMap, Switch, fold
from reconcile.patchmap.schedule import ScheduleRow, row_of

_DEVICE = ("device", "macs", "kind", "carries", "owner", "device_cord", "note")
_PLACES = ("outlet", "panel", "jack", "far_jack", "switch", "port", "device", "macs")
_AT_SWITCH = ("switch", "port", "cord")


class Schedule:
    """The one table of a book, and the map as it was read from it."""

    def __init__(self, book: Book, patch_map: PatchMap) -> None:
        self._sheet = book.sheet("schedule")
        self._places = Places(patch_map)
        grid = book.grids["schedule"]
        lines = read_lines(grid, "schedule", reading_of(book.site), [])
        self._rows: dict[int, ScheduleRow] = {}
        for line in lines:
            row = row_of(line)
            if row is not None and line.origin.row is not None:
                self._rows[line.origin.row] = row
        self._new: list[Mapping[int, object]] = []

    def carry_out(self, changes: Sequence[Change]) -> None:
        """All of them at once. Raises EditError for what the user's columns cannot hold."""
        moves = [change for change in changes if isinstance(change, MovePlug)]
        for change in changes:
            self._one(change)
        self._move(moves)
        for cells in self._new:
            self._sheet.add(cells)
        for number in self._rows:
            if self._says_nothing(number):
                self._sheet.drop(number)

    def _one(self, change: Change) -> None:
        match change:
            case Replug():
                self._replug(change)
            case AddDevice():
                self._add_device(change)
            case AddCord():
                self._add_cord(change)
            case SetAddresses():
                self._set_addresses(change)
            case Carry():
                for number in self._named(change.device):
                    put(self._sheet, number, "carries", style.yes_like(self._column("carries")))
            case DropDevice():
                for number in self._named(change.device):
                    self._put_cells(number, dict.fromkeys(_DEVICE[:-1], ""))
            case DropCord():
                self._drop_cord(change)
            case RenameSwitch():
                self._rename(change)
            case MovePlug() | SetPorts():  # moves go together at the end; a schedule has no list of ports
                pass

    def _replug(self, change: Replug) -> None:
        for number, row in self._rows.items():
            if self._places.same(row.port, change.was):
                self._put_port(number, change.now)
            if row.device and self._is_switch(row.device) and self._places.same(row.device, change.was):
                put(self._sheet, number, "device", str(change.now))

    def _rename(self, change: RenameSwitch) -> None:
        for number, row in self._rows.items():
            if row.port and fold(row.port.name) == fold(change.was):
                self._put_port(number, row.port._replace(name=change.now))
            if row.device and self._is_switch(row.device) and fold(row.device.name) == fold(change.was):
                put(self._sheet, number, "device", str(row.device._replace(name=change.now)))

    def _move(self, moves: Sequence[MovePlug]) -> None:
        """All devices are taken out first, then each goes into its new place."""
        taken = [(move, *self._take(move)) for move in moves]
        for move, cells, own in taken:
            number = self._row_for(move.now)
            if number is None:
                self._new.append({**self._known(cells), **own, **self._place_cells(move.now)})
                continue
            self._put_cells(number, cells)
            for index, value in own.items():
                self._sheet.put(number, index, value)

    def _take(self, move: MovePlug) -> tuple[dict[str, str], dict[int, object]]:
        """The cells of a device, emptied where it was; the user's own go along where the new row has none."""
        numbers = [n for n in self._named(move.device) if self._places.same(_outer(self._rows[n]), move.was)]
        number = next(iter(numbers or self._named(move.device)))
        there = self._row_for(move.now)
        cells = {name: get(self._sheet, number, name) for name in _DEVICE}
        macs = (self._sheet.cell(number, index) for index in self._sheet.heads.own.get("macs", ()))
        cells["macs"] = " ".join(filter(None, macs))
        if there is not None and get(self._sheet, there, "note"):
            del cells["note"]
        extra = self._sheet.heads.extra
        own = {index: self._sheet.held(number, index) for index in extra}
        own = {i: held for i, held in own.items() if held != "" and (there is None or not self._sheet.cell(there, i))}
        self._put_cells(number, dict.fromkeys(cells, ""))
        for index in own:
            self._sheet.put(number, index, "")
        if there is None:
            cells["room"] = get(self._sheet, number, "room")
        return cells, own

    def _row_for(self, place: End) -> int | None:
        """The row whose far end is that place."""
        return next((n for n, row in self._rows.items() if self._places.same(_outer(row), place)), None)

    def _add_device(self, change: AddDevice) -> None:
        cells = {"device": change.name, "kind": change.kind}
        if change.macs:
            cells["macs"] = style.addresses_like(change.macs, self._column("macs"))
        if change.carries:
            cells["carries"] = style.yes_like(self._column("carries"))
        number = self._row_for(change.at)
        for name in ("device", "macs", "carries"):
            if name in cells:
                index_of(self._sheet, name)
        if number is None:
            self._new.append(self._known({**cells, "room": change.room}) | self._place_cells(change.at))
        else:
            self._put_cells(number, cells)

    def _add_cord(self, change: AddCord) -> None:
        number = next((n for n, row in self._rows.items() if self._ends_in(row, change.there)), None)
        if number is not None:
            self._put_port(number, change.port)
            return
        place = self._places.index.place(change.there)
        column = "device" if isinstance(place, Place) and place.kind is HolderKind.SWITCH else "jack"
        cells = self._place_cells(change.port)
        cells[index_of(self._sheet, column)] = str(change.there)
        self._new.append(cells)

    def _ends_in(self, row: ScheduleRow, jack: End) -> bool:
        return row.port is None and self._places.same(row.jack, jack)

    def _set_addresses(self, change: SetAddresses) -> None:
        numbers = list(self._named(change.device))
        own = self._sheet.heads.own.get("macs", [])
        samples = [self._sheet.cell(number, index) for number in numbers for index in own]
        first = next((n for n in numbers if self._rows[n].macs), numbers[0])
        for number in numbers:
            for index in own:
                self._sheet.put(number, index, "")
        put(self._sheet, first, "macs", style.addresses_like(change.macs, [*samples, *self._column("macs")]))

    def _drop_cord(self, change: DropCord) -> None:
        for number, row in self._rows.items():
            port = next((end for end in (change.a, change.b) if self._places.same(row.port, end)), None)
            if port is None:
                continue
            self._put_cells(number, dict.fromkeys(_AT_SWITCH, ""))
            if row.device and self._is_switch(row.device) and not row.jack:
                self._put_cells(number, {"device": ""})

    def _put_port(self, number: int, port: End) -> None:
        for index, text in self._port_cells(port, number).items():
            self._sheet.put(number, index, text)

    def _place_cells(self, place: End) -> dict[int, str]:
        """Cells of a new row that name one place."""
        found = self._places.index.place(place)
        if self._is_switch(place):
            return self._port_cells(place, next((n for n, row in self._rows.items() if row.port), None))
        panel = isinstance(found, Place) and found.kind is HolderKind.PANEL
        return {index_of(self._sheet, "jack" if panel else "outlet"): str(place)}

    def _port_cells(self, port: End, like: int | None) -> dict[int, str]:
        """A switch port in one column or two, as the user has it in a row."""
        own = self._sheet.heads.own
        both = "switch" in own and "port" in own
        joined = next((c for c in ("port", "switch") if like is not None and ":" in get(self._sheet, like, c)), None)
        if joined and both and get(self._sheet, like or 0, "switch" if joined == "port" else "port"):
            joined = None
        if joined or not both:
            column = joined or ("port" if "port" in own else "switch")
            return {index_of(self._sheet, column): str(port)}
        return {own["switch"][0]: port.name, own["port"][0]: port.position}

    def _known(self, cells: Mapping[str, str]) -> dict[int, str]:
        own = self._sheet.heads.own
        for name, text in cells.items():
            if text and name not in own and name not in ("room", "kind"):
                raise EditError(str(self._sheet.origin()), f"has no column for {name}", f"add a column {name} to it")
        return {own[name][0]: text for name, text in cells.items() if name in own}

    def _put_cells(self, number: int, cells: Mapping[str, str]) -> None:
        for index, text in self._known(cells).items():
            self._sheet.put(number, index, text)
        if cells.get("macs") == "":
            for index in self._sheet.heads.own.get("macs", []):
                self._sheet.put(number, index, "")

    def _named(self, device: str) -> Iterator[int]:
        return (n for n, row in self._rows.items() if row.device and fold(row.device.name) == fold(device))

    def _column(self, column: str) -> Iterator[str]:
        return (get(self._sheet, number, column) for number in self._rows)

    def _is_switch(self, end: End) -> bool:
        return isinstance(self._places.index.holder(end.name), Switch)

    def _says_nothing(self, number: int) -> bool:
        """True for a row that an edit left with no channel: nothing of ours, or nothing but one port or socket."""
        held = [column for column in _PLACES if get(self._sheet, number, column)]
        if not held:
            return True
        row = self._rows[number]
        had_more = row.device is not None
        socket = row.outlet is not None and isinstance(self._places.index.holder(row.outlet.name), Device)
        port_alone = set(held) <= {"switch", "port"} and not self._last_of_switch(row)
        return had_more and (port_alone or (socket and held == ["outlet"]))

    def _last_of_switch(self, row: ScheduleRow) -> bool:
        """True for the one row that tells that something is a switch."""
        named = [other for other in self._rows.values() if row.port and other.port]
        return sum(fold(other.port.name) == fold(row.port.name) for other in named if other.port and row.port) == 1


def _outer(row: ScheduleRow) -> End | None:
    """Where the device of a row is plugged in."""
    return row.outlet or row.far_jack or row.jack or row.port
