"""Carries changes out in tables: a row per cord and device, in CSV files or sheets of a workbook."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

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
from reconcile.patchmap.edit.sheet import EditError, Sheet, add, get, put
from reconcile.patchmap.index import HolderKind, Link, LinkEnd, LinkKind, Place
from reconcile.patchmap.model import Cord, Device, End, FixedCable, PatchMap, Switch, fold


class _Written(NamedTuple):
    """One end as a row of a table has it."""

    row: Cord | FixedCable | Device
    column: str
    end: End


_TABLE = {Cord: "cords", FixedCable: "fixed_cables", Device: "devices", Switch: "switches"}


class Tables:
    """The tables of one book, and the map as it was read from them."""

    def __init__(self, book: Book, patch_map: PatchMap) -> None:
        self._book = book
        self._map = patch_map
        self._places = Places(patch_map)
        self._ends = list(_ends(patch_map))
        self._rows = Counter(str(row.origin) for row in patch_map.rows())

    def carry_out(self, changes: Sequence[Change]) -> None:
        """All of them at once. Raises EditError for what the user's columns or rows cannot hold."""
        for change in changes:
            self._one(change)

    def _one(self, change: Change) -> None:
        match change:
            case Replug():
                for written in self._ends:
                    if self._places.same(written.end, change.was):
                        self._rewrite(written, change.now)
            case MovePlug():
                self._move_plug(change)
            case AddDevice():
                self._add_device(change)
            case AddCord():
                add(self._book.sheet("cords"), {"a": str(change.port), "b": str(change.there)}, needed=("a", "b"))
            case SetAddresses():
                self._set_addresses(change)
            case Carry():
                sheet, row = self._at(self._device(change.device))
                put(sheet, row, "carries", style.yes_like(_column(sheet, "carries", self._map.devices)))
            case DropDevice():
                self._drop_device(change)
            case DropCord():
                for link in self._between(change.a, change.b):
                    self._drop(link.row)
            case SetPorts():
                sheet, row = self._at(self._switch(change.switch))
                put(sheet, row, "ports", change.ports)
            case RenameSwitch():
                self._rename(change)

    def _rewrite(self, written: _Written, now: End) -> None:
        if self._rows[str(written.row.origin)] > 1:
            hint = "give it a row of its own, apart from the range"
            raise EditError(str(written.row.origin), f"{written.end} stands in a range", hint)
        sheet, row = self._at(written.row)
        put(sheet, row, written.column, str(now))

    def _move_plug(self, change: MovePlug) -> None:
        device = self._device(change.device)
        if change.room:
            put(*self._at(device), "room", change.room)
        found = [
            _Written(link.row, end.field, change.was)
            for link, end in self._plugs(device)
            if change.was is not None and isinstance(end.place, Place) and end.place.key == self._places.key(change.was)
        ]
        if device.at is not None and self._places.same(device.at, change.was):
            found.append(_Written(device, "at", device.at))
        for written in dict.fromkeys((f.row.origin, f.column) for f in found):
            self._rewrite(next(f for f in found if (f.row.origin, f.column) == written), change.now)
        if not found:
            self._plug_in(device.name, change.now, self._at(device))

    def _plug_in(self, name: str, at: End, where: tuple[Sheet, int]) -> None:
        """A plug that the map does not have yet: in the column for it, else as a cord of its own."""
        if "at" in where[0].heads.own:
            put(*where, "at", str(at))
        else:
            add(self._book.sheet("cords"), {"a": str(at), "b": name}, needed=("a", "b"))

    def _add_device(self, change: AddDevice) -> None:
        sheet = self._book.sheet("devices")
        cells = {"name": change.name, "kind": change.kind, "room": change.room}
        if change.macs:
            cells["macs"] = style.addresses_like(change.macs, _column(sheet, "macs", self._map.devices))
        if change.carries:
            cells["carries"] = style.yes_like(_column(sheet, "carries", self._map.devices))
        if "at" in sheet.heads.own:
            cells["at"] = str(change.at)
        else:
            add(self._book.sheet("cords"), {"a": str(change.at), "b": change.name}, needed=("a", "b"))
        needed = ("name", *(["macs"] if change.macs else []), *(["carries"] if change.carries else []))
        add(sheet, cells, needed=needed)

    def _set_addresses(self, change: SetAddresses) -> None:
        sheet, row = self._at(self._device(change.device))
        own = sheet.heads.own.get("macs", [])
        samples = [*(sheet.cell(row, index) for index in own), *_column(sheet, "macs", self._map.devices)]
        put(sheet, row, "macs", style.addresses_like(change.macs, samples))
        for index in own[1:]:
            sheet.put(row, index, "")

    def _drop_device(self, change: DropDevice) -> None:
        device = self._device(change.device)
        for link, _ in self._plugs(device):
            if link.kind is not LinkKind.AT:
                self._drop(link.row)
        self._drop(device)

    def _drop(self, row: Cord | FixedCable | Device) -> None:
        sheet, number = self._at(row)
        if self._rows[str(row.origin)] > 1:
            raise EditError(str(row.origin), "stands for a range", "give this one a row of its own")
        sheet.drop(number)

    def _rename(self, change: RenameSwitch) -> None:
        for written in self._ends:
            if fold(written.end.name) == fold(change.was):
                self._rewrite(written, written.end._replace(name=change.now))
        sheet, row = self._at(self._switch(change.was))
        put(sheet, row, "name", change.now)

    def _plugs(self, device: Device) -> Iterator[tuple[Link, LinkEnd]]:
        """Every link of a device, with its other end."""
        for link in self._places.index.links:
            for end, other in (link.ends, link.ends[::-1]):
                place = end.place
                if isinstance(place, Place) and place.kind is HolderKind.DEVICE and place.key[0] == fold(device.name):
                    yield link, other

    def _between(self, a: End, b: End) -> list[Link]:
        wanted = {self._places.key(a), self._places.key(b)}
        return [
            link
            for link in self._places.index.links
            if link.kind is LinkKind.CORD
            and {end.place.key for end in link.ends if isinstance(end.place, Place)} == wanted
        ]

    def _at(self, row: Cord | FixedCable | Device | Switch) -> tuple[Sheet, int]:
        """The sheet and number of a row of the map."""
        assert row.origin.row is not None  # rows of files have one
        return self._book.sheet(_TABLE[type(row)]), row.origin.row

    def _device(self, name: str) -> Device:
        return next(device for device in self._map.devices if fold(device.name) == fold(name))

    def _switch(self, name: str) -> Switch:
        return next(switch for switch in self._map.switches if fold(switch.name) == fold(name))


def _ends(patch_map: PatchMap) -> Iterator[_Written]:
    for cable in patch_map.cables():
        yield _Written(cable, "a", cable.a)
        yield _Written(cable, "b", cable.b)
    for device in patch_map.devices:
        if device.at is not None:
            yield _Written(device, "at", device.at)


def _column(sheet: Sheet, column: str, rows: Iterable[Device]) -> Iterator[str]:
    """What the user has in a column, as samples of how it is written."""
    yield from (get(sheet, row.origin.row, column) for row in rows if row.origin.row is not None)
