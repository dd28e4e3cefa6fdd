"""Which of our ports a neighbour table means: agents number and name the ends of their own links as they please."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable

from collectors.names import port_key
from collectors.snapshot import Port
from collectors.tables.bridge import BridgePorts
from collectors.tables.mib import Answers
from collectors.tables.text import mac, text

_MAC_ADDRESS = 3
"""LldpPortIdSubtype macAddress."""


class LocalPorts:
    """Finds the port behind a local port number or name; only what leads to one port counts."""

    def __init__(self, ports: Iterable[Port], bridge: BridgePorts, answers: Answers) -> None:
        ports = list(ports)
        self._bridge = bridge
        self._names = {port.if_index: port.name for port in ports if port.if_index is not None}
        self._spoken = {port.descr: port.name for port in ports if port.descr}
        self._spoken |= {port.name: port.name for port in ports}
        self._keys = _single((port_key(spoken), name) for spoken, name in self._spoken.items())
        self._macs = _single((port.mac, port.name) for port in ports if port.mac)
        self._ids = answers.octets("lldpLocPortId")
        self._kinds = answers.numbers("lldpLocPortIdSubtype")
        self._descrs = answers.octets("lldpLocPortDesc")

    def name_of_if_index(self, number: int) -> str | None:
        """The port of an ifIndex."""
        return self._names.get(number)

    def name_of_text(self, spoken: str) -> str | None:
        """The port of a name in any of its usual spellings."""
        return self._spoken.get(spoken) or self._keys.get(port_key(spoken)) if spoken else None

    def name_of_lldp(self, number: int) -> str | None:
        """The port of an LldpPortNumber: by what the local port table says of it, else by the number itself.

        802.1AB makes it the bridge port on a bridge and the ifIndex elsewhere; recorded besides: neither, colliding
        with the ifIndex of VLAN interfaces. So the name goes before the number.
        """
        row = (number,)
        port_id, descr = self._ids.get(row, b""), self._descrs.get(row, b"")
        spoken = text(port_id)
        ways: tuple[Callable[[], str | None], ...] = (
            lambda: self.name_of_text(spoken),
            lambda: self.name_of_text(text(descr)),
            lambda: self._macs.get(mac(port_id) or "") if self._kinds.get(row) == _MAC_ADDRESS else None,
            lambda: self._names.get(int(spoken)) if spoken.isdecimal() and len(spoken) < 11 else None,
            lambda: self._bridge.name(number) if number in self._bridge.if_index else None,
            lambda: self._names.get(number),
        )
        return next((name for way in ways if (name := way())), None)


def _single(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """The pairs whose first part leads to one second part only."""
    distinct = set(pairs)
    times = Counter(first for first, _ in distinct)
    return {first: second for first, second in distinct if times[first] == 1}
