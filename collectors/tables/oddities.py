"""What was odd in a switch's answers and how it was met, in words for people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from collectors.snapshot import CollectedSwitch
from collectors.tables.bridge import BridgePorts, Vlans, fdb_ids, pvids_by_if_index, torn_rows
from collectors.tables.interfaces import ETHERNET, IN_BITS_FROM
from collectors.tables.mib import Answers
from collectors.tables.text import many

_CROWD = 8
"""Neighbours at one port from which on something between must hand their frames on."""


def oddities(answers: Answers, switch: CollectedSwitch, base: BridgePorts, vlans: Vlans) -> list[str]:
    """One clause each; none for a switch that keeps to its MIBs."""
    return [*_interfaces(answers, switch), *_bridge(answers, switch, base, vlans), *_neighbours(switch)]


def _interfaces(answers: Answers, switch: CollectedSwitch) -> Iterator[str]:
    if not switch.ports:
        yield "serves no interface table: nothing can be said about its ports"
    doubled = [port.name for port in switch.ports if port.name.endswith(f"#{port.if_index}")]
    if doubled:
        yield f"{many(len(doubled), 'interface')} without a name of its own: called {', '.join(doubled[:3])}"
    if switch.ports and not answers.serves("ifName"):
        yield "serves no ifXTable: names are from ifDescr, no alias, 32-bit counters"
    if any(speed >= IN_BITS_FROM for speed in answers.numbers("ifHighSpeed").values()):
        yield "gives ifHighSpeed in bit/s: divided by a million"
    unknown = sum(port.oper == "up" and port.speed_mbps is None and port.if_type in ETHERNET for port in switch.ports)
    if unknown:
        yield f"{many(unknown, 'port')} up without saying the speed"


def _bridge(answers: Answers, switch: CollectedSwitch, base: BridgePorts, vlans: Vlans) -> Iterator[str]:
    lost = sum(row.port is None and row.status == "learned" for row in switch.sightings)
    if lost:
        yield f"{many(lost, 'address', 'addresses')} at bridge ports that lead to no interface: port unknown"
    nowhere = sum(if_index not in base.names for if_index in base.if_index.values())
    if nowhere:
        yield f"{many(nowhere, 'bridge port')} without an interface in the interface table"
    if torn := torn_rows(answers):
        yield f"{many(torn, 'incomplete row')} in the forwarding table: it changed while it was read"
    unmapped = sum(vlans.of(fdb) is None for fdb in fdb_ids(answers))
    if unmapped:
        yield f"{many(unmapped, 'forwarding database')} of no known VLAN: VLAN unknown"
    if pvids_by_if_index(answers, base):
        yield "keys the untagged VLANs by ifIndex instead of bridge port"


def _neighbours(switch: CollectedSwitch) -> Iterator[str]:
    lost = sum(neighbour.port is None for neighbour in switch.neighbours)
    if lost:
        yield f"{many(lost, 'neighbour')} at local ports that lead to no interface: port unknown"
    repeated = sum(neighbour.repeats for neighbour in switch.neighbours)
    if repeated:
        yield f"{many(repeated, 'LLDP row')} copied from CDP about neighbours that LLDP tells of anyway"
    counts = Counter(neighbour.port for neighbour in switch.neighbours)
    crowded = [port for port, count in counts.items() if port and count > _CROWD]
    if crowded:
        yield f"more than {_CROWD} neighbours at {', '.join(crowded[:3])}: a switch between hands their frames on"
