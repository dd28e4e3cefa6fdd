"""Which interfaces are sockets that a cord can be plugged into, and which one a documented port name means."""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from collectors.names import port_key
from collectors.snapshot import Port

# IANAifType: ethernetCsmacd and the types that agents give to real Ethernet sockets instead of it (62, 69 and 117
# are obsolete for 6, RFC 2863 times; some media converters say 2 and 56).
_SOCKET_TYPES = frozenset({2, 6, 56, 62, 69, 117})

# Agents type VLAN, trunk and other software interfaces as Ethernet too: the name decides. Common practice.
_SOFTWARE = re.compile(
    r"(vlan|vlanif|vl|loopback|lo|inloopback|null|nu|tunnel|tu|capwap|ca|wlan|dot11radio|gre|ipip|vtep|vxlan|irb|bvi|vsi|"
    r"lsi|cbp|pip|pp|demux|esi|rbeb|jsrv|cpu|bridge|br|docker|veth|virbr|tap|dummy|ifb|"
    r"bond|team|lag|trk|po|port-channel|portchannel|eth-trunk|ae|bundle-ether|route-aggregation|bridge-aggregation|"
    r"stack|stackport|stacksub|register|console|aux)(?![a-z])",
    re.IGNORECASE,
)
_WIRELESS = re.compile(r"(wlan|wl|ath|ra)[-_ ]?\w*\d", re.IGNORECASE)
_LAST_NUMBER = re.compile(r"(\d+)$")


def is_socket(port: Port) -> bool:
    """True for an interface that a cord can be plugged into, management sockets included.

    ifConnectorPresent takes no part: agents give it wrongly in both directions. An interface whose type is not told
    counts by its name alone.
    """
    if port.if_type is not None and port.if_type not in _SOCKET_TYPES:
        return False
    if port.if_type == 56 and port.descr.upper().startswith("FC"):
        return False  # a Fibre Channel switch: no Ethernet socket
    return not (_SOFTWARE.match(port.name) or _WIRELESS.match(port.name) or "." in port.name.rpartition("/")[2])


@dataclass(frozen=True, slots=True)
class Match:
    """The outcome of looking for a documented port: the port's own name, or None with the nearest names."""

    port: str | None
    nearest: tuple[str, ...] = ()


class PortBook:
    """Finds the port of one switch that people mean by a name: exact, by case, by abbreviation, by number alone."""

    def __init__(self, ports: Iterable[Port]) -> None:
        self._ports = {p.name: p for p in ports}
        self._sockets = [p for p in self._ports.values() if is_socket(p)]
        self._keys = _index((k, p.name) for p in self._ports.values() for k in _spellings(p))
        self._numbers = _index((n.group(1), p.name) for p in self._sockets if (n := _LAST_NUMBER.search(p.name)))

    def find(self, documented: str) -> Match:
        """The port called `documented`. A spelling that fits several ports finds none, and names them."""
        name = documented.strip()
        if name in self._ports:
            return Match(name)
        for index, key in ((self._keys, name.casefold()), (self._keys, port_key(name)), (self._numbers, name)):
            hits = index.get(key, [])
            if len(hits) == 1:
                return Match(hits[0])
            if hits:
                return Match(None, tuple(hits))
        socket_names = [p.name for p in self._sockets]
        return Match(None, tuple(difflib.get_close_matches(name, socket_names, n=3, cutoff=0.5)))


def _spellings(port: Port) -> set[str]:
    said = {port.name, port.descr} - {""}
    return {s.strip().casefold() for s in said} | {port_key(s) for s in said}


def _index(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    index: dict[str, list[str]] = defaultdict(list)
    for key, name in pairs:
        if name not in index[key]:
            index[key].append(name)
    return index
