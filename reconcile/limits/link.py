"""One observed link from both of its ends: how fast it could be, and on which duplex each end runs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from collectors.snapshot import Port
from reconcile.limits.media import MAU, speed_by_name
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture


@dataclass(frozen=True, slots=True)
class Can:
    """What one end can do: Mbit/s, and how that is known, a clause."""

    speed_mbps: int
    because: str


def far_port(port: PortRef, picture: Picture) -> PortRef | None:
    """The port of another switch at the other end, as the network itself shows it."""
    uplink = picture.uplink(port)
    return uplink.there if uplink is not None and uplink.there in picture.ports else None


def can_do(port: PortRef, picture: Picture) -> Can | None:
    """The fastest that a port of a switch is known to manage; None when nothing tells.

    Its own past counts most, then its name. On fibre the module decides, which the running speed tells alone.
    """
    state = picture.ports[port]
    medium = MAU.get(state.mau_type or 0)
    if medium is not None and medium.fibre:
        return Can(medium.speed_mbps, f"{medium.application} is plugged into {words(port)}")
    known = []
    earlier = _earlier(port, picture)
    if earlier is not None:
        known.append(Can(earlier.speed_mbps, f"{words(port)} ran at {earlier}"))
    named = speed_by_name(port.port)
    if named is not None and (named <= 1000 or medium is not None):  # beyond, any module may be in a cage
        known.append(Can(named, f"{words(port)} is made for {named} Mbit/s by its name"))
    return max(known, key=lambda can: can.speed_mbps, default=None)


def far_end_can(port: PortRef, picture: Picture) -> Can | None:
    """The same for whatever is at the other end; None when nothing tells.

    Of a device that is no switch, only its past does: the same stations on the same port at a higher speed.
    """
    there = far_port(port, picture)
    if there is not None:
        return can_do(there, picture)
    earlier = _earlier(port, picture)
    here = {placement.mac for placement in picture.stations(port)}
    if earlier is not None and here & earlier.macs:
        return Can(earlier.speed_mbps, f"{min(here & earlier.macs)} ran at {earlier}")
    return None


class _Earlier(NamedTuple):
    """What a port ran at before, Mbit/s, in words too, and who was heard there."""

    speed_mbps: int
    told: str
    macs: frozenset[str]

    def __str__(self) -> str:
        return self.told


def _earlier(port: PortRef, picture: Picture) -> _Earlier | None:
    """The history's word where it knows the port by this part of the day, else the snapshot before."""
    if port in picture.recalled.paces.known:
        ran = picture.recalled.paces.faster.get(port)
        return _Earlier(ran.speed_mbps, str(ran), ran.macs) if ran else None
    switch = next((s for s in picture.before.switches if s.name == port.switch), None) if picture.before else None
    state = next((p for p in switch.ports if p.name == port.port), None) if switch else None
    if switch is None or state is None or state.oper != "up" or not state.speed_mbps:
        return None
    heard = frozenset(sighting.mac for sighting in switch.rows(port=port.port))
    return _Earlier(state.speed_mbps, f"{state.speed_mbps} Mbit/s in the snapshot before", heard)


def duplex_of(state: Port) -> str | None:
    """`full`, `half` or None. EtherLike-MIB and MAU-MIB must agree (RFC 3635); where they do not, nobody knows."""
    told = {state.duplex} if state.duplex in ("full", "half") else set()
    medium = MAU.get(state.mau_type or 0)
    if medium is not None:
        told.add("full" if medium.full else "half")
    return told.pop() if len(told) == 1 else None


def far_duplex(port: PortRef, picture: Picture) -> tuple[str, str] | None:
    """Duplex of the other end and who says so: the other switch itself, else the neighbour's LLDP."""
    there = far_port(port, picture)
    if there is not None:
        duplex = duplex_of(picture.ports[there])
        return (duplex, words(there)) if duplex else None
    rows = [n for n in picture.neighbours.get(port, ()) if n.mau_type in MAU and not n.repeats]
    if len(rows) != 1:  # two neighbours: something in between passes LLDP on, and neither is the other end
        return None
    medium = MAU[rows[0].mau_type or 0]
    if medium.speed_mbps != picture.ports[port].speed_mbps:
        return None  # the neighbour is not at the other end of this very wire
    return ("full" if medium.full else "half"), f"{rows[0].system_name or rows[0].chassis_id} (LLDP)"


def words(port: PortRef) -> str:
    """`sw-lab port 3`."""
    return f"{port.switch} port {port.port}"
