"""What a person may mean by a name: a device, an address, an outlet, a jack, a cord, a fixed cable, a switch port."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from collectors.names import parse_mac
from reconcile.errors import UsageError
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, fold
from reconcile.picture import Picture
from reconcile.ports import PortBook, is_socket


class SubjectKind(StrEnum):
    """Kinds of things that can be traced, in the words of the vocabulary."""

    DEVICE = "device"
    ADDRESS = "address"
    OUTLET = "outlet"
    JACK = "jack"
    CORD = "cord"
    FIXED_CABLE = "fixed cable"
    PORT = "port"


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing that a name can mean. `end` for jacks and ports, `row` for rows of the map, `port` where observed."""

    kind: SubjectKind
    name: str
    end: End | None = None
    row: Device | Cord | FixedCable | Outlet | None = None
    port: PortRef | None = None


def find_subject(what: str, picture: Picture, kind: SubjectKind | None = None) -> Subject:
    """The one thing that `what` means. Raises UsageError with the choices, or with the nearest names."""
    found = [s for s in _meanings(what, picture) if kind in (None, s.kind)]
    if len(found) == 1:
        return found[0]
    if found:
        choices = ", ".join(sorted({f"the {s.kind} {s.name}" for s in found}))
        kinds = " or ".join(f"--as '{k}'" for k in sorted({s.kind.value for s in found}))
        raise UsageError(what, f"means several things: {choices}", kinds)
    raise _unknown(what, picture, kind)


def _meanings(what: str, picture: Picture) -> Iterator[Subject]:
    mac = parse_mac(what)
    if mac is not None and _heard_of(mac, picture):
        yield Subject(SubjectKind.ADDRESS, mac)
    yield from _rows(fold(what), picture)
    seen: set[tuple[SubjectKind, object]] = set()
    for end in _ends(what):
        for subject in _places(end, picture):
            if (subject.kind, subject.port or subject.name) not in seen:
                seen.add((subject.kind, subject.port or subject.name))
                yield subject


def _heard_of(mac: str, picture: Picture) -> bool:
    located = picture.located
    return mac in picture.device_of or mac in located.placements or mac in located.unplaced


def _rows(key: str, picture: Picture) -> Iterator[Subject]:
    the_map = picture.patch_map
    for device in the_map.devices:
        if fold(device.name) == key:
            yield Subject(SubjectKind.DEVICE, device.name, row=device)
    for outlet in the_map.outlets:
        if fold(outlet.name) == key:
            yield Subject(SubjectKind.OUTLET, outlet.name, row=outlet)
    for cord in the_map.cords:
        if fold(cord.label) == key:
            yield Subject(SubjectKind.CORD, cord.label, row=cord)
    for cable in the_map.fixed_cables:
        if fold(cable.label) == key:
            yield Subject(SubjectKind.FIXED_CABLE, cable.label, row=cable)


def _ends(what: str) -> Iterator[End]:
    """`NAME:POSITION` or `NAME POSITION`, split wherever it can be: port names may hold colons and blanks too."""
    text = what.strip()
    for at, character in enumerate(text):
        if character in ": ":
            yield End(text[:at].strip(), text[at + 1 :].strip())


def _places(end: End, picture: Picture) -> Iterator[Subject]:
    name, position = end.key
    the_map = picture.patch_map
    holders = [(p.name, p.jacks) for p in the_map.panels] + [(o.name, o.jacks) for o in the_map.outlets]
    for holder, jacks in holders:
        if fold(holder) == name:
            places = (End(holder, jack) for jack in jacks if fold(jack) == position)
            yield from (Subject(SubjectKind.JACK, str(place), end=place) for place in places)
    observed = _observed_port(end, picture)
    documented = _documented_port(end, picture)
    if observed is not None or documented is not None:
        shown = str(documented or observed)
        yield Subject(SubjectKind.PORT, shown, end=documented, port=observed)


def _observed_port(end: End, picture: Picture) -> PortRef | None:
    switch = picture.switch_of(end)
    book = PortBook(port for ref, port in picture.ports.items() if ref.switch == switch)
    found = book.find(end.position).port
    return PortRef(switch, found) if found is not None else None


def _documented_port(end: End, picture: Picture) -> End | None:
    """The port as the map writes it: by its own spelling, or as the observed port that it stands for."""
    ends = [e for c in picture.channels.resolved for e in (c.port, c.far_port) if e is not None]
    for documented in ends:
        if documented.key == end.key:
            return documented
    observed = _observed_port(end, picture)
    if observed is not None:
        for documented in ends:
            if picture.port_of(documented) == observed:
                return documented
    for switch in picture.patch_map.switches:
        if fold(switch.name) == end.key[0]:
            for port in switch.ports:
                if fold(port) == end.key[1]:
                    return End(switch.name, port)
    return None


def _unknown(what: str, picture: Picture, kind: SubjectKind | None) -> UsageError:
    """Nothing of that name: says what is nearest, or which positions a known panel or switch has."""
    mac = parse_mac(what)
    if mac is not None:
        return UsageError(mac, "no device of the map has this address, and no switch that was read has seen it")
    for end in (End(what.strip()), *_ends(what)):
        for panel in picture.patch_map.panels:
            if fold(panel.name) == end.key[0]:
                problem = f"{panel.name} has no jack {end.position}" if end.position else f"{panel.name} is a panel"
                return UsageError(what, problem, f"one of its jacks, {_span(panel.name, panel.jacks)}")
        for switch in [*{port.switch for port in picture.ports}, *(s.name for s in picture.patch_map.switches)]:
            if fold(switch) == end.key[0]:
                return _unknown_port(what, switch, end, picture)
    names = _names(picture)
    nearest = difflib.get_close_matches(fold(what), list(names), n=4, cutoff=0.6)
    hint = " or ".join(names[name] for name in nearest)
    problem = f"the map has no {kind} of this name" if kind else "nothing in the map has this name"
    return UsageError(what, problem, hint or "a device, address, outlet, jack, cord, fixed cable or switch port")


def _unknown_port(what: str, switch: str, end: End, picture: Picture) -> UsageError:
    ports = [port for ref, port in picture.ports.items() if ref.switch == picture.switch_of(End(switch))]
    if not end.position:
        example = next((port.name for port in ports if is_socket(port)), "PORT")
        return UsageError(what, f"{switch} is a switch", f"one of its ports, for example '{switch}:{example}'")
    nearest = PortBook(ports).find(end.position).nearest
    hint = " or ".join(f"'{switch}:{port}'" for port in nearest)
    return UsageError(what, f"{switch} has no port {end.position}", hint or "the name that the switch itself uses")


def _span(panel: str, jacks: tuple[str, ...]) -> str:
    if not jacks:
        return panel
    return f"{panel}:{jacks[0]}" if len(jacks) == 1 else f"{panel}:{jacks[0]} to {panel}:{jacks[-1]}"


def _names(picture: Picture) -> dict[str, str]:
    """Every name that can be asked for, by its folded form."""
    the_map = picture.patch_map
    names = [
        *(device.name for device in the_map.devices),
        *(outlet.name for outlet in the_map.outlets),
        *(panel.name for panel in the_map.panels),
        *(switch.name for switch in the_map.switches),
        *(cord.label for cord in the_map.cords),
        *(cable.label for cable in the_map.fixed_cables),
    ]
    return {fold(name): name for name in names if name}
