"""From everything that a switch answered to its row of the snapshot. Pure: the same answers give the same row."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from collectors.access import SwitchAccess
from collectors.names import AddressKind, address_kind, mac_from_octets, parse_mac
from collectors.snapshot import CollectedSwitch, Port, Sighting, Table
from collectors.tables import (
    addresses,
    aggregation,
    bridge,
    cdp,
    ethernet,
    hardware,
    interfaces,
    lldp,
    power,
    spanning_tree,
)  # fmt: skip
from collectors.tables.local_ports import LocalPorts
from collectors.tables.mib import Answers
from collectors.tables.oddities import oddities
from collectors.tables.readings import Readings
from collectors.tables.reports import reports
from collectors.tables.text import text


def assemble(access: SwitchAccess, started: datetime, want: frozenset[Table], readings: Readings) -> CollectedSwitch:
    """The switch as its answers tell it, with a report on every wanted table."""
    answers = readings.answers
    found = interfaces.interfaces(answers)
    base = bridge.bridge_ports(answers, found.names)
    vlans = bridge.vlans(answers)
    local = LocalPorts(found.ports, base, answers)
    neighbours = cdp.without_copies(lldp.neighbours(answers, local), cdp.neighbours(answers, found.names))
    read_by = readings.read_by(Table.NEIGHBOURS)
    switch = CollectedSwitch(
        name=access.name,
        address=access.address,
        started=started,
        seconds=round(readings.seconds, 3),
        system=interfaces.system(answers),
        chassis_id=lldp.chassis_id(answers),
        lldp_name=text(answers.octet_string("lldpLocSysName")),
        ports=_with_details(found.ports, answers, base),
        vlans=dict(sorted(vlans.names.items())),
        sightings=_sightings(readings, base, vlans, found.names),
        neighbours=[row.model_copy(update={"at": read_by}) for row in neighbours],
        addresses=addresses.addresses(answers, found.names),
        hardware=hardware.hardware(answers),
        power_groups=power.groups(answers),
        aging_seconds=answers.number("dot1dTpAgingTime"),
        topology_changes=answers.number("dot1dStpTopChanges"),
        topology_change_ticks=answers.number("dot1dStpTimeSinceTopologyChange"),
    )
    switch.own_macs = _own_macs(answers, switch)
    switch.tables = reports(readings, want, switch)
    switch.oddities = [*oddities(answers, switch, base, vlans), *readings.notes]
    return switch


def _sightings(
    readings: Readings, base: bridge.BridgePorts, vlans: bridge.Vlans, names: dict[int, str]
) -> list[Sighting]:
    """Of the usual context, or of each VLAN's own where the switch keeps a bridge for each."""
    if readings.per_vlan:
        found = [
            row
            for vlan, answers in readings.per_vlan.items()
            for row in bridge.plain_sightings(answers, bridge.bridge_ports(answers, names).or_else(base), vlan)
        ]
    else:
        found = bridge.sightings(readings.answers, base, vlans)
    at = readings.read_by(Table.FORWARDING)
    return [row._replace(at=at) for row in found]


def _with_details(ports: list[Port], answers: Answers, base: bridge.BridgePorts) -> list[Port]:
    """Ports with what the tables besides IF-MIB tell of them."""
    by_index = ethernet.ethernet(answers)
    pvids = bridge.pvids(answers, base)
    aggregates = aggregation.aggregates(answers, ports)
    states = spanning_tree.port_states(answers, base)
    powers = power.power(answers, power.PortNames(answers, ports, base))
    detailed = []
    for port in ports:
        told: dict[str, Any] = dict(by_index.get(port.if_index or 0, {}))
        told["counters"] = port.counters | told.get("counters", {})
        told |= {
            "pvid": pvids.get(port.name),
            "aggregate": aggregates.get(port.name),
            "spanning_tree": states.get(port.name),
            "power": powers.get(port.name),
        }
        detailed.append(port.model_copy(update=told))
    return detailed


def _own_macs(answers: Answers, switch: CollectedSwitch) -> list[str]:
    """Every address that is the switch itself: bridge, chassis, interfaces, and what it says of its own table.

    Virtual gateways are left out: they are whichever router is active.
    """
    own = {mac_from_octets(answers.octet_string("dot1dBaseBridgeAddress")), parse_mac(switch.chassis_id)}
    own |= {port.mac for port in switch.ports} | {row.mac for row in switch.sightings if row.status == "self"}
    return sorted(_real(own))


def _real(macs: Iterable[str | None]) -> set[str]:
    return {mac for mac in macs if mac and mac != _BLANKS and address_kind(mac) in _OWN_KINDS}


_OWN_KINDS = {AddressKind.DEVICE, AddressKind.LOCAL, AddressKind.CLUSTER}

_BLANKS = "20:20:20:20:20:20"
"""Six blanks, which some agents give for an address they do not have."""
