"""What became of each table, and whether it is the whole truth."""

from __future__ import annotations

from collectors.snapshot import CollectedSwitch, Table, TableReport, TableState
from collectors.tables.interfaces import ETHERNET
from collectors.tables.mib import Answers
from collectors.tables.readings import Readings
from collectors.tables.text import many

_WITNESSES: dict[Table, tuple[str, ...]] = {
    Table.BRIDGE_PORTS: ("dot1dBaseBridgeAddress", "dot1dBaseNumPorts"),
    Table.VLANS: ("dot1qPvid",),
    Table.FORWARDING: (
        "dot1dBaseBridgeAddress", "dot1dBaseNumPorts", "dot1dBasePortIfIndex", "dot1dTpAgingTime",
        "ieee8021BridgeBasePortIfIndex",
    ),
    Table.LLDP_LOCAL: ("lldpLocChassisId", "lldpLocPortId"),
    Table.NEIGHBOURS: ("lldpLocChassisId", "lldpLocPortId", "lldpStatsRemTablesInserts"),
    Table.AGGREGATION: ("dot3adAggPortAttachedAggID", "ifStackStatus"),
    Table.SPANNING_TREE: ("dot1dStpTopChanges", "dot1dStpTimeSinceTopologyChange"),
    Table.HARDWARE: ("entPhysicalClass",),
}  # fmt: skip
"""Objects whose presence shows that a table without rows is served and empty."""

_MIBS: dict[Table, str] = {
    Table.SYSTEM: "SNMPv2-MIB",
    Table.INTERFACES: "IF-MIB",
    Table.BRIDGE_PORTS: "BRIDGE-MIB",
    Table.VLANS: "Q-BRIDGE-MIB",
    Table.FORWARDING: "BRIDGE-MIB and Q-BRIDGE-MIB",
    Table.LLDP_LOCAL: "LLDP-MIB",
    Table.NEIGHBOURS: "LLDP-MIB",
    Table.ETHERNET: "EtherLike-MIB and MAU-MIB",
    Table.POWER: "POWER-ETHERNET-MIB",
    Table.ADDRESSES: "IP-MIB",
    Table.AGGREGATION: "IEEE8023-LAG-MIB",
    Table.SPANNING_TREE: "BRIDGE-MIB",
    Table.HARDWARE: "ENTITY-MIB",
}

_WORST_FIRST = (TableState.REFUSED, TableState.TIMED_OUT, TableState.CUT_SHORT)


def reports(readings: Readings, want: frozenset[Table], switch: CollectedSwitch) -> dict[Table, TableReport]:
    """A report on every wanted table, in the order of `Table`."""
    rows = _rows(readings.answers, switch)
    return {table: _report(table, rows[table], readings, switch) for table in Table if table in want}


def _rows(answers: Answers, switch: CollectedSwitch) -> dict[Table, int]:
    ports = switch.ports
    return {
        Table.SYSTEM: int(answers.serves("sysDescr", "sysObjectID", "sysUpTime", "sysName")),
        Table.INTERFACES: len(ports),
        Table.BRIDGE_PORTS: len(answers["dot1dBasePortIfIndex"]) or len(answers["ieee8021BridgeBasePortIfIndex"]),
        Table.VLANS: len(switch.vlans),
        Table.FORWARDING: len(switch.sightings),
        Table.LLDP_LOCAL: len(answers["lldpLocPortId"]) or int(bool(switch.chassis_id or switch.lldp_name)),
        Table.NEIGHBOURS: len(switch.neighbours),
        Table.ETHERNET: sum(port.duplex is not None or port.mau_type is not None for port in ports),
        Table.POWER: sum(port.power is not None for port in ports) + len(switch.power_groups),
        Table.ADDRESSES: len(switch.addresses),
        Table.AGGREGATION: sum(port.aggregate is not None for port in ports),
        Table.SPANNING_TREE: sum(port.spanning_tree is not None for port in ports),
        Table.HARDWARE: len(switch.hardware),
    }


def _report(table: Table, rows: int, readings: Readings, switch: CollectedSwitch) -> TableReport:
    outcomes = readings.outcomes.get(table, [])
    failed = [outcome for outcome in outcomes if outcome.state is not TableState.READ]
    if failed:
        state = min((outcome.state for outcome in failed), key=_WORST_FIRST.index)
        reason = "; ".join(dict.fromkeys(outcome.reason for outcome in failed))
    elif rows:
        state, reason = TableState.READ, ""
    elif readings.answers.serves(*_WITNESSES.get(table, ())):
        state, reason = TableState.EMPTY, ""
    else:
        state = TableState.NOT_SERVED
        reason = f"no rows of {_MIBS[table]}: not served, or hidden by the view of this access"
    return TableReport(
        state=state,
        rows=rows,
        reason=reason,
        partial=_partial(table, rows, readings, switch),
        source=readings.source,
        seconds=round(max((o.ended for o in outcomes), default=0) - min((o.begun for o in outcomes), default=0), 3),
    )


def _partial(table: Table, rows: int, readings: Readings, switch: CollectedSwitch) -> str:
    """Why a table is known not to be the whole truth, though nothing went wrong in reading it."""
    if table is Table.FORWARDING:
        return _partial_forwarding(rows, readings, switch)
    answers = readings.answers
    if table is Table.NEIGHBOURS:
        if drops := answers.number("lldpStatsRemTablesDrops"):
            return f"the table was full: {many(drops, 'neighbour')} not stored (lldpStatsRemTablesDrops)"
        if rows and not answers.serves(*_WITNESSES[table], "lldpRemChassisId", "lldpV2RemChassisId"):
            return "only CDP is served: who speaks LLDP alone is not seen"
    return ""


def _partial_forwarding(rows: int, readings: Readings, switch: CollectedSwitch) -> str:
    if readings.per_vlan_problem:
        return readings.per_vlan_problem
    if discards := readings.answers.number("dot1dTpLearnedEntryDiscards"):
        return f"the table was full: {many(discards, 'address', 'addresses')} not stored (dot1dTpLearnedEntryDiscards)"
    up = sum(port.oper == "up" and port.if_type in ETHERNET for port in switch.ports)
    if not rows and up and readings.answers.serves(*_WITNESSES[Table.FORWARDING]):
        return f"no rows, with link on {many(up, 'port')}: the switch may keep them where no standard table shows them"
    return ""
