"""What is to be torn down: switches, panels, rooms, racks, devices, outlets, cords, cables; single ports and jacks."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import MapIndex, Place
from reconcile.patchmap.model import End, PatchMap, Switch, fold
from reconcile.patchmap.ranges import positions
from reconcile.picture import Picture
from reconcile.ports import PortBook, is_socket

_KINDS = ("switch", "panel", "outlet", "device", "room", "rack", "cord", "cable")


@dataclass
class Scope:
    """`holders` are folded names of switches, panels, outlets and devices; `places` keys of single ports and jacks;
    `labels` folded labels of cords and fixed cables; `ports` observed ports, as their switch names them."""

    holders: set[str] = field(default_factory=set)
    places: set[tuple[str, str]] = field(default_factory=set)
    labels: set[str] = field(default_factory=set)
    ports: set[PortRef] = field(default_factory=set)

    def has(self, end: End | None) -> bool:
        """True for a place that is torn down, by itself or with what it is on."""
        return end is not None and (fold(end.name) in self.holders or end.key in self.places)


def read_scope(words: Sequence[str], picture: Picture) -> Scope:
    """All that the words mean together. Raises UsageError for a word that means nothing, or several things."""
    scope = Scope()
    index = picture.channels.index or MapIndex(picture.patch_map)
    for word in words:
        meanings = dict(_meanings(word, picture.patch_map))
        if len(meanings) > 1:
            kinds = " or ".join(f"'{kind}:{word}'" for kind in meanings)
            raise UsageError(word, f"means several things: a {' and a '.join(meanings)}", kinds)
        if meanings:
            ((kind, names),) = meanings.items()
            (scope.labels if kind in ("cord", "cable") else scope.holders).update(map(fold, names))
        elif not _add_places(word, scope, index, picture):
            raise _unknown(word, picture)
    asked = {fold(picture.switch_of(End(name))) for name in scope.holders}
    scope.ports |= {ref for ref, port in picture.ports.items() if fold(ref.switch) in asked and is_socket(port)}
    return scope


def _meanings(word: str, the_map: PatchMap) -> Iterator[tuple[str, list[str]]]:
    """Each kind of thing of that name, with the names that it stands for. `room:wet lab` asks for one kind."""
    asked, _, rest = word.partition(":")
    name = fold(rest) if rest and fold(asked) in _KINDS else fold(word)
    wanted = fold(asked) if rest and fold(asked) in _KINDS else ""
    racked = [(row.rack, row.name) for row in the_map.switches] + [(row.rack, row.name) for row in the_map.panels]
    tables: Iterable[tuple[str, Iterable[tuple[str, str]]]] = (
        ("switch", ((row.name, row.name) for row in the_map.switches)),
        ("panel", ((row.name, row.name) for row in the_map.panels)),
        ("outlet", ((row.name, row.name) for row in the_map.outlets)),
        ("device", ((row.name, row.name) for row in the_map.devices)),
        ("room", ((row.room, row.name) for row in the_map.holders())),
        ("rack", racked),
        ("cord", ((row.label, row.label) for row in the_map.cords)),
        ("cable", ((row.label, row.label) for row in the_map.fixed_cables)),
    )
    for kind, rows in tables:
        found = [meant for called, meant in rows if called and fold(called) == name]
        if found and wanted in ("", kind):
            yield kind, found


def _add_places(word: str, scope: Scope, index: MapIndex, picture: Picture) -> bool:
    """`SW:Gi1/0/1-8` or `PP-A:3`: True when the name is known; raises UsageError for positions that are not there."""
    for at, character in enumerate(word):
        if character != ":" or not word[at + 1 :].strip():
            continue
        name = word[:at].strip()
        holder = index.holder(name)
        switch = picture.switch_of(End(name))
        book = PortBook(port for ref, port in picture.ports.items() if fold(ref.switch) == fold(switch))
        if holder is None and switch not in picture.coverage.answered:
            continue
        for position in _positions(word, word[at + 1 :]):
            place = index.place(End(name, position)) if holder else None
            seen = book.find(position).port if holder is None or isinstance(holder, Switch) else None
            if not isinstance(place, Place) and seen is None:
                raise UsageError(word, f"{name} has no {position}", "the names that the switch or panel uses")
            if isinstance(place, Place):
                scope.places.add(place.key)
            if seen is not None:
                scope.ports.add(PortRef(switch, seen))
        return True
    return False


def _positions(word: str, text: str) -> tuple[str, ...]:
    try:
        return positions(text)
    except ValueError as error:
        raise UsageError(word, f"is no list of positions: {error}", "SWITCH:Gi1/0/1-8") from None


def _unknown(word: str, picture: Picture) -> UsageError:
    the_map = picture.patch_map
    names = {row.name for row in the_map.holders()} | {row.label for row in the_map.cables()}
    names |= {row.room for row in the_map.holders()} | {row.rack for row in the_map.switches}
    near = difflib.get_close_matches(word, sorted(names - {""}), n=3)
    hint = " or ".join(near) or "a switch, panel, room, rack, device, outlet, cord, cable, or SWITCH:PORT"
    return UsageError(word, "nothing in the map has this name", hint)
