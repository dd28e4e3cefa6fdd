"""What the switches of one snapshot say of single ports and stations, typed for people and programs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from pydantic import BaseModel, ConfigDict

from collectors.snapshot import CollectedSwitch, Neighbour, Port, Snapshot, Table
from reconcile.locate.placement import Grade, Placement, PortRef
from reconcile.makers import maker_of
from reconcile.picture import Picture
from reconcile.rules.words import where


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class SeenNeighbour(_Model):
    """Who announces itself on a port, in its own words: hostile text."""

    protocol: str
    name: str
    port: str
    description: str = ""
    chassis_id: str = ""


class SeenStation(_Model):
    """An address that switches have seen: whose it is as documented, and where it is attached.

    `why` is the proof of its placement, a sentence per row, when it was asked for.
    """

    mac: str
    maker: str = ""
    device: str = ""
    at: str = ""
    grade: str = ""
    because: str = ""
    candidates: tuple[str, ...] = ()
    heard: tuple[str, ...] = ()
    why: tuple[str, ...] = ()


class SeenPort(_Model):
    """What one switch says of one port. `gap` is why nothing can be said; then the rest is empty.

    `since` is when the link came into its present state (ifLastChange), None when that is not known for certain.
    """

    switch: str
    port: str
    gap: str = ""
    state: str = ""
    speed_mbps: int | None = None
    duplex: str = ""
    vlan: int | None = None
    description: str = ""
    watts: float | None = None
    since: datetime | None = None
    leads_to: str = ""
    neighbours: tuple[SeenNeighbour, ...] = ()
    stations: tuple[SeenStation, ...] = ()
    perhaps: tuple[SeenStation, ...] = ()
    passing: int = 0


class Look:
    """Reads single ports and stations out of one snapshot."""

    def __init__(self, picture: Picture, snapshot: Snapshot | None) -> None:
        self.picture = picture
        self.snapshot = snapshot
        self._switches = {s.name: s for s in snapshot.switches} if snapshot else {}

    def port(self, ref: PortRef) -> SeenPort:
        """What is known of a port, or why nothing is."""
        port = self.picture.ports.get(ref)
        if port is None:
            gap = self.picture.coverage.gap(ref.switch, Table.INTERFACES) or f"{ref.switch} has no such port"
            return SeenPort(switch=ref.switch, port=ref.port, gap=gap)
        switch = self._switches[ref.switch]
        here = (*self.picture.stations(ref), *self._on_its_wire(self.picture.group(ref)))
        perhaps = self.picture.maybe_at.get(self.picture.group(ref), ())
        known = {p.mac for p in (*here, *perhaps)}
        passing = {row.mac for row in switch.rows(port=self.picture.group(ref).port)} - known
        return SeenPort(
            switch=ref.switch,
            port=ref.port,
            state="administratively down" if port.admin == "down" else port.oper or "state not told",
            speed_mbps=port.speed_mbps if port.oper == "up" else None,
            duplex=port.duplex or "",
            vlan=port.pvid,
            description=port.alias,
            watts=port.power.watts if port.power else None,
            since=_since(port, switch),
            leads_to=self._leads_to(ref),
            neighbours=tuple(_neighbour(n) for n in self.picture.neighbours.get(ref, ())),
            stations=tuple(self.station(p.mac) for p in here),
            perhaps=tuple(self.station(p.mac) for p in perhaps),
            passing=len(passing),
        )

    def _on_its_wire(self, port: PortRef) -> Iterator[Placement]:
        """Stations on unmanaged equipment between this port and others, placed at the first of these."""
        ends = dict.fromkeys(end for wire in self.picture.located.shared_wires if port in wire for end in wire)
        for end in ends:
            if end != port:
                yield from (p for p in self.picture.stations(end) if port in p.candidates)

    def station(self, mac: str) -> SeenStation:
        """Where an address is attached, and every row that heard it."""
        device = self.picture.device_of.get(mac)
        placement = self.picture.located.placements.get(mac)
        unplaced = self.picture.located.unplaced.get(mac, "no switch that was read has seen it")
        return SeenStation(
            mac=mac,
            maker=maker_of(mac),
            device=device.name if device else "",
            at=self._at(placement) if placement and placement.at else "",
            grade=_grade(placement) if placement else "",
            because=placement.because if placement else unplaced,
            candidates=tuple(map(_ref, placement.candidates)) if placement and placement.at is None else (),
            heard=tuple(self._heard(mac)),
        )

    def _at(self, placement: Placement) -> str:
        """The port, with what the map says of the way there; of a station on a wire between switches all its ends."""
        told = where(self.picture.place(placement.at))
        ends = [port for port in placement.candidates if port != placement.at]
        if not ends or placement.grade not in (Grade.CERTAIN, Grade.PROBABLE):
            return told
        return f"{told}, on the wire from there to {', '.join(map(_ref, ends))}"

    def _heard(self, mac: str) -> Iterator[str]:
        for switch in self._switches.values():
            for row in switch.rows(mac=mac):
                port = f" port {row.port}" if row.port else ""
                vlan = f", VLAN {row.vlan}" if row.vlan is not None else ""
                yield f"{switch.name}{port}{vlan} ({row.status})"

    def _leads_to(self, ref: PortRef) -> str:
        uplink = self.picture.uplink(ref)
        if uplink is None:
            return ""
        there = _ref(uplink.there) if uplink.there else uplink.peer or "another switch"
        if uplink.is_machine:
            guests = any(p.behind for p in self.picture.stations(ref))
            there += ", a machine with guests" if guests else ", a machine and no switch"
        return f"{there} ({uplink.source})"


def _ref(port: PortRef) -> str:
    return f"{port.switch} port {port.port}"


def _grade(placement: Placement) -> str:
    unless = f" {', '.join(placement.unless)} is on that wire" if placement.unless else ""
    return f"{placement.grade.value}{unless}"


def _neighbour(said: Neighbour) -> SeenNeighbour:
    return SeenNeighbour(
        protocol=said.protocol,
        name=said.system_name,
        port=said.port_id,
        description=said.port_description,
        chassis_id=said.chassis_id,
    )


def _since(port: Port, switch: CollectedSwitch) -> datetime | None:
    """When the port came into its state: sysUpTime - ifLastChange (RFC 2863), both in 1/100 s.

    0 means "before the agent started", and a value above sysUpTime may be a wrap after 497 days or a fault of the
    agent: neither is a time that a person could rely on.
    """
    changed, up = port.last_change_ticks, switch.system.uptime_ticks
    if not changed or up is None or changed > up:
        return None
    return switch.started - timedelta(seconds=(up - changed) / 100)
