"""The ports of every switch by number, an aggregate standing for its members, and what is known of their state."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from reconcile.locate.identity import rows_of
from reconcile.locate.placement import PortRef

if TYPE_CHECKING:
    from reconcile.frames import Observed
    from reconcile.locate.arrays import Bools

NO_NAME = ""
"""Stands for ports that a switch may have and did not tell of."""

# IANAifType of interfaces that relay no frames between cords: loopback, tunnel, VLAN and routed interfaces, MPLS.
_NOT_RELAYING = frozenset({24, 131, 135, 136, 142, 150, 166})
_DOWN = frozenset({"down", "notPresent", "lowerLayerDown"})
_MANAGEMENT = re.compile(r"(mgmt|management|oobm|ma|me|fxp|em)[-_ ]?\d*(/\d+)*", re.IGNORECASE)
_BLOCKED = frozenset({"blocking", "broken"})
_FORWARDS = {"forwarding": True, **dict.fromkeys(_BLOCKED, False)}
# 'disabled' is also what a switch without spanning tree says; a port that listens or learns has just come up.


@dataclass(slots=True)
class PortBook:
    """Ports by [switch][number]. `number` also has members of aggregates, under the number of the aggregate.

    `may_lead`: the port is up or does not say, and can relay frames. `forwards`: by spanning tree; None where the
    switch does not tell.
    """

    switches: list[str]
    names: list[list[str]]
    may_lead: list[list[bool]]
    forwards: list[list[bool | None]]
    number: list[dict[str, int]]
    management_macs: set[int] = field(default_factory=set)

    @classmethod
    def of(cls, observed: Observed) -> PortBook:
        """All ports that the switches list; `add` takes those that only sightings name."""
        switches: list[str] = observed.switches["switch"].tolist()
        count = range(len(switches))
        book = cls(switches, [[] for _ in count], [[] for _ in count], [[] for _ in count], [{} for _ in count])
        place = {name: a for a, name in enumerate(switches)}
        aside: set[int] = set()
        front: set[int] = set()
        members: list[tuple[int, str, str, bool]] = []
        told = rows_of(observed.ports, "switch", "port", "if_type", "oper", "aggregate", "spanning_tree", "mac")
        for switch, port, kind, oper, aggregate, tree, mac in told:
            a = place[switch]
            is_up = oper not in _DOWN and kind not in _NOT_RELAYING
            if isinstance(mac, int):
                (aside if _MANAGEMENT.fullmatch(port) else front).add(mac)
            if aggregate and aggregate != port:
                members.append((a, port, aggregate, is_up))
                continue
            n = book.add(a, port, is_up and tree not in _BLOCKED and not _MANAGEMENT.fullmatch(port))
            book.forwards[a][n] = _FORWARDS.get(tree)
        for a, port, aggregate, is_up in members:
            n = book.add(a, aggregate, is_up)
            book.number[a][port] = n
        for a in range(len(switches)):
            if not book.names[a]:
                book.add(a, NO_NAME, True)
        book.management_macs = aside - front
        return book

    def add(self, a: int, name: str, may_lead: bool) -> int:
        """The number of a port, which is entered if it is new."""
        n = self.number[a].setdefault(name, len(self.names[a]))
        if n == len(self.names[a]):
            self.names[a].append(name)
            self.may_lead[a].append(may_lead)
            self.forwards[a].append(None)
        return n

    def find(self, port: PortRef, place: dict[str, int]) -> tuple[int, int] | None:
        """Switch and port numbers of a port of an asked switch; None for any other."""
        a = place.get(port.switch, -1)
        n = self.number[a].get(port.port, -1) if a >= 0 else -1
        return (a, n) if n >= 0 else None

    def number_of(self, port: PortRef) -> tuple[int, int]:
        """The inverse of `ref`."""
        a = self.switches.index(port.switch)
        return a, self.number[a][port.port]

    def ref(self, a: int, n: int) -> PortRef:
        """The port as people know it."""
        return PortRef(self.switches[a], self.names[a][n])

    def counts(self) -> list[int]:
        """How many ports each switch has, at least one."""
        return [max(1, len(names)) for names in self.names]

    def open_ports(self) -> Bools:
        """[switch, port]: something may be behind it."""
        table = np.zeros((len(self.names), max(self.counts(), default=1)), bool)
        for a, flags in enumerate(self.may_lead):
            table[a, : len(flags)] = flags
        return table
