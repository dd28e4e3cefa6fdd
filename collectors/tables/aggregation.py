"""IEEE8023-LAG-MIB and ifStackTable (RFC 2863): which ports are members of which aggregate."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from collectors.snapshot import Port
from collectors.tables.mib import Answers

OBJECTS = ("dot3adAggPortAttachedAggID", "ifStackStatus")

_LAG = 161
"""IANAifType ieee8023adLag."""

_SOFTWARE = {24, 131, 135, 136, 142, 150}
"""Types that are never a member: loopback, tunnel, VLAN, routed VLAN, IP forwarding, MPLS tunnel."""


def aggregates(answers: Answers, ports: Collection[Port]) -> dict[str, str]:
    """Aggregate by member, both port names.

    What is stacked on what tells it too, and tells more besides (VLANs over ports): there the upper interface must
    be an aggregate by its type, or by its name where agents type it as propVirtual.
    """
    by_index = {port.if_index: port for port in ports if port.if_index is not None}
    found: dict[str, str] = {}
    for higher, lower in _attached(answers) + _stacked(answers, by_index):
        upper, member = by_index.get(higher), by_index.get(lower)
        if upper and member and upper is not member:
            found.setdefault(member.name, upper.name)
    return found


def _attached(answers: Answers) -> list[tuple[int, int]]:
    """(aggregate, member) of the standard's table. 0 is none; some agents attach a port to itself."""
    rows = answers.numbers("dot3adAggPortAttachedAggID").items()
    return [(aggregate, index[0]) for index, aggregate in rows if aggregate and len(index) == 1]


def _stacked(answers: Answers, by_index: Mapping[int, Port]) -> list[tuple[int, int]]:
    pairs = [index for index in answers["ifStackStatus"] if len(index) == 2 and 0 not in index]
    return [
        (higher, lower)
        for higher, lower in pairs
        if higher in by_index and lower in by_index
        if is_aggregate(by_index[higher]) and by_index[lower].if_type not in _SOFTWARE
    ]


_NAMES = ("port-channel", "portchannel", "eth-trunk", "bridge-aggregation", "route-aggregation", "aggregateport")
"""Beginnings of aggregates' names, for agents that type them as something else."""


def is_aggregate(port: Port) -> bool:
    """True for a link aggregation port, by its type, else by its name."""
    name = port.name.lower()
    return port.if_type == _LAG or (name.startswith(_NAMES) and "." not in name)
