"""Follows cords, jacks and fixed cables from end to end: a resolved channel, or a broken one with its reason.

A channel (ISO/IEC 11801) is the whole path from a switch port, through cords, jacks and fixed cables, to a device
or to another port.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from reconcile.patchmap.index import HolderKind, Link, MapIndex, NoPlace, Place, Side, Slot, natural
from reconcile.patchmap.messages import problem, quoted
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Origin, PatchMap, fold


class StepKind(StrEnum):
    """What one step of a channel is."""

    PORT = "port"  # of a switch
    CORD = "cord"
    JACK = "jack"  # of a panel
    FIXED = "fixed cable"
    OUTLET = "outlet"  # a jack of an outlet plate
    DEVICE = "device"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a channel. `label` is what a person reads on it; `end` the place, for steps that are places."""

    kind: StepKind
    label: str
    end: End | None = None
    room: str = ""
    origin: Origin = field(default_factory=Origin)
    row: Cord | FixedCable | Device | None = None


@dataclass(frozen=True, slots=True)
class Channel:
    """One documented path. `port` is the switch port it starts at; None when the path reaches no switch.

    `device`, `far_port` or `open_end` says how it ends, and only one of them is there. A channel between two switches
    is listed once for each of its two ports. A path that reaches no switch starts at its device: then `next_device` is
    the device at its other end, if there is one, and `behind` the switch port at which this device is to be expected,
    when that other device carries it (a PC on a phone).
    """

    port: End | None
    steps: tuple[Step, ...]
    device: Device | None = None
    far_port: End | None = None
    open_end: End | None = None
    next_device: Device | None = None
    behind: End | None = None

    @property
    def key(self) -> str:
        """Stable name: its switch port, else its device or open end."""
        first = self.port or (self.device.name if self.device else self.open_end)
        return str(first)

    def __str__(self) -> str:
        return " - ".join(step.label or step.kind for step in self.steps)


@dataclass(frozen=True, slots=True)
class BrokenChannel:
    """A path that cannot be followed to an end: as far as it goes, and why it stops.

    `port` or `device` is where it was followed from; neither for a piece that nothing leads to.
    """

    steps: tuple[Step, ...]
    reason: str
    origin: Origin
    port: End | None = None
    device: Device | None = None


