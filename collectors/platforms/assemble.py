"""Many answers of one switch, each under its own port names, as one `CollectedSwitch`."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

from collectors.names import AddressKind, address_kind, port_key
from collectors.platforms.contract import Platform, Rows, Seen
from collectors.platforms.wording import as_if_name
from collectors.snapshot import CollectedSwitch, Port, Sighting, System


class PortBook:
    """Every port of one switch, and the one place where the names of one port meet.

    The name of the answer that came first is kept, in the form of the platform's ifName. A name that differs from
    it in spelling leads to it while that is certain: its key (`names.port_key`) belongs to one port only. A name that
    leads nowhere is a port of which no more is known: the switch named it. One answer names each port in one way, so
    two names in one answer are two ports, however alike.
    """

    def __init__(self, port_words: Mapping[str, str]) -> None:
        self._port_words = port_words
        self._ports: dict[str, Port] = {}
        self._by_key: dict[str, list[str]] = {}
        self._found: dict[str, str] = {}
        self._meant: dict[str, str] = {}

    @property
    def ports(self) -> list[Port]:
        """All ports, in the order in which the switch told of them."""
        return list(self._ports.values())

    def begin(self) -> None:
        """The names that follow are those of another answer."""
        self._meant.clear()

    def named(self, said: str) -> str:
        """The Port.name that `said` stands for."""
        known = self._found.get(said)
        if known is None:
            known = self._search(said)
            if known is None or self._meant.get(known, said) != said:
                known = self._add(said)
            self._found[said] = known
        self._meant.setdefault(known, said)
        return known

    def take(self, port: Port) -> None:
        """Fills in what an earlier answer left open about this port."""
        name = self.named(port.name)
        known = self._ports[name]
        for fact in Port.model_fields:
            told = getattr(port, fact)
            if fact == "counters":
                known.counters.update(told)
            elif fact != "name" and told not in (None, "") and _open(getattr(known, fact), told):
                setattr(known, fact, self.named(told) if fact == "aggregate" else told)

    def _search(self, said: str) -> str | None:
        if said in self._ports:
            return said
        alike = self._by_key.get(port_key(said), [])
        return alike[0] if len(alike) == 1 else None

    def _add(self, said: str) -> str:
        name = as_if_name(said, self._port_words)
        if name not in self._ports:
            self._ports[name] = Port(name=name)
            self._by_key.setdefault(port_key(name), []).append(name)
        return name


def _open(known: object, told: object) -> bool:
    """True where nothing is known yet, or a text that a narrow column had cut."""
    return known in (None, "") or (isinstance(known, str) and isinstance(told, str) and told.startswith(known))


class Told(NamedTuple):
    """One answer: its rows, the command that brought them, and when (seconds after the switch was first asked)."""

    rows: Rows
    command: str = ""
    at: float | None = None


def assemble(platform: Platform, answers: list[Told], name: str, started: datetime) -> CollectedSwitch:
    """All answers of a switch as what the switch said. Where two tell the same fact, the first one counts."""
    book = PortBook(platform.port_words)
    switch = CollectedSwitch(name=name, started=started)
    for rows, _, _ in answers:
        book.begin()
        for port in rows.ports:
            book.take(port)
        switch.vlans.update({vlan: label for vlan, label in rows.vlans.items() if not switch.vlans.get(vlan)})
    by_vlan_name = _unique({label: vlan for vlan, label in reversed(switch.vlans.items())}, switch.vlans)
    for rows, command, at in answers:
        book.begin()
        _take_facts(switch, rows)
        switch.sightings = [*switch.sightings, *_sightings(rows.seen, book, by_vlan_name, command, at)]
        for neighbour in rows.neighbours:
            local = book.named(neighbour.port) if neighbour.port else None
            switch.neighbours.append(neighbour.model_copy(update={"port": local, "at": at}))
        for address in rows.addresses:
            local = book.named(address.port) if address.port else None
            switch.addresses.append(address.model_copy(update={"port": local}))
    switch.ports = book.ports
    switch.own_macs = _own_macs(switch, answers)
    return switch


def _unique(by_label: dict[str, int], vlans: dict[int, str]) -> dict[str, int]:
    labels = list(vlans.values())
    return {label: vlan for label, vlan in by_label.items() if labels.count(label) == 1}


def _take_facts(switch: CollectedSwitch, rows: Rows) -> None:
    if rows.system:
        known, told = switch.system.model_dump(), rows.system.model_dump()
        switch.system = System.model_validate({fact: known[fact] or told[fact] for fact in known})
    switch.chassis_id = switch.chassis_id or rows.chassis_id
    switch.lldp_name = switch.lldp_name or rows.lldp_name
    switch.hardware += rows.hardware
    switch.power_groups += rows.power_groups
    switch.aging_seconds = switch.aging_seconds if rows.aging_seconds is None else rows.aging_seconds
    switch.oddities += [oddity for oddity in dict.fromkeys(rows.oddities) if oddity not in switch.oddities]


def _sightings(
    seen: list[Seen], book: PortBook, by_vlan_name: dict[str, int], command: str, at: float | None
) -> list[Sighting]:
    """Each station once per VLAN and port, however often line cards or table sections repeat it."""
    found: dict[tuple[str, int | None, str | None], Sighting] = {}
    for one in seen:
        vlan = one.vlan if isinstance(one.vlan, int) else by_vlan_name.get(one.vlan or "")
        port = book.named(one.port) if one.port else None
        found.setdefault((one.mac, vlan, port), Sighting(one.mac, vlan, port, one.status, command, at))
    return list(found.values())


def _own_macs(switch: CollectedSwitch, answers: list[Told]) -> list[str]:
    """Addresses that are the switch itself: of its ports, its chassis, and what its table calls its own."""
    said = [address for told in answers for address in told.rows.own_macs]
    said += [port.mac for port in switch.ports if port.mac]
    said += [sighting.mac for sighting in switch.sightings if sighting.status == "self"]
    said += [switch.chassis_id] if switch.chassis_id.count(":") == 5 else []
    virtual = (AddressKind.GROUP, AddressKind.VIRTUAL_GATEWAY, AddressKind.NONE)
    return sorted({address for address in said if address_kind(address) not in virtual})
