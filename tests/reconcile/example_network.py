"""What the two switches of the example site (`toneout init`) would say, written by hand."""

from __future__ import annotations

from datetime import UTC, datetime

from collectors.snapshot import (
    CollectedSwitch,
    Neighbour,
    Port,
    Sighting,
    Snapshot,
    System,
    Table,
    TableReport,
    TableState,
)

TAKEN = datetime(2026, 3, 14, 21, 40, tzinfo=UTC)
MICROSCOPE = "00:00:5e:00:53:01"
PHONE = "00:00:5e:00:53:21"
PRINTER = "00:00:5e:00:53:31"
SERVER = "00:00:5e:00:53:41"
LATHE = "00:00:5e:00:53:51"
STRANGER = "00:0c:29:5e:00:07"

DOCUMENTED = {
    "SW-1": {"Gi1/0/1": MICROSCOPE, "Gi1/0/2": PHONE, "Gi1/0/3": PRINTER, "Gi1/0/5": SERVER},
    "SW-2": {"Gi0/1": LATHE},
}
UPLINKS = {"SW-1": "Gi1/0/23", "SW-2": "Gi0/8"}
PORTS = {"SW-1": [f"Gi1/0/{n}" for n in range(1, 25)], "SW-2": [f"Gi0/{n}" for n in range(1, 9)]}
UP_TICKS = 30 * 24 * 3600 * 100  # both agents have run for 30 days, in 1/100 s


def snapshot(attached: dict[str, dict[str, str]] | None = None, lldp: bool = True, far_name: str = "") -> Snapshot:
    """Both switches, each with the stations of `attached` (switch -> port -> address; as documented by default).

    Every station is also heard on the other switch's uplink. `far_name` is what SW-2 calls itself, if not SW-2.
    """
    homes = attached or DOCUMENTED
    switches = [_switch(name, homes, lldp, far_name) for name in ("SW-1", "SW-2")]
    return Snapshot(site="Example", started=TAKEN, finished=TAKEN, switches=switches)


def _switch(name: str, homes: dict[str, dict[str, str]], lldp: bool, far_name: str) -> CollectedSwitch:
    other = "SW-2" if name == "SW-1" else "SW-1"
    home = homes.get(name, {})
    up = {*home, UPLINKS[name]}
    sightings = [Sighting(mac, 1, port) for port, mac in home.items()]
    sightings += [Sighting(mac, 1, UPLINKS[name]) for mac in homes.get(other, {}).values()]
    neighbour = Neighbour(
        port=UPLINKS[name],
        system_name=(far_name if other == "SW-2" else "") or other,
        port_id=UPLINKS[other],
        port_id_kind="interfaceName",
        chassis_id="02:00:00:00:00:0" + other[-1],
        chassis_id_kind="macAddress",
        capabilities=["bridge"],
    )
    tables = (Table.SYSTEM, Table.INTERFACES, Table.BRIDGE_PORTS, Table.FORWARDING, Table.LLDP_LOCAL, Table.NEIGHBOURS)
    read = {table: TableReport(state=TableState.READ, rows=1) for table in tables}
    if not lldp:
        read[Table.NEIGHBOURS] = TableReport(state=TableState.NOT_SERVED, reason="no LLDP-MIB")
    return CollectedSwitch(
        name=name,
        started=TAKEN,
        system=System(name=(far_name if name == "SW-2" else "") or name, uptime_ticks=UP_TICKS),
        chassis_id="02:00:00:00:00:0" + name[-1],
        lldp_name=name,
        own_macs=["02:00:00:00:00:0" + name[-1]],
        ports=[_port(port, port in up) for port in PORTS[name]],
        sightings=sightings,
        neighbours=[neighbour] if lldp else [],
        tables=read,
        aging_seconds=300,
    )


def _port(name: str, up: bool) -> Port:
    return Port(
        name=name,
        if_type=6,
        admin="up",
        oper="up" if up else "down",
        speed_mbps=1000 if up else None,
        duplex="full" if up else None,
        pvid=1,
        last_change_ticks=UP_TICKS - 2 * 3600 * 100 if up else 0,  # links came up two hours before the snapshot
    )
