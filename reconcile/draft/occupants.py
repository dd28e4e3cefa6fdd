"""Whose port it is: the one device at the end of a cord, and who is reached through it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from collectors.names import AddressKind, address_kind, parse_mac
from collectors.snapshot import Neighbour
from reconcile.draft.naming import host_name
from reconcile.draft.scene import Scene, Spot
from reconcile.locate.placement import Placement, PortRef
from reconcile.makers import is_guest, maker_of
from reconcile.patchmap.model import fold
from reconcile.patchmap.spelling import clean

MOST_BEHIND = 8
"""Devices behind one port that are written one by one: what a small unmanaged switch has sockets for. More of them are
behind a switch that was not asked, or an access point, and belong to that one."""

_MOST_TOLD = 4
_LONGEST_MODEL = 80
_PASSING = "locally administered addresses, which phones and laptops change as they please"

_KINDS = {"telephone": "phone", "wlanAccessPoint": "access point", "bridge": "switch", "repeater": "switch"}
"""Kind of device by the first capability of this list that a neighbour has (LLDP, IEEE 802.1AB table 8-4)."""


@dataclass(slots=True)
class Who:
    """One device as far as it is known. `key` is the same wherever the same device is heard."""

    key: str
    name: str = ""
    kind: str = ""
    macs: tuple[str, ...] = ()
    ips: tuple[str, ...] = ()
    vlans: tuple[int, ...] = ()
    notes: list[str] = field(default_factory=list)

    @property
    def maker(self) -> str:
        """Who made its network card."""
        return next(filter(None, map(maker_of, self.macs)), "")


@dataclass(slots=True)
class Occupants:
    """Who is on a spot: `front` has the cord, `behind` are reached through it. `left` are stations that get no row,
    and `why`. `fronts` has a device of its own for each member of an aggregate, where they tell of different ones."""

    front: Who
    behind: list[Who] = field(default_factory=list)
    left: list[Placement] = field(default_factory=list)
    why: str = _PASSING
    fronts: dict[PortRef, Who] = field(default_factory=dict)

    @property
    def carries(self) -> bool:
        """True where others are reached through the front."""
        return self.front.kind in CARRYING or bool(self.behind or self.left)


class Census:
    """Knows which addresses each neighbour may call its own: what is heard elsewhere, or claimed twice, is nobody's."""

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._claimed: dict[str, set[PortRef]] = defaultdict(set)
        for spot in scene.spots.values():
            for neighbour in _all(spot):
                for mac in _announced(neighbour):
                    self._claimed[mac].add(spot.group)
        self._heard = {*scene.located.placements, *scene.located.unplaced}
        self._heard |= {mac for switch in scene.snapshot.switches for mac in switch.own_macs}

    def at(self, spot: Spot) -> Occupants:
        """Who is on one spot that no switch of the site is on."""
        here = {p.mac: p for p in (*spot.sure, *spot.beyond)}
        adverts = self._adverts(spot, here)
        owned = {mac for who in adverts for mac in who.macs}
        lasting = [p for p in here.values() if p.mac not in owned and self.lasts(p.mac)]
        if len(adverts) == 1 and len(lasting) == 1 and not adverts[0].macs:
            adverts[0].macs, lasting = (lasting[0].mac,), []
            owned.add(adverts[0].macs[0])
        for who in adverts:
            self._describe(who, [here[mac] for mac in who.macs if mac in here])
        rest = [p for p in here.values() if p.mac not in owned]
        if adverts:
            return self._announced_front(spot, adverts, lasting, rest)
        return self._silent_front(spot, lasting, rest)

    def of(self, placement: Placement) -> Who:
        """A device of which nothing but a station is known."""
        who = Who(f"mac {placement.mac}", macs=(placement.mac,))
        self._describe(who, [placement])
        return who

    def lasts(self, mac: str) -> bool:
        return self._scene.passing or address_kind(mac) is AddressKind.DEVICE

    def _adverts(self, spot: Spot, here: dict[str, Placement]) -> list[Who]:
        """The neighbours of a spot, each once, whatever protocols and members tell of it."""
        found: dict[str, Who] = {}
        for neighbour in _all(spot):
            name = host_name(neighbour.system_name)
            said = _announced(neighbour)
            own = [mac for mac in said if mac in here]
            own = own or [m for m in said[:1] if m not in self._heard and len(self._claimed[m]) == 1 and self.lasts(m)]
            key = _identity(neighbour, spot, name)
            who = found.setdefault(key, Who(key))
            who.name = who.name or name
            who.kind = who.kind or next((k for c, k in _KINDS.items() if c in (neighbour.capabilities or ())), "")
            who.macs = tuple(dict.fromkeys((*who.macs, *own)))
            who.ips = tuple(dict.fromkeys((*who.ips, *neighbour.management_addresses)))
            model = " ".join(filter(None, (neighbour.maker, neighbour.model))) or neighbour.system_description
            if model and not who.notes:
                who.notes.append(f"calls itself {clean(model[:_LONGEST_MODEL])}")
        return list(found.values())

    def _describe(self, who: Who, stations: Iterable[Placement]) -> None:
        """Addresses, VLANs, and a name from a name server where it announced none."""
        arp = (ip for mac in who.macs for ip in self._scene.ips.get(mac, ()))
        who.ips = tuple(dict.fromkeys((*arp, *who.ips)))
        who.vlans = tuple(sorted({vlan for p in stations for vlan in p.vlans}))
        who.name = who.name or next(filter(None, (host_name(self._scene.names.get(ip, "")) for ip in who.ips)), "")

    def _announced_front(
        self, spot: Spot, adverts: list[Who], lasting: list[Placement], rest: list[Placement]
    ) -> Occupants:
        """Who has the cord, where somebody on it tells its name."""
        by_member = self._by_member(spot, adverts)
        if by_member:
            return Occupants(adverts[0], [], rest, "reached through one of several switches", by_member)
        carriers = [who for who in adverts if who.kind]
        others = _others(rest, lasting)
        if len(carriers) != 1 and (len(adverts) > 1 or lasting):
            return self._crowd(spot, [*adverts, *map(self.of, lasting)], others)
        front = carriers[0] if carriers else adverts[0]
        behind = [who for who in adverts if who is not front]
        match front.kind:
            case "phone" if len(behind) + len(lasting) <= MOST_BEHIND:
                return Occupants(front, [*behind, *map(self.of, lasting)], others)
            case "switch" if rest and 2 * sum(is_guest(p.mac) for p in rest) >= len(rest):
                front.kind = "hypervisor"
            case "switch":
                front.notes.append("a switch that was not asked (add it to toneout.toml), or a machine with guests")
        return Occupants(front, behind, rest, _WHY.get(front.kind, _PASSING))

    def _by_member(self, spot: Spot, adverts: list[Who]) -> dict[PortRef, Who]:
        """The neighbour of each member of an aggregate, where each has one and they differ."""
        by_key = {who.key: who for who in adverts}
        found = {
            member: {_identity(n, spot, host_name(n.system_name)) for n in told}
            for member, told in spot.neighbours.items()
        }
        if len(adverts) < 2 or any(len(keys) != 1 for keys in found.values()):
            return {}
        return {member: by_key[next(iter(keys))] for member, keys in found.items()}

    def _silent_front(self, spot: Spot, lasting: list[Placement], rest: list[Placement]) -> Occupants:
        """Nobody tells a name: who has the cord follows from the addresses alone, where it does."""
        hosts = [p for p in lasting if not is_guest(p.mac)]
        guests = [p for p in rest if is_guest(p.mac)]
        if guests and len(hosts) <= 1 and len(guests) >= len(rest) - 1:
            front = self.of(hosts[0]) if hosts else _nobody(spot, "only guests of a machine are heard, and not itself")
            front.kind = "hypervisor"
            return Occupants(front, [], guests, _WHY["hypervisor"])
        others = _others(rest, lasting)
        if len(lasting) > 1:
            return self._crowd(spot, [self.of(p) for p in lasting], others)
        if lasting:
            return Occupants(self.of(lasting[0]), [], others)
        return Occupants(_nobody(spot, "" if rest else "it has a link, and nobody was heard"), [], others)

    def _crowd(self, spot: Spot, behind: list[Who], left: list[Placement]) -> Occupants:
        """Several devices on one cord, and nobody says what joins them."""
        front = _nobody(spot, f"{len(behind)} devices share this port")
        if len(behind) <= MOST_BEHIND:
            front.notes.append("an unmanaged switch, a phone with a computer, or guests of one machine")
            return Occupants(front, behind, left)
        names = [who.name for who in behind if who.name]
        front.kind = "switch"
        front.notes.append("a switch that was not asked, or an access point")
        front.notes += [f"they call themselves {_some(names)}"] if names else []
        heard = (self._scene.located.placements.get(mac) for who in behind for mac in who.macs)
        return Occupants(front, [], [*left, *filter(None, heard)], _WHY["switch"])


