"""Everything that is wrong with the relations in a patch map, at once. Faults of single cells are told on reading."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

from collectors.names import AddressKind, address_kind
from reconcile.channels import BrokenChannel, Channel, Channels, StepKind
from reconcile.patchmap.index import Holder, HolderKind, Link, LinkEnd, MapIndex, NoPlace, Place, Side, Slot
from reconcile.patchmap.messages import fault, quoted, suggestion
from reconcile.patchmap.model import Cord, Device, End, Fault, FixedCable, Origin, PatchMap, fold
from reconcile.patchmap.ranges import stands_for_many
from reconcile.site_file import SITE_FILE

if TYPE_CHECKING:
    from reconcile.site import Site

_T = TypeVar("_T")


def check_map(patch_map: PatchMap, channels: Channels) -> tuple[Fault, ...]:
    """Every fault of the map, in the order of its rows."""
    index = channels.index or MapIndex(patch_map)
    found = [
        *_names(patch_map),
        *_ends(index),
        *_places(index),
        *_addresses(patch_map.devices),
        *_paths(channels),
    ]
    tables = {str(row.origin): number for number, row in enumerate(patch_map.rows())}
    return tuple(sorted(dict.fromkeys(found), key=lambda f: tables.get(str(f.origin), -1)))


def check_site(site: Site, patch_map: PatchMap) -> tuple[Fault, ...]:
    """What does not fit between toneout.toml and the map. A switch of the map that is not asked is no fault."""
    documented = {fold(switch.name): switch.name for switch in patch_map.switches}
    found: list[Fault] = []
    asked: dict[tuple[object, ...], str] = {}
    for access in site.accesses:
        origin = site.origins.get(fold(access.name), Origin(SITE_FILE))
        if fold(access.name) not in documented:
            hint = suggestion(access.name, documented.values(), "add it to the map, or take its [[switch]] out")
            found.append(fault("access-not-in-map", origin, "name", name=quoted(access.name), suggestion=hint))
        door = (
            access.address,
            access.snmp.port if access.snmp else 0,
            access.snmp.context if access.snmp else "",
            access.ssh.port if access.ssh else 0,
        )
        other = asked.setdefault(door, access.name)
        if other != access.name:
            words = {"address": quoted(access.address), "other": quoted(other)}
            found.append(fault("address-twice", origin, "address", **words))
    return tuple(found)


def _names(patch_map: PatchMap) -> Iterator[Fault]:
    """Names that are used twice, in one table or over several: ends could not tell them apart."""
    rows: dict[str, list[Holder]] = defaultdict(list)
    for row in patch_map.holders():
        rows[fold(row.name)].append(row)
    for same in rows.values():
        for row, other in _pairs(same, lambda o: f"{type(o).__name__.lower()} {quoted(o.name)} ({o.origin})"):
            yield fault("name-twice", row.origin, row.heading("name"), name=quoted(row.name), other=other)
    for cables in (patch_map.cords, patch_map.fixed_cables):
        yield from _labels(cables)


def _pairs(rows: Sequence[_T], words: Callable[[_T], str]) -> Iterator[tuple[_T, str]]:
    """Each of several rows that share something, with words for another of them; nothing for a row on its own."""
    if len(rows) > 1:
        first, second = heapq.nsmallest(2, rows, key=words)
        for row in rows:
            yield row, words(second if row is first else first)


def _labels(rows: Iterable[Cord | FixedCable]) -> Iterator[Fault]:
    """Labels that two cords or two cables share: a person could pull the wrong one."""
    same: dict[str, list[Cord | FixedCable]] = defaultdict(list)
    for row in rows:
        if row.label:
            same[fold(row.label)].append(row)
    for sharing in same.values():
        for row, other in _pairs(sharing, lambda o: f"{o.a} to {o.b} ({o.origin})"):
            yield fault("label-twice", row.origin, row.heading("label"), label=quoted(row.label), other=other)


def _ends(index: MapIndex) -> Iterator[Fault]:
    """Ends that name nothing, and links that join a place to itself."""
    for link in index.links:
        for end in link.ends:
            if isinstance(end.place, NoPlace):
                yield _no_place(link, end, end.place)
        if isinstance(link.b.place, Place) and isinstance(link.a.place, Place) and link.a.place.key == link.b.place.key:
            origin, column = link.row.origin, link.row.heading("b")
            yield fault("joins-itself", origin, column, end=quoted(str(link.b.place.end)))


def _no_place(link: Link, end: LinkEnd, missing: NoPlace) -> Fault:
    origin, column = link.row.origin, link.row.heading(end.field)
    written = _written(link, end)
    if missing.code == "no-such-jack" and not link.fixed and stands_for_many(written.position):
        return fault("range-in-cord", origin, column, value=quoted(str(written)))
    return fault(missing.code, origin, column, **missing.words)


def _written(link: Link, end: LinkEnd) -> End:
    """An end as its row has it. A device is the far end of its own `at`."""
    if isinstance(link.row, Device):
        return link.row.at if end.field == "at" and link.row.at else End(link.row.name)
    return link.row.a if end.field == "a" else link.row.b


_TAKES = {Side.INSTALLED: "fixed cable", Side.PATCHING: "cord", Side.ONLY: "cord"}


def _places(index: MapIndex) -> Iterator[Fault]:
    """Places that are used twice: a port or jack, or a device that is plugged in at two places."""
    for slot, links in index.at_slot.items():
        if len(links) < 2:
            continue
        first, second = heapq.nsmallest(2, links, key=str)
        for link in links:
            other = second if link is first else first
            here = link.at(slot)
            place = here.place
            if isinstance(place, Place) and place.kind is HolderKind.DEVICE:
                yield _two_places(link, other, place, slot)
            elif isinstance(place, Place):
                words = {"end": quoted(str(place.end)), "other": str(other)}
                words |= {"kind": "port" if slot[2] is Side.ONLY else "jack", "what": _TAKES[slot[2]]}
                yield fault("place-twice", link.row.origin, link.row.heading(here.field), **words)


def _two_places(link: Link, other: Link, socket: Place, slot: Slot) -> Fault:
    here, there = (quoted(str(_written(one, one.beyond(slot)))) for one in (link, other))
    words = {"name": quoted(str(socket.end)), "a": here, "other": str(other), "b": there}
    field = link.at(slot).field
    return fault("device-in-two-places", link.row.origin, link.row.heading("at" if field == "name" else field), **words)


def _addresses(devices: Iterable[Device]) -> Iterator[Fault]:
    """Addresses that no device can have, and addresses of two devices."""
    owners: dict[str, list[Device]] = defaultdict(list)
    for device in devices:
        for mac in dict.fromkeys(device.macs):
            owners[mac].append(device)
    for mac, same in owners.items():
        for device in same:
            yield from _unfit(mac, device)
        if address_kind(mac) in (AddressKind.DEVICE, AddressKind.LOCAL, AddressKind.CLUSTER):
            for device, other in _pairs(same, lambda o: f"{quoted(o.name)} ({o.origin})"):
                yield fault("mac-twice", device.origin, device.heading("macs"), mac=mac, other=other)


def _unfit(mac: str, device: Device) -> Iterator[Fault]:
    place = (device.origin, device.heading("macs"))
    match address_kind(mac):
        case AddressKind.NONE:
            yield fault("mac-zero", *place)
        case AddressKind.GROUP:
            yield fault("mac-group", *place, mac=mac, what=_group(mac))
        case AddressKind.VIRTUAL_GATEWAY:
            yield fault("mac-gateway", *place, mac=mac)


def _group(mac: str) -> str:
    """What kind of group address it is (IEEE 802.1Q table 8-1 for the reserved ones; from memory)."""
    if mac == "ff:ff:ff:ff:ff:ff":
        return "broadcast"
    return "reserved multicast" if mac.startswith("01:80:c2:") else "multicast"


def _paths(channels: Channels) -> Iterator[Fault]:
    """Channels that end nowhere, loops, and devices that are at no place."""
    for channel in channels.resolved:
        yield from _path(channel)
    for broken in channels.broken:
        if broken.port is None and broken.device is None and len(broken.steps) > 1:
            yield from _loop(broken)


def _path(channel: Channel) -> Iterator[Fault]:
    last = channel.steps[-1]
    if len(channel.steps) == 1 and channel.device:
        device = channel.device
        yield fault("device-nowhere", device.origin, device.heading("at"), name=quoted(device.name))
    elif channel.far_port and channel.port and fold(channel.far_port.name) == fold(channel.port.name):
        cord = channel.steps[1]
        words = {"a": quoted(str(channel.port)), "b": quoted(str(channel.far_port))}
        yield fault("switch-loop", cord.origin, "", **words)
    elif last.kind is StepKind.JACK or (last.kind is StepKind.OUTLET and channel.port is None):
        # From a switch port to an outlet without a device is a spare outlet kept live, and no fault.
        link = channel.steps[-2]
        start = channel.port or (channel.device.name if channel.device else "")
        yield fault("open-end", link.origin, "", start=quoted(str(start)), end=quoted(last.label))


def _loop(broken: BrokenChannel) -> Iterator[Fault]:
    """A path that comes back to its start; what else breaks a path is told at its own row."""
    if broken.steps[0].end == broken.steps[-1].end:
        path = " - ".join(step.label for step in broken.steps if step.end)
        yield fault("loop", broken.origin, "", path=path[:400])
