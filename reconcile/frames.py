"""A snapshot as columns. Column names and dtypes of every frame stand here and nowhere else.

pandas traps met here once for all: VLANs and speeds are nullable integers (an outer join would turn them into
floats), text columns hold no NaN, and a missing port is the category code -1, never an empty key that would match
another empty key.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from collectors.names import mac_to_int
from collectors.sightings import SightingColumns, Texts, narrowest
from collectors.snapshot import CollectedSwitch, Snapshot, Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

PORT_COLUMNS = {
    "switch": "str",
    "port": "str",
    "if_index": "Int64",
    "if_type": "Int64",
    "mac": "Int64",  # 48-bit number, see collectors.names.mac_to_int
    "admin": "str",  # '' when the switch does not say
    "oper": "str",
    "speed_mbps": "Int64",
    "duplex": "str",
    "aggregate": "str",  # port name of the aggregate that this port is a member of, or ''
    "spanning_tree": "str",
    "pvid": "Int64",
}
SIGHTING_COLUMNS = {
    "switch": "category",
    "port": "category",  # missing where the switch named no port
    "vlan": "Int32",
    "mac": "int64",
    "status": "category",  # learned, self, mgmt, other, invalid
    "at": "float64",  # seconds after the snapshot started, NaN when not kept
}
NEIGHBOUR_COLUMNS = {
    "switch": "str",
    "port": "str",  # '' when it could not be matched
    "protocol": "str",
    "chassis_id": "str",
    "port_id": "str",
    "port_id_kind": "str",
    "port_description": "str",
    "system_name": "str",
    "capabilities": "str",  # enabled ones, blank-separated; '' when not told
}
SWITCH_COLUMNS = {
    "switch": "str",
    "chassis_id": "str",
    "lldp_name": "str",
    "system_name": "str",
    "aging_seconds": "Int64",
}
OWN_COLUMNS = {"switch": "str", "mac": "int64"}


@dataclass(frozen=True, slots=True)
class Coverage:
    """What was looked at. Every rule takes it, so that none can take silence for evidence."""

    failed: Mapping[str, str]
    partial: Mapping[tuple[str, Table], str]
    answered: frozenset[str]

    def gap(self, switch: str, table: Table) -> str:
        """Why nothing follows from an absence in this table of this switch; '' when it was read as a whole."""
        if switch in self.failed:
            return f"{switch} could not be asked: {self.failed[switch]}"
        if switch not in self.answered:
            return f"{switch} was not asked"
        return self.partial.get((switch, table), "")


@dataclass(frozen=True, slots=True)
class Observed:
    """One snapshot as frames; columns as the *_COLUMNS tables of this module say."""

    switches: pd.DataFrame
    ports: pd.DataFrame
    sightings: pd.DataFrame
    neighbours: pd.DataFrame
    own_macs: pd.DataFrame
    coverage: Coverage


def observe(snapshot: Snapshot) -> Observed:
    """The columns of a snapshot."""
    switches = snapshot.switches
    return Observed(
        switches=_frame(
            SWITCH_COLUMNS,
            ((s.name, s.chassis_id, s.lldp_name, s.system.name, s.aging_seconds) for s in switches),
        ),
        ports=_frame(PORT_COLUMNS, (row for s in switches for row in _port_rows(s))),
        sightings=_sightings(switches),
        neighbours=_frame(NEIGHBOUR_COLUMNS, (row for s in switches for row in _neighbour_rows(s))),
        own_macs=_frame(OWN_COLUMNS, ((s.name, mac_to_int(mac)) for s in switches for mac in s.own_macs)),
        coverage=coverage_of(snapshot),
    )


def coverage_of(snapshot: Snapshot) -> Coverage:
    """What of the snapshot can be trusted to be whole."""
    partial: dict[tuple[str, Table], str] = {}
    for switch in snapshot.switches:
        for table in Table:
            report = switch.report(table)
            if not report.whole:
                why = report.partial or report.reason or "no reason given"
                partial[switch.name, table] = f"{table} of {switch.name}: {report.state}, {why}"
    return Coverage(
        failed={f.name: f.reason for f in snapshot.failed},
        partial=partial,
        answered=frozenset(s.name for s in snapshot.switches),
    )


def _frame(columns: Mapping[str, str], rows: Iterable[tuple[object, ...]]) -> pd.DataFrame:
    frame = pd.DataFrame.from_records(list(rows), columns=list(columns))
    return frame.astype(dict(columns))


def _port_rows(switch: CollectedSwitch) -> Iterable[tuple[object, ...]]:
    for p in switch.ports:
        yield (
            switch.name,
            p.name,
            p.if_index,
            p.if_type,
            mac_to_int(p.mac) if p.mac else None,
            p.admin or "",
            p.oper or "",
            p.speed_mbps,
            p.duplex or "",
            p.aggregate or "",
            p.spanning_tree or "",
            p.pvid,
        )


def _neighbour_rows(switch: CollectedSwitch) -> Iterable[tuple[object, ...]]:
    for n in switch.neighbours:
        yield (
            switch.name,
            n.port or "",
            n.protocol,
            n.chassis_id,
            n.port_id,
            n.port_id_kind,
            n.port_description,
            n.system_name,
            " ".join(n.capabilities or ()),
        )


def _sightings(switches: list[CollectedSwitch]) -> pd.DataFrame:
    parts = [SightingColumns.of(switch.sightings) for switch in switches]
    rows = SightingColumns.joined(parts or [SightingColumns.of([])])
    owner = np.repeat(np.arange(len(parts), dtype=narrowest(len(parts))), [len(part) for part in parts])
    return pd.DataFrame(
        {
            "switch": _categories(Texts(owner, tuple(switch.name for switch in switches))),
            "port": _categories(rows.port),
            "vlan": pd.arrays.IntegerArray(rows.vlan, rows.vlan < 0),
            "mac": rows.mac,
            "status": _categories(rows.status),
            "at": rows.at,
        },
        copy=False,
    )


def _categories(texts: Texts) -> pd.Categorical[str]:
    return pd.Categorical.from_codes(texts.codes, pd.Index(texts.names, dtype="str"))
