"""Maps and snapshots written by hand, a line each, for the rules."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from collectors.snapshot import (
    CollectedSwitch,
    FailedSwitch,
    Neighbour,
    Port,
    Sighting,
    Snapshot,
    Table,
    TableReport,
    TableState,
)
from reconcile.findings import Finding, Kind, Verdict
from reconcile.patchmap.model import Cord, Device, End, PatchMap, Switch
from reconcile.pipeline import reconcile
from reconcile.result import Result

TAKEN = datetime(2026, 3, 14, 21, 40, tzinfo=UTC)
READ = TableReport(state=TableState.READ)


def end(text: str) -> End:
    """`NAME:POSITION`."""
    name, _, position = text.partition(":")
    return End(name, position)


def site(
    devices: Iterable[Device] = (), cords: Iterable[tuple[str, str]] = (), switches: str = "sw-a sw-b"
) -> PatchMap:
    """A map of some switches, devices and cords; cords are given by their two ends."""
    return PatchMap(
        site="Saltmarsh Field Station",
        switches=[Switch(name=name) for name in switches.split()],
        devices=list(devices),
        cords=[Cord(label=f"C-{n}", a=end(a), b=end(b)) for n, (a, b) in enumerate(cords, 1)],
    )


def device(name: str, at: str = "", *macs: str, carries: bool = False) -> Device:
    """A device plugged in at a port or jack."""
    return Device(name=name, macs=macs, at=end(at) if at else None, carries=carries)


def port(name: str, oper: str = "up", **more: object) -> Port:
    """An Ethernet port."""
    return Port.model_validate({"name": name, "if_type": 6, "admin": "up", "oper": oper, "speed_mbps": 1000} | more)


def heard(*rows: tuple[str, str]) -> list[Sighting]:
    """Learned rows: (mac, port)."""
    return [Sighting(mac=mac, vlan=10, port=name) for mac, name in rows]


def answer(
    name: str,
    ports: Iterable[Port],
    sightings: Iterable[Sighting] = (),
    neighbours: Iterable[Neighbour] = (),
    own: Iterable[str] = (),
    tables: dict[Table, TableReport] | None = None,
) -> CollectedSwitch:
    """What one switch said; every table was read as a whole unless told otherwise."""
    return CollectedSwitch(
        name=name,
        started=TAKEN,
        chassis_id=next(iter(own), ""),
        own_macs=list(own),
        ports=list(ports),
        sightings=list(sightings),
        neighbours=list(neighbours),
        tables=dict.fromkeys(Table, READ) | (tables or {}),
    )


def snapshot(*switches: CollectedSwitch, failed: Iterable[str] = ()) -> Snapshot:
    """A snapshot of these switches, and of others that did not answer."""
    rows = [FailedSwitch(name=n, started=TAKEN, reason="did not answer", kind="no answer") for n in failed]
    return Snapshot(started=TAKEN, finished=TAKEN, switches=list(switches), failed=rows)


def run(patch_map: PatchMap, *switches: CollectedSwitch, failed: Iterable[str] = ()) -> Result:
    """The whole flow."""
    return reconcile(patch_map, snapshot(*switches, failed=failed))


def kinds(result: Result) -> list[Kind]:
    """What was found, sorted."""
    return sorted(finding.kind for finding in result.findings)


def only(result: Result) -> Finding:
    """The one finding."""
    assert len(result.findings) == 1, [f.seen for f in result.findings]
    return result.findings[0]


def verdict_of(result: Result, channel: str) -> Verdict:
    """The verdict on the channel of a port or device."""
    return next(v.verdict for v in result.verdicts if v.channel == channel)
