"""What was there before: links between switches, and everybody on the other ports that had link."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from collectors.names import parse_mac
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import Device
from reconcile.swap.look import Look, voice_of
from reconcile.swap.model import Weight


@dataclass(frozen=True)
class LinkThere:
    """A link between switches, as one of its ports sees it. `there` where the port on the other side is known."""

    here: PortRef
    there: PortRef | None
    peer: str

    @property
    def subject(self) -> str:
        """The link, for people."""
        return f"link {self.here} - {self.there or self.peer or 'a switch'}"

    @property
    def key(self) -> frozenset[PortRef]:
        """The same for both of its ends, where both are known."""
        return frozenset({self.here, self.there} if self.there else {self.here})


@dataclass(frozen=True)
class ThingThere:
    """A device, or strangers, on one port. `voices` are what it was heard by; none for something mute."""

    subject: str
    at: PortRef
    weight: Weight
    voices: frozenset[str] = frozenset()

    @property
    def macs(self) -> tuple[str, ...]:
        """Its station addresses."""
        return tuple(sorted(voice for voice in self.voices if parse_mac(voice)))


def links_in(seen: Look) -> list[LinkThere]:
    """Every port that faces another switch, spare cords of rings included; members of an aggregate one by one."""
    found = []
    for ports in seen.sockets.values():
        for port in ports:
            uplink = seen.uplink(port)
            if uplink is not None and seen.link_up(port):
                there = uplink.there
                if there is not None and there in seen.picture.members_of:
                    peer, there = there.switch, None  # which member it is on is not known
                else:
                    peer = there.switch if there else uplink.peer
                found.append(LinkThere(port, there, peer))
    return found


def things_in(seen: Look) -> list[ThingThere]:
    """Everybody on ports that face no switch. Guests behind a device that carries others are its affair, not ours:
    clients of an access point come and go."""
    found: list[ThingThere] = []
    for ports in seen.sockets.values():
        for port in ports:
            if seen.link_up(port) and seen.uplink(port) is None:
                found += _on_port(port, seen)
    return found


def _on_port(port: PortRef, seen: Look) -> Iterator[ThingThere]:
    picture = seen.picture
    documented = picture.devices_at(port)
    heard: dict[str, set[str]] = defaultdict(set)
    strangers: set[str] = set()
    for placement in picture.stations(port):
        device = picture.device_of.get(placement.mac)
        if device:
            heard[device.name].add(placement.mac)
        else:
            strangers.add(placement.mac)
    for row in picture.neighbours.get(port, ()):
        voice = voice_of(row.chassis_id, row.system_name)
        said = [parse_mac(row.chassis_id), parse_mac(row.port_id)]
        device = next((picture.device_of[mac] for mac in said if mac and mac in picture.device_of), None)
        if device:
            heard[device.name].add(voice)
        elif voice and not documented:
            strangers.add(voice)
    by_name = {device.name: device for device in (*picture.device_of.values(), *documented)}
    carriers = [by_name[name] for name in heard if by_name[name].carries]
    mute_carrier = next((d for d in documented if d.carries and not d.macs), None)
    for name, voices in sorted(heard.items(), key=lambda row: (not by_name[row[0]].carries, row[0])):
        yield ThingThere(name, port, _weight(by_name[name]), frozenset(voices))
    if strangers and mute_carrier:
        yield ThingThere(mute_carrier.name, port, Weight.CARRIER, frozenset(strangers))
    elif strangers and not carriers:
        weight = Weight.CARRIER if len(strangers) > 1 else Weight.SINGLE
        yield ThingThere(_strangers(strangers), port, weight, frozenset(strangers))
    elif not heard and not strangers:
        name = documented[0].name if documented else "something that keeps silent"
        yield ThingThere(name, port, _weight(documented[0]) if documented else Weight.SINGLE)


def _weight(device: Device) -> Weight:
    return Weight.CARRIER if device.carries else Weight.SINGLE


def _strangers(voices: set[str]) -> str:
    first = min(voices)
    return f"undocumented {first}" if len(voices) == 1 else f"{len(voices)} undocumented stations, {first} among them"
