"""What is on each wire: the stations, neighbours and uplink of every port that has a link, members of an aggregate as
one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from collectors.names import port_key
from collectors.snapshot import CollectedSwitch, Neighbour, Port, Snapshot, Table
from reconcile.draft.model import OpenPoint
from reconcile.draft.naming import position
from reconcile.frames import Observed, observe
from reconcile.locate import locate
from reconcile.locate.identity import Directory
from reconcile.locate.placement import Grade, Located, Placement, PortRef, Uplink
from reconcile.patchmap.index import natural
from reconcile.ports import PortBook, is_socket

_ALIVE = ("up", "dormant")
_UNTOLD = (None, "unknown", "testing")
_MOST_MAYBE = 8
"""Ports at which somebody may be whose rows say so; of more, nobody would go and look."""


@dataclass(slots=True)
class Spot:
    """One port, or the members of one aggregate, which no forwarding table tells apart.

    `sure` are stations certainly here; `perhaps` those that probably are; `maybe` those that could be at several
    places, this one among them; `beyond` those that are in this direction, at a switch that was not asked.
    """

    group: PortRef
    members: tuple[PortRef, ...] = ()
    uplink: Uplink | None = None
    neighbours: dict[PortRef, tuple[Neighbour, ...]] = field(default_factory=dict)
    sure: list[Placement] = field(default_factory=list)
    perhaps: list[Placement] = field(default_factory=list)
    maybe: list[Placement] = field(default_factory=list)
    beyond: list[Placement] = field(default_factory=list)


@dataclass(slots=True)
class Scene:
    """All spots in the order of their names. `cell` has each port as a cell of a map can hold it; `shared` the wires
    that unmanaged equipment joins, as groups; `ips` are those of an address, `names` those of an IP."""

    snapshot: Snapshot
    located: Located
    directory: Directory
    passing: bool
    ips: Mapping[str, tuple[str, ...]]
    names: Mapping[str, str]
    spots: dict[PortRef, Spot] = field(default_factory=dict)
    ports: dict[PortRef, Port] = field(default_factory=dict)
    group_of: dict[PortRef, PortRef] = field(default_factory=dict)
    cell: dict[PortRef, str] = field(default_factory=dict)
    shared: list[tuple[PortRef, ...]] = field(default_factory=list)
    open: list[OpenPoint] = field(default_factory=list)

    def group(self, port: PortRef) -> PortRef:
        """The aggregate that the port is a member of, else the port."""
        return self.group_of.get(port, port)


def look_at(snapshot: Snapshot, names: Mapping[str, str], *, passing: bool) -> Scene:
    """The scene of one snapshot. No documented data takes part."""
    observed = observe(snapshot)
    directory = Directory.of(observed)
    scene = Scene(snapshot, locate(observed), directory, passing, _ips(snapshot.switches), names)
    _note_gaps(scene, observed)
    for switch in sorted(snapshot.switches, key=lambda one: natural(one.name)):
        _add_ports(scene, switch)
    wires = {tuple(sorted({scene.group(end) for end in ends})) for ends in scene.located.shared_wires}
    scene.shared = sorted(wire for wire in wires if all(end in scene.spots for end in wire))
    for here, uplink in sorted(scene.located.uplinks.items()):
        spot = scene.spots.get(scene.group(here))
        if spot is not None and spot.uplink is None:
            spot.uplink = uplink
    for mac in sorted(scene.located.placements):
        _put(scene, scene.located.placements[mac])
    return scene


def _ips(switches: Iterable[CollectedSwitch]) -> dict[str, tuple[str, ...]]:
    """IP addresses by MAC, those that only a wire knows (RFC 3927, RFC 4291 section 2.4) left out."""
    found: dict[str, set[str]] = defaultdict(set)
    for switch in switches:
        for row in switch.addresses:
            if not row.ip.casefold().startswith(("fe80:", "169.254.")):
                found[row.mac].add(row.ip)
    return {mac: tuple(sorted(ips, key=lambda ip: (":" in ip, natural(ip)))) for mac, ips in found.items()}


def _note_gaps(scene: Scene, observed: Observed) -> None:
    """Switches that did not answer, and tables without which nobody is found."""
    for failed in scene.snapshot.failed:
        what = "nothing that it sees is in the draft"
        scene.open.append(OpenPoint(what=what, because=failed.reason, switch=failed.name, not_looked_at=True))
    for switch in scene.snapshot.switches:
        for table in (Table.INTERFACES, Table.FORWARDING, Table.NEIGHBOURS):
            because = observed.coverage.gap(switch.name, table)
            if because:
                what = f"the table of {table.value} was not read as a whole"
                point = OpenPoint(what=what, because=because, switch=switch.name, not_looked_at=True)
                scene.open.append(point)


def _add_ports(scene: Scene, switch: CollectedSwitch) -> None:
    """The spots of one switch: sockets that have a link, or that hear somebody and do not tell."""
    told: dict[str, list[Neighbour]] = defaultdict(list)
    for neighbour in switch.neighbours:
        if neighbour.port is not None and not neighbour.repeats:
            told[neighbour.port].append(neighbour)
    heard = {row.port for row in switch.sightings}
    members: dict[PortRef, list[PortRef]] = defaultdict(list)
    for port in sorted(switch.ports, key=lambda one: natural(one.name)):
        here = PortRef(switch.name, port.name)
        scene.ports[here] = port
        scene.group_of[here] = PortRef(switch.name, port.aggregate) if port.aggregate else here
        speaks = port.name in told or not heard.isdisjoint({port.name, port.aggregate})
        if is_socket(port) and port.admin != "down" and (port.oper in _ALIVE or (port.oper in _UNTOLD and speaks)):
            members[scene.group_of[here]].append(here)
    _spell(scene, switch, [port for found in members.values() for port in found])
    for group, found in members.items():
        writable = tuple(port for port in found if port in scene.cell)
        said = {port: tuple(sorted(told[port.port], key=_order)) for port in writable}
        if writable:
            scene.spots[group] = Spot(group, writable, neighbours=said)


def _spell(scene: Scene, switch: CollectedSwitch, ports: list[PortRef]) -> None:
    """Each port as a cell can hold it, so that its reader finds the same port again."""
    book, taken = PortBook(switch.ports), set[str]()
    for port in ports:
        tries = (position(text) for text in (port.port, scene.ports[port].descr) if text)
        cell = next((t for t in tries if t and book.find(t).port == port.port and port_key(t) not in taken), "")
        if cell:
            taken.add(port_key(cell))
            scene.cell[port] = cell
        else:
            because = "its name cannot stand in a cell, or reads like that of another port"
            scene.open.append(OpenPoint(what="port left out", because=because, switch=port.switch, port=port.port))


def _order(neighbour: Neighbour) -> tuple[str, ...]:
    later = "" if neighbour.protocol == "lldp" else neighbour.protocol
    return later, neighbour.system_name, neighbour.chassis_id, neighbour.port_id


def _put(scene: Scene, placement: Placement) -> None:
    """Puts one station where the evidence has it, on a list of its own for each degree of sureness."""
    if placement.at is not None:
        spot = scene.spots.get(scene.group(placement.at))
        if spot is None:
            scene.open.append(_homeless(scene, placement, placement.at))
        elif placement.grade is Grade.CERTAIN:
            spot.sure.append(placement)
        elif placement.behind:
            spot.beyond.append(placement)
        else:
            spot.perhaps.append(placement)
        return
    groups = tuple(sorted({scene.group(port) for port in placement.candidates}))
    wire = next((wire for wire in scene.shared if set(groups) <= set(wire)), ())
    if groups and wire:
        scene.spots[wire[0]].sure.append(placement)
    elif len(groups) == 1 and groups[0] in scene.spots:
        scene.spots[groups[0]].beyond.append(placement)
    else:
        for group in groups if len(groups) <= _MOST_MAYBE else ():
            if group in scene.spots:
                scene.spots[group].maybe.append(placement)
        where = f"at one of {len(groups)} ports" if groups else "at no port"
        scene.open.append(OpenPoint(what=f"station {where}", because=placement.because, macs=(placement.mac,)))


def _homeless(scene: Scene, placement: Placement, at: PortRef) -> OpenPoint:
    """A station on a port that no cord leads to: a radio, a bridge in software, or one that has no link any more."""
    port = scene.ports.get(at)
    if port is not None and not is_socket(port):
        because = "this port is no socket: a radio client, or a guest inside the machine"
    else:
        because = "this port has no link now, or cannot be written: the table remembers somebody who left"
    what = "station left out"
    return OpenPoint(what=what, because=because, switch=at.switch, port=at.port, macs=(placement.mac,))
