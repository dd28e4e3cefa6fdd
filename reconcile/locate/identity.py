"""Who a neighbour is: what it says of itself, matched to the switches of the site and to their ports.

A neighbour names itself by a chassis id, a port id and a name, in any of several forms (IEEE 802.1AB clause 8.5).
Names are cut by some agents (16 characters is common, from recordings) and reused by people, so that an identity
is accepted only where it points to exactly one switch.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import pandas as pd

from collectors.names import int_to_mac, parse_mac, port_key
from reconcile.locate.placement import PortRef

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from reconcile.frames import Observed

CUT_AT = 16
"""Characters that some agents keep of a neighbour's text (recordings of data-centre switches)."""

_RELAYS = ("bridge", "switch", "c-vlan", "s-vlan", "cvlan", "svlan")  # capability words of equipment that joins wires
_CARRIERS = {"wlan": "an access point", "telephone": "a telephone", "phone": "a telephone"}  # others speak through them
_TERMINALS = ("telephone", "phone", "wlan", "station", "host")  # ... and of equipment that ends one, bridge or not


class Advert(NamedTuple):
    """One neighbour of one port, as far as it could be recognised.

    `peer` is the site's name of the neighbour ('' when it is none of the site's); `there` its port, where both are
    known; `relays` is true for a bridge that is not a telephone, an access point or a host; `own` are the addresses
    that it names itself by; `carries` says what it is where others speak through it, and it is no bridge; `unsaid` is
    true for one that does not tell its capabilities, as IEEE 802.1AB leaves to it.
    """

    here: PortRef
    peer: str
    there: PortRef | None
    says: str  # what it calls itself
    protocol: str
    relays: bool
    own: frozenset[str] = frozenset()
    carries: str = ""
    unsaid: bool = False


@dataclass(slots=True)
class Directory:
    """The identities of all switches of the site, asked or not."""

    by_mac: dict[str, str] = field(default_factory=dict)
    by_name: dict[str, str] = field(default_factory=dict)
    by_host: dict[str, str] = field(default_factory=dict)  # names without their domain
    ports: dict[str, _Ports] = field(default_factory=dict)

    @classmethod
    def of(cls, observed: Observed) -> Directory:
        """Collects addresses, chassis ids, names and ports; an identity that two switches share is nobody's."""
        macs: dict[str, set[str]] = defaultdict(set)
        names: dict[str, set[str]] = defaultdict(set)
        for switch, number in rows_of(observed.own_macs, "switch", "mac"):
            macs[int_to_mac(number)].add(switch)
        for switch, *said in rows_of(observed.switches, "switch", "lldp_name", "system_name", "chassis_id"):
            for text in (switch, *said):
                names[_folded(text)].add(switch)
            if mac := parse_mac(said[-1]):
                macs[mac].add(switch)
        for failed in observed.coverage.failed:
            names[_folded(failed)].add(failed)
        nobody = {"", _folded("00:00:00:00:00:00")}
        return cls(
            by_mac={m: s.pop() for m, s in macs.items() if len(s) == 1 and m not in nobody},
            by_name=(by_name := {n: s.pop() for n, s in names.items() if len(s) == 1 and n not in nobody}),
            by_host=_unique((_host(n), s) for n, s in by_name.items()),
            ports={switch: _Ports.of(rows) for switch, rows in _ports_told(observed).items()},
        )

    def switch(self, *said: str) -> str:
        """The switch that calls itself by one of these texts, the first text that points to exactly one; else ''."""
        for text in said:
            mac = parse_mac(text)
            found = self.by_mac.get(mac, "") if mac else ""
            found = found or self._named(_folded(text))
            if found:
                return found
        return ""

    def _named(self, name: str) -> str:
        if not name:
            return ""
        if exact := self.by_name.get(name):
            return exact
        host = self.by_host.get(_host(name.partition("(")[0]))  # CDP: a serial number in brackets follows the name
        if host and parse_mac(name) is None:
            return host
        if len(name) == CUT_AT:
            begun = {s for n, s in self.by_name.items() if n.startswith(name)}
            return begun.pop() if len(begun) == 1 else ""
        return ""

    def port(self, switch: str, port_id: str, kind: str, description: str) -> PortRef | None:
        """The port of `switch` that a neighbour's port id and description mean, its aggregate where it has one."""
        ports = self.ports.get(switch)
        name = ports.find(port_id, kind, description) if ports else ""
        return PortRef(switch, ports.logical.get(name, name)) if ports and name else None


