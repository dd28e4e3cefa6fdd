"""What every switch of a world knows after everybody has talked once: complete learning on the active tree.

A frame enters at a socket and floods, as IEEE 802.1Q says: a port takes a frame of a VLAN that it carries, learns
the source address, and passes the frame on to every other port that carries the VLAN. LLDP frames go no further
than the next managed switch; unmanaged boxes may pass them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from reconcile.patchmap.model import End
from tests.worlds.model import Advert, Box, Port, Switch, World


@dataclass
class View:
    """What one switch knows. Speeds in Mbit/s, power in watts; `learned` maps (VLAN, MAC) to a port name."""

    up: dict[str, int] = field(default_factory=dict)
    learned: dict[tuple[int, str], str] = field(default_factory=dict)
    heard: dict[str, list[Advert]] = field(default_factory=dict)
    draws: dict[str, float] = field(default_factory=dict)


def observe(world: World) -> dict[str, View]:
    """The view of every switch, by its name. ValueError for a world that cannot be: a loop, or a crowded jack."""
    return _Network(world).views()


class _Network:
    """A world with its passive parts resolved: which active socket each active socket is wired to."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.switches = {switch.name: switch for switch in world.switches}
        self.boxes = {box.name: box for box in world.boxes}
        self.far = _wires(world)

    def views(self) -> dict[str, View]:
        views = {name: View() for name in self.switches}
        for switch, port in self._switch_ports():
            self._note_link(switch, port, views[switch.name])
        for switch in self.world.switches:
            for port in switch.ports:
                if port.carries(switch.management_vlan) and not port.blocked:
                    tag = None if port.vlan == switch.management_vlan else switch.management_vlan
                    self._flood(End(switch.name, port.name), tag, switch.mac, views)
                if switch.dialect.lldp:
                    self._advertise(End(switch.name, port.name), switch_advert(switch, port), views)
        for box in self.world.boxes:
            for station in box.stations:
                self._flood(End(box.name, station.socket), station.vlan, station.mac, views)
            for advert in box.adverts:
                self._advertise(End(box.name, advert.socket), advert, views)
        return views

    def _switch_ports(self) -> Iterator[tuple[Switch, Port]]:
        for switch in self.world.switches:
            for port in switch.ports:
                yield switch, port

    def _peer(self, here: End) -> End | None:
        """The active socket at the other end of the wire, if both sides have link."""
        there = self.far.get(here)
        return there if there and self._speed(here) and self._speed(there) else None

    def _speed(self, here: End) -> int:
        """Fastest speed of a socket in Mbit/s; 0 when it is shut or without power."""
        if here.name in self.switches:
            port = self.switches[here.name].port(here.position)
            return port.speed if port.admin_up else 0
        box = self.boxes[here.name]
        return box.speed if box.powered else 0

    def _note_link(self, switch: Switch, port: Port, view: View) -> None:
        here = End(switch.name, port.name)
        there = self._peer(here)
        if there is None:
            return
        view.up[port.name] = min(self._speed(here), self._speed(there))
        box = self.boxes.get(there.name)
        if box and port.supplies_power and box.draws_watts:
            view.draws[port.name] = box.draws_watts

    def _flood(self, start: End, tag: int | None, mac: str, views: dict[str, View]) -> None:
        """Sends one frame out of `start`; every switch that it reaches learns `mac`."""
        sent = [(start, tag)]
        passed: set[tuple[End, int | None]] = set()
        while sent:
            leaving = sent.pop()
            if leaving in passed:
                raise ValueError(f"a frame from {mac} comes back to {leaving[0]}: the world has a loop")
            passed.add(leaving)
            there = self._peer(leaving[0])
            if there is None:
                continue
            if there.name in self.switches:
                sent += self._relay(there, leaving[1], mac, views)
            elif self.boxes[there.name].bridges:
                sent += self._through(self.boxes[there.name], there, leaving[1])

    def _relay(self, at: End, tag: int | None, mac: str, views: dict[str, View]) -> Iterator[tuple[End, int | None]]:
        """One switch takes the frame, or drops it, and sends it on."""
        switch = self.switches[at.name]
        port = switch.port(at.position)
        vlan = port.vlan if tag is None else tag
        if port.blocked or not port.carries(vlan) or mac == switch.mac:
            return
        views[switch.name].learned[vlan, mac] = port.name
        for other in switch.ports:
            if other is not port and other.carries(vlan) and not other.blocked:
                yield End(switch.name, other.name), None if other.vlan == vlan else vlan

    @staticmethod
    def _through(box: Box, came: End, tag: int | None) -> Iterator[tuple[End, int | None]]:
        for socket in box.sockets:
            if socket != came.position:
                yield End(box.name, socket), tag

    def _advertise(self, start: End, advert: Advert, views: dict[str, View]) -> None:
        sent = [start]
        while sent:
            there = self._peer(sent.pop())
            if there is None:
                continue
            if there.name in self.switches:
                if self.switches[there.name].dialect.lldp:
                    views[there.name].heard.setdefault(there.position, []).append(advert)
            elif self.boxes[there.name].passes_lldp:
                sent += [leaving for leaving, _ in self._through(self.boxes[there.name], there, None)]


def _wires(world: World) -> dict[End, End]:
    """Active socket to active socket, through whatever jacks, cords and fixed cables lie between."""
    active = {End(s.name, p.name) for s in world.switches for p in s.ports}
    active |= {End(b.name, socket) for b in world.boxes for socket in b.sockets}
    touching: dict[End, list[End]] = {}
    for cable in world.cables:
        touching.setdefault(cable.a, []).append(cable.b)
        touching.setdefault(cable.b, []).append(cable.a)
    for place, others in touching.items():
        if len(others) > (1 if place in active else 2):
            raise ValueError(f"{len(others)} cables at {place}")
    return {here: there for here in active & set(touching) if (there := _follow(here, touching)) in active}


def _follow(start: End, touching: dict[End, list[End]]) -> End:
    """The last place on the wire that begins at `start`."""
    before, here = start, touching[start][0]
    while len(touching[here]) == 2:
        a, b = touching[here]
        before, here = here, b if a == before else a
    return here


def switch_advert(switch: Switch, port: Port) -> Advert:
    """What a switch says of itself out of one port, in the words of its family."""
    dialect = switch.dialect
    port_id = {
        "interfaceName": port.name,
        "local": str(dialect.if_index + port.number) if dialect.if_index else port.name,
        "macAddress": switch.port_mac(port),
    }[dialect.lldp_port_id]
    return Advert(
        chassis_kind="macAddress",
        chassis_id=switch.mac,
        port_kind=dialect.lldp_port_id,
        port_id=port_id,
        port_description=dialect.descr_of(port.number),
        system_name=switch.hostname,
        system_description=dialect.descr,
        capabilities=("bridge", "router") if switch.routes else ("bridge",),
        management_address=switch.address,
        pvid=port.vlan,
    )