CARRYING = ("phone", "access point", "hypervisor", "switch", "unmanaged switch")
"""Kinds of device that others are reached through."""

_WHY = {
    "access point": "clients of its radio",
    "hypervisor": "guests of one machine",
    "switch": "reached through a switch that was not asked",
}


def _others(rest: Iterable[Placement], lasting: Iterable[Placement]) -> list[Placement]:
    """Those who are not among the lasting ones, in order."""
    known = {p.mac for p in lasting}
    return [p for p in rest if p.mac not in known]


def _nobody(spot: Spot, words: str) -> Who:
    return Who(f"spot {spot.group}", notes=[words] if words else [])


def _some(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_TOLD} more" if len(names) > _MOST_TOLD else ""
    return ", ".join(names[:_MOST_TOLD]) + more


def stations_in_words(stations: Sequence[Placement], label: str) -> str:
    """`also heard: 00:11:22:33:44:55 (maker), ...`, the rest counted; '' for none."""
    told = [f"{p.mac} ({maker_of(p.mac) or 'maker not registered'})" for p in stations]
    return f"{label}: {_some(told)}" if told else ""


def _all(spot: Spot) -> Iterator[Neighbour]:
    for told in spot.neighbours.values():
        yield from told


def _announced(neighbour: Neighbour) -> list[str]:
    """Addresses that a neighbour gives as its own, that of its port first, which is the one that it sends from."""
    kinds = ((neighbour.port_id_kind, neighbour.port_id), (neighbour.chassis_id_kind, neighbour.chassis_id))
    macs = [parse_mac(text) for kind, text in kinds if kind in ("macAddress", "")]
    return list(dict.fromkeys(mac for mac in macs if mac and address_kind(mac) in _UNICAST))


_UNICAST = (AddressKind.DEVICE, AddressKind.LOCAL, AddressKind.CLUSTER)


def _identity(neighbour: Neighbour, spot: Spot, name: str) -> str:
    """The same for all that one device says on any port: by its chassis where that is an address, else with its name.

    A chassis called "eth0" is one of many, and telephones without an address all say 0.0.0.0.
    """
    chassis = parse_mac(neighbour.chassis_id)
    if chassis:
        return f"chassis {chassis}"
    if neighbour.chassis_id and name and neighbour.chassis_id_kind != "networkAddress":
        return f"chassis {neighbour.chassis_id[:255]} of {fold(name)}"
    return f"neighbour on {spot.group}: {name} {neighbour.chassis_id[:255]}"