@dataclass(slots=True)
class _Ports:
    """The ports of one switch by everything that a neighbour may call them; a spelling of two ports is left out."""

    spelled: dict[str, str]
    numbered: dict[str, str]
    by_mac: dict[str, str]
    logical: dict[str, str]  # member -> its aggregate

    @classmethod
    def of(cls, told: list[tuple[Any, ...]]) -> _Ports:
        return cls(
            spelled=_unique((s, name) for name, *_ in told for s in {_folded(name), port_key(name)}),
            numbered=_unique((str(index), name) for name, index, *_ in told if index is not pd.NA),
            by_mac=_unique((int_to_mac(mac), name) for name, _, mac, _ in told if mac is not pd.NA),
            logical={name: aggregate for name, *_, aggregate in told if aggregate not in ("", name)},
        )

    def find(self, port_id: str, kind: str, description: str) -> str:
        mac = parse_mac(port_id)
        if mac and (kind in ("macAddress", "") or ":" in port_id):
            return self.by_mac.get(mac, "") or self._spelling(description)
        if kind == "local" and port_id.strip().isdigit():
            return self.numbered.get(port_id.strip(), "") or self._spelling(port_id) or self._spelling(description)
        return self._spelling(port_id) or self._spelling(description) or self.numbered.get(port_id.strip(), "")

    def _spelling(self, text: str) -> str:
        folded = _folded(text)
        if not folded:
            return ""
        exact = self.spelled.get(folded) or self.spelled.get(port_key(text))
        if exact or len(folded) != CUT_AT:
            return exact or ""
        begun = {n for s, n in self.spelled.items() if s.startswith(folded)}
        return begun.pop() if len(begun) == 1 else ""


def _ports_told(observed: Observed) -> dict[str, list[tuple[Any, ...]]]:
    """Name, ifIndex, address and aggregate of every port, by switch."""
    told: dict[str, list[tuple[Any, ...]]] = {}
    for switch, *row in rows_of(observed.ports, "switch", "port", "if_index", "mac", "aggregate"):
        told.setdefault(switch, []).append(tuple(row))
    return told


def recognise(observed: Observed, directory: Directory) -> list[Advert]:
    """Every neighbour of a known port, recognised where possible, members of an aggregate as the aggregate."""
    adverts: dict[tuple[PortRef, str, str], Advert] = {}
    columns = ("switch", "port", "protocol", "chassis_id", "port_id", "port_id_kind", "port_description")
    told = rows_of(observed.neighbours, *columns, "system_name", "capabilities")
    for switch, port, protocol, chassis, port_id, kind, description, name, capabilities in told:
        if not port:
            continue
        ports = directory.ports.get(switch)
        here = PortRef(switch, ports.logical.get(port, port) if ports else port)
        peer = directory.switch(chassis, port_id if kind == "macAddress" else "", name)
        there = directory.port(peer, port_id, kind, description) if peer else None
        own = frozenset(mac for text in (chassis, port_id) if (mac := parse_mac(text)))
        relays, carries, unsaid = _relays(capabilities), _carries(capabilities), not capabilities
        advert = Advert(here, peer, there, name or chassis, protocol, relays, own, carries, unsaid)
        key = (here, peer, "" if peer else advert.says)
        known = adverts.get(key)
        if known is None or (known.there is None and there is not None):
            adverts[key] = advert
    return list(adverts.values())


def logical_ports(directory: Directory) -> Mapping[PortRef, PortRef]:
    """Every member of an aggregate with the aggregate that stands for it."""
    return {
        PortRef(switch, member): PortRef(switch, aggregate)
        for switch, ports in directory.ports.items()
        for member, aggregate in ports.logical.items()
    }


def rows_of(frame: pd.DataFrame, *columns: str) -> Iterator[tuple[Any, ...]]:
    """The rows of some columns as plain Python values."""
    return zip(*(frame[c].tolist() for c in columns), strict=True)


def _relays(capabilities: str) -> bool:
    words = capabilities.casefold().split()
    relay = any(w.startswith(_RELAYS) or w.endswith(_RELAYS) for w in words)
    return relay and not any(w.startswith(_TERMINALS) for w in words)


def _carries(capabilities: str) -> str:
    words = capabilities.casefold().split()
    return next((what for begun, what in _CARRIERS.items() if any(w.startswith(begun) for w in words)), "")


def _host(name: str) -> str:
    return name.partition(".")[0]


def _folded(text: str) -> str:
    return " ".join(text.replace("\0", " ").casefold().split())


def _unique(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    found: dict[str, set[str]] = defaultdict(set)
    for key, value in pairs:
        found[key].add(value)
    return {k: v.pop() for k, v in found.items() if len(v) == 1}