@dataclass(frozen=True, slots=True)
class Channels:
    """Every documented path, in the natural order of its port or device.

    Look-ups use the folded key of an `End`, or the folded device name; of several channels of one device, `by_device`
    has the first that reaches a switch. `spare` are cables that lead neither to a switch port nor to a device.
    `index` are the look-ups that all were followed with.
    """

    resolved: tuple[Channel, ...]
    broken: tuple[BrokenChannel, ...] = ()
    by_port: dict[tuple[str, str], Channel] = field(default_factory=dict)
    by_device: dict[str, Channel] = field(default_factory=dict)
    spare: tuple[Channel, ...] = ()
    index: MapIndex | None = field(default=None, repr=False, compare=False)
    _of_device: dict[str, list[Channel]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def of_device(self, name: str) -> tuple[Channel, ...]:
        """Every channel that ends at a device: one for each of its sockets."""
        if not self._of_device:  # made when it is first asked for
            for channel in self.resolved:
                if channel.device is not None:
                    self._of_device.setdefault(fold(channel.device.name), []).append(channel)
        return tuple(self._of_device.get(fold(name), ()))


def resolve(patch_map: PatchMap) -> Channels:
    """Follows the map from every switch port and from every device that no switch port leads to."""
    index = MapIndex(patch_map)
    tracer = _Tracer(index)
    found = [*tracer.from_ports(), *tracer.from_sockets()]
    found += tracer.alone(patch_map.devices)
    resolved = _behind_others([path for path in found if isinstance(path, Channel)])
    spare = [*tracer.rest()]
    broken = [path for path in (*found, *spare) if isinstance(path, BrokenChannel)]
    by_port = {c.port.key: c for c in resolved if c.port}
    by_device: dict[str, Channel] = {}
    for channel in sorted(resolved, key=lambda c: c.port is None):
        if channel.device:
            by_device.setdefault(fold(channel.device.name), channel)
    left = tuple(path for path in spare if isinstance(path, Channel))
    return Channels(tuple(resolved), tuple(broken), by_port, by_device, left, index)


_Path = Channel | BrokenChannel


class _Tracer:
    """Follows links from place to place. Remembers what it has met, so that nothing is left out or told twice."""

    def __init__(self, index: MapIndex) -> None:
        self._index = index
        self._met: set[int] = set()  # links that are a step of some path, by identity
        self._sockets: set[tuple[str, str]] = set()
        self.devices: set[str] = set()

    def from_ports(self) -> Iterator[_Path]:
        """A path from every switch port that anything is plugged into."""
        for place in self._places(HolderKind.SWITCH):
            yield self._follow(place, Side.ONLY)

    def from_sockets(self) -> Iterator[_Path]:
        """A path from every socket of a device that no switch port led to."""
        led_to = frozenset(self._sockets)
        for place in self._places(HolderKind.DEVICE):
            if place.key not in led_to:
                yield self._follow(place, Side.ONLY)

    def rest(self) -> Iterator[_Path]:
        """What neither a port nor a device leads to: spare cables, loops, links with no end to follow from."""
        ends = self._places(HolderKind.PANEL, HolderKind.OUTLET)
        for place in ends:
            sides = [side for side in (Side.INSTALLED, Side.PATCHING) if self._index.at_slot.get((*place.key, side))]
            if len(sides) == 1 and self._unmet(place, sides[0]):
                yield self._follow(place, sides[0])
        for place in ends:
            for side in (Side.INSTALLED, Side.PATCHING):
                if self._unmet(place, side) and (*place.key, side) not in self._index.crowded:
                    yield self._follow(place, side)
        for link in self._index.links:
            if id(link) not in self._met:
                yield self._stray(link)

    def alone(self, devices: Iterable[Device]) -> Iterator[Channel]:
        """Devices that nothing is plugged into: a channel of one step."""
        for device in sorted(devices, key=lambda one: natural(one.name)):
            if fold(device.name) not in self.devices:
                place = Place(HolderKind.DEVICE, device, End(device.name), (fold(device.name), ""))
                yield Channel(port=None, steps=(_place_step(place),), device=device)

    def _places(self, *kinds: HolderKind) -> list[Place]:
        found: dict[tuple[str, str], Place] = {}
        for link in self._index.links:
            for place in (link.a.place, link.b.place):
                if isinstance(place, Place) and place.kind in kinds:
                    found.setdefault(place.key, place)
        return sorted(found.values(), key=lambda place: (natural(place.end.name), natural(place.end.position)))

    def _unmet(self, place: Place, side: Side) -> bool:
        return any(id(link) not in self._met for link in self._index.at_slot.get((*place.key, side), ()))

    def _follow(self, start: Place, side: Side) -> _Path:
        """The path from one side of a place to wherever it ends."""
        steps = [_place_step(start)]
        here, slot = start, (*start.key, side)
        seen: set[Slot] = set()
        self._note(here)
        while True:
            links = self._index.at_slot.get(slot, [])
            if not links:
                return _ended(start, here, steps)
            if len(links) > 1:
                return self._crowded(start, steps, slot)
            link = links[0]
            self._met.add(id(link))
            if slot in seen:
                return _stopped(start, steps, "the path comes back to where it was", link.row.origin)
            seen.add(slot)
            steps.append(_link_step(link))
            there = link.beyond(slot)
            if isinstance(there.place, NoPlace):
                return _stopped(start, steps, _words(there.place), link.row.origin)
            here = there.place
            if there.slot == slot:
                return _stopped(start, steps, f"both its ends are {here.end}", link.row.origin)
            steps.append(_place_step(here))
            self._note(here)
            if there.slot in self._index.crowded:
                return self._crowded(start, steps, there.slot)
            if not here.two_sided:
                return _ended(start, here, steps)
            slot = here.slot(fixed=not link.fixed)

    def _crowded(self, start: Place, steps: list[Step], slot: Slot) -> BrokenChannel:
        reason = f"{quoted(steps[-1].label)} is used by {self._index.crowded[slot]}"
        return _stopped(start, steps, reason, self._index.at_slot[slot][0].row.origin)

    def _stray(self, link: Link) -> BrokenChannel:
        """A link that could be followed from neither of its ends."""
        missing = [_words(end.place) for end in link.ends if isinstance(end.place, NoPlace)]
        crowded = [
            f"{quoted(str(end.place.end))} is used by {self._index.crowded[end.slot]}"
            for end in link.ends
            if isinstance(end.place, Place) and end.slot in self._index.crowded
        ]
        return BrokenChannel((_link_step(link),), [*missing, *crowded][0], link.row.origin)

    def _note(self, place: Place) -> None:
        if place.kind is HolderKind.DEVICE:
            self._sockets.add(place.key)
            self.devices.add(place.key[0])


def _ended(start: Place, end: Place, steps: list[Step]) -> Channel:
    """A path that was followed to its end, from the switch port to the device where it has both."""
    port = start.end if start.kind is HolderKind.SWITCH else None
    device = end.holder if isinstance(end.holder, Device) else None
    if isinstance(start.holder, Device):
        return Channel(port, tuple(steps), start.holder, next_device=device if end.key != start.key else None)
    if device:
        return Channel(port, tuple(steps), device)
    if end.kind is HolderKind.SWITCH:
        return Channel(port, tuple(steps), far_port=end.end)
    return Channel(port, tuple(steps), open_end=end.end)


def _stopped(start: Place, steps: list[Step], reason: str, origin: Origin) -> BrokenChannel:
    port = start.end if start.kind is HolderKind.SWITCH else None
    device = start.holder if isinstance(start.holder, Device) else None
    return BrokenChannel(tuple(steps), reason, origin, port, device)


def _words(missing: NoPlace) -> str:
    return problem(missing.code, **missing.words)


_KINDS = {
    HolderKind.SWITCH: StepKind.PORT,
    HolderKind.PANEL: StepKind.JACK,
    HolderKind.OUTLET: StepKind.OUTLET,
    HolderKind.DEVICE: StepKind.DEVICE,
}


def _place_step(place: Place) -> Step:
    holder = place.holder
    device = holder if isinstance(holder, Device) else None
    return Step(_KINDS[place.kind], str(place.end), place.end, holder.room, holder.origin, device)


def _link_step(link: Link) -> Step:
    """A cord or cable. A device's `at` stands for a cord that has no row and no label of its own."""
    label = "" if isinstance(link.row, Device) else link.row.label
    return Step(StepKind.FIXED if link.fixed else StepKind.CORD, label, origin=link.row.origin, row=link.row)


def _behind_others(found: list[Channel]) -> list[Channel]:
    """Fills in `behind`, and tells a path between a carrying device on a switch and another one as the other one's."""
    of_device: dict[str, list[Channel]] = defaultdict(list)
    for channel in found:
        if channel.device:
            of_device[fold(channel.device.name)].append(channel)
    told: list[Channel] = []
    for channel in found:
        here, there = channel.device, channel.next_device
        if here is None or there is None:
            told.append(channel)
        elif not (here.carries and _home(here, of_device) and not _home(there, of_device)):
            told.append(replace(channel, behind=_behind(here, there, of_device)))
    return told


def _home(device: Device, of_device: Mapping[str, list[Channel]]) -> End | None:
    return next((channel.port for channel in of_device[fold(device.name)] if channel.port), None)


def _behind(device: Device, carrier: Device, of_device: Mapping[str, list[Channel]]) -> End | None:
    """The switch port behind which a device is, through any number of devices that carry others."""
    seen = {fold(device.name)}
    ahead = [carrier]
    while ahead:
        carrier = ahead.pop()
        if not carrier.carries or fold(carrier.name) in seen:
            continue
        if home := _home(carrier, of_device):
            return home
        seen.add(fold(carrier.name))
        ahead += [channel.next_device for channel in of_device[fold(carrier.name)] if channel.next_device]
    return None
