"""The hatchery of Saltmarsh Field Station: every channel leads where the map says, and hardly one is as good as it
should be. One channel per limit, with figures that can be checked by hand.

`python -m tests.worlds.cable_limits` writes fixtures/sites/cable-limits again: the map, and two snapshots a day
apart, for counters tell something only by their difference.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from collectors.snapshot import (
    CollectedSwitch,
    Neighbour,
    Port,
    Power,
    PowerGroup,
    Sighting,
    Snapshot,
    System,
    Table,
    TableReport,
    TableState,
)
from reconcile.patchmap.model import Cord, Device, FixedCable, Outlet, Panel, PatchMap, Switch
from tests.worlds.files import SITES, write_site
from tests.worlds.maps import csv_files
from tests.worlds.model import TAKEN, end

HATCHERY, NURSERY = "hatchery", "nursery"
DAY = timedelta(hours=24)
UPTIME = 30 * 24 * 3600 * 100  # 1/100 s: both agents ran for 30 days when the first snapshot was taken
READ = TableReport(state=TableState.READ, rows=1, source="snmp 2c")
GIGABIT, FAST, TEN, SHORT_REACH = 30, 16, 54, 36  # dot3MauType: 1000T, 100TX, 10G-T full duplex, 10G-SR


class Run(NamedTuple):
    """One device on its channel: port, cord, jack, fixed cable, outlet, cord at the device. Lengths in metres."""

    device: str
    kind: str
    mac: str
    port: str
    jack: int
    fixed_m: float
    cords_m: tuple[float, float]
    speed: int = 1000
    mau: int = GIGABIT
    fixed: dict[str, Any] = {}  # noqa: RUF012  # a NamedTuple's default is never changed
    cord: dict[str, Any] = {}  # noqa: RUF012  # likewise
    couplings: dict[str, Any] = {}  # noqa: RUF012  # likewise
    watts: float = 0.0
    note: str = ""


SIX = {"category": "6", "shield": "U/UTP"}
SIX_A = {"category": "6A", "shield": "F/UTP"}
EIGHT = {"category": "8.1", "shield": "S/FTP"}

RUNS = (
    Run("hh-feeder-1", "feeder", "00:30:de:10:00:01", "Gi1/0/1", 1, 42, (1.5, 3), note="as it should be"),
    Run("hh-feeder-2", "feeder", "00:30:de:10:00:02", "Gi1/0/2", 2, 96, (1, 2), note="the far end of the raceway"),
    Run("hh-scope-1", "microscope computer", "00:30:de:10:00:03", "Gi1/0/3", 3, 88, (2, 10), note="long thin cords"),
    Run("hh-ws-1", "workstation", "00:30:de:10:00:04", "Gi1/0/4", 4, 35, (1, 2), cord={"category": "5E"},
        note="somebody's old cord"),
    Run("hh-ws-2", "workstation", "00:30:de:10:00:05", "Gi1/0/5", 5, 38, (1, 2), cord={"shield": "U/UTP"}),
    Run("hh-heat-1", "heat pump", "00:30:de:10:00:06", "Gi1/0/6", 6, 86, (1, 2), fixed={"temperature_c": 40.0, **SIX},
        cord=SIX, couplings=SIX, note="along the boiler room"),
    Run("hh-pump-1", "pump controller", "00:30:de:10:00:07", "Gi1/0/7", 7, 27, (1, 2), speed=100, mau=15,
        fixed={"gauge_awg": 28}, note="its speed and duplex are forced; a long cord was pulled in for it"),
    Run("hh-cam-1", "camera", "00:30:de:10:00:09", "Gi1/0/9", 9, 31, (1, 2), watts=12.1, note="pan and tilt, heated"),
    Run("hh-cam-2", "camera", "00:30:de:10:00:10", "Gi1/0/10", 10, 33, (1, 2), watts=9.8, note="pan and tilt, heated"),
    Run("ap-hatch", "access point", "00:30:de:10:00:11", "Gi1/0/11", 11, 29, (1, 2), watts=10.4),
    Run("hh-ws-3", "workstation", "00:30:de:10:00:12", "Gi1/0/12", 12, 36, (1, 2), fixed=SIX, couplings=SIX,
        cord={"category": "6", "shield": "F/UTP"}, note="screened cords were at hand"),
    Run("hh-bench-1", "workstation", "00:30:de:10:00:13", "Gi1/0/13", 16, 40, (1, 24), cord={"gauge_awg": 24},
        note="across the room"),
    Run("hh-store-1", "storage", "00:30:de:10:00:21", "Te1/1/1", 13, 42, (1, 2), speed=10000, mau=TEN, fixed=SIX,
        cord=SIX, couplings=SIX),
    Run("hh-store-2", "storage", "00:30:de:10:00:22", "Te1/1/2", 14, 59, (1, 2), speed=10000, mau=TEN, fixed=SIX,
        cord=SIX, couplings=SIX),
    Run("hh-flow-1", "flow cytometer", "00:30:de:10:00:23", "Te1/1/3", 15, 23.5, (3, 5), speed=10000, mau=TEN,
        fixed=EIGHT, cord=EIGHT, couplings=EIGHT),
)  # fmt: skip
LINKS = (  # label of the fixed cable, ports at both ends, jack, metres, mau, speed, fixed, cords
    ("N1", "Gi1/0/8", "Gi1/0/8", 1, 54.0, FAST, 100, SIX_A, SIX_A),
    ("N2", "Te1/1/4", "Te1/1/4", 2, 120.0, SHORT_REACH, 10000, {"category": "OM2"}, {"category": "OM2"}),
)
FED = Run("ns-cam-1", "camera", "00:30:de:10:00:31", "Gi1/0/1", 0, 0, (2, 0), watts=25.4, note="straight at the switch")
"""In the nursery, without a panel: its switch has 30 W to give and warns at 80 %."""
_PANELS = {"6A": "PP-A", "6": "PP-C", "8.1": "PP-E"}
DAMAGED = "Gi1/0/3"


def documented() -> PatchMap:
    """The hatchery as its map has it, and as it is."""
    ports = tuple(_names())
    site = PatchMap(site="Saltmarsh hatchery")
    for name, room, rack in (("hatch-1", HATCHERY, "H1"), ("nurs-1", NURSERY, "N1")):
        site.switches.append(Switch(name=name, room=room, rack=rack, unit="20", ports=ports))
    jacks = tuple(str(n) for n in range(1, 17))
    for unit, row in zip((24, 23, 22), (SIX_A, SIX, EIGHT), strict=True):
        panel = _PANELS[row["category"]]
        site.panels.append(Panel(name=panel, jacks=jacks, room=HATCHERY, rack="H1", unit=str(unit), **row))
    for run in RUNS:
        _install(site, run)
    for panel, room, rack in (("PP-F", HATCHERY, "H1"), ("PP-N", NURSERY, "N1")):
        jacks = tuple("1234")
        site.panels.append(Panel(name=panel, jacks=jacks, room=room, rack=rack, unit="18", note="to the other room"))
    for label, a, b, jack, metres, _, _, fixed, cords in LINKS:
        crossed = {"crossed": True} if fixed["category"].startswith("OM") else {}
        site.fixed_cables.append(
            FixedCable(label=label, a=end(f"PP-F:{jack}"), b=end(f"PP-N:{jack}"), length_m=metres, **fixed, **crossed)
        )
        for side, switch, port, panel in (("A", "hatch-1", a, "PP-F"), ("B", "nurs-1", b, "PP-N")):
            more = crossed or {"gauge_awg": 24}
            row = {"length_m": 1.0, **cords, **more}
            site.cords.append(Cord(label=f"{label}{side}", a=end(f"{switch}:{port}"), b=end(f"{panel}:{jack}"), **row))
    _spare_fibre(site)
    site.cords.append(
        Cord(
            label="NC1", a=end(f"nurs-1:{FED.port}"), b=end(FED.device), length_m=FED.cords_m[0], gauge_awg=24, **SIX_A
        )
    )
    site.devices.append(Device(name=FED.device, kind=FED.kind, macs=(FED.mac,), room=NURSERY, note=FED.note))
    return site


def _install(site: PatchMap, run: Run) -> None:
    outlet = f"HH-{run.jack:02}"
    couplings = {**SIX_A, **run.couplings}
    panel = _PANELS[couplings["category"]]
    site.outlets.append(Outlet(name=outlet, room=HATCHERY, **couplings))
    fixed = {**SIX_A, **run.fixed}
    site.fixed_cables.append(
        FixedCable(
            label=f"F{run.jack:02}", a=end(f"{panel}:{run.jack}"), b=end(f"{outlet}:1"), length_m=run.fixed_m, **fixed
        )
    )
    cord = {**SIX_A, "gauge_awg": 26, **run.cord}
    near, far = run.cords_m
    site.cords.append(
        Cord(label=f"H{run.jack:02}", a=end(f"hatch-1:{run.port}"), b=end(f"{panel}:{run.jack}"), length_m=near, **cord)
    )
    site.cords.append(
        Cord(label=f"D{run.jack:02}", a=end(f"{outlet}:1"), b=end(run.device), length_m=far, **{**cord, **_device(run)})
    )
    carries = run.kind == "access point"
    site.devices.append(
        Device(name=run.device, kind=run.kind, macs=(run.mac,), room=HATCHERY, carries=carries, note=run.note)
    )


def _device(run: Run) -> dict[str, Any]:
    """The odd part is the cord at the switch: the one at the device is as the rest of the channel."""
    return {} if run.fixed else SIX_A


def _spare_fibre(site: PatchMap) -> None:
    """Kept ready, not lit: its two crossings would bring transmitter to transmitter, and its grades do not fit."""
    site.fixed_cables.append(
        FixedCable(label="N3", a=end("PP-F:3"), b=end("PP-N:3"), length_m=120, category="OM1", crossed=True)
    )
    site.cords.append(
        Cord(label="N3B", a=end("nurs-1:Te1/1/3"), b=end("PP-N:3"), length_m=1, category="OM3", crossed=True)
    )


def before() -> Snapshot:
    """The evening before."""
    return _snapshot(TAKEN - DAY, UPTIME, fcs=12, late=0, octets=40_000_000_000)


def now() -> Snapshot:
    """Tonight: 2 GB more on the damaged channel, 3400 of its frames broken; 57 late collisions at the pump, and 19
    frames there that end within an octet."""
    return _snapshot(TAKEN, UPTIME + 24 * 3600 * 100, fcs=3412, late=57, octets=42_000_000_000)


def _snapshot(at: datetime, uptime: int, *, fcs: int, late: int, octets: int) -> Snapshot:
    hatch = _switch("hatch-1", "d0:43:1e:70:00:00", at, uptime)
    hatch.ports = list(_hatchery_ports(fcs, late, octets))
    hatch.sightings = [Sighting(run.mac, 10, run.port, "learned", "dot1q") for run in RUNS]
    hatch.sightings.append(Sighting(FED.mac, 10, "Te1/1/4", "learned", "dot1q"))
    hatch.neighbours = [_switch_neighbour("nurs-1", a, b) for _, a, b, *_ in LINKS]
    hatch.neighbours.append(
        Neighbour(port="Gi1/0/7", chassis_id=RUNS[6].mac, chassis_id_kind="macAddress", port_id="eth0",
                  port_id_kind="local", system_name="pump", capabilities=["stationOnly"], mau_type=FAST)
    )  # fmt: skip
    drawn = round(sum(run.watts for run in RUNS))
    hatch.power_groups = [PowerGroup(group=1, budget_watts=65, used_watts=drawn, state="on", warn_percent=80)]
    nursery = _switch("nurs-1", "d0:43:1e:71:00:00", at, uptime)
    lit = {b: (mau, speed) for _, _, b, _, _, mau, speed, _, _ in LINKS}
    nursery.ports = [_port(name, *lit.get(name, (0, 0))) for name in _names()]
    nursery.ports[0] = _port(FED.port, FED.mau, FED.speed).model_copy(update={"power": _power(FED.watts)})
    nursery.power_groups = [PowerGroup(group=1, budget_watts=30, used_watts=25.4, state="on", warn_percent=80)]
    nursery.neighbours = [_switch_neighbour("hatch-1", b, a) for _, a, b, *_ in LINKS]
    nursery.sightings = [Sighting(run.mac, 10, "Te1/1/4", "learned", "dot1q") for run in RUNS]
    nursery.sightings.append(Sighting(FED.mac, 10, FED.port, "learned", "dot1q"))
    return Snapshot(
        site="Saltmarsh hatchery", made_by="tests.worlds.cable_limits", started=at, finished=at + timedelta(seconds=3),
        switches=[hatch, nursery],
    )  # fmt: skip


def _names() -> Iterator[str]:
    yield from (f"Gi1/0/{n}" for n in range(1, 17))
    yield from (f"Te1/1/{n}" for n in range(1, 5))


def _hatchery_ports(fcs: int, late: int, octets: int) -> Iterator[Port]:
    runs = {run.port: run for run in RUNS}
    links = {a: (mau, speed) for _, a, _, _, _, mau, speed, _, _ in LINKS}
    for name in _names():
        run = runs.get(name)
        port = _port(name, *((run.mau, run.speed) if run else links.get(name, (0, 0))))
        port.counters["in_octets"] = octets if port.oper == "up" else 0
        if name == DAMAGED:
            port.counters["fcs_errors"] = fcs
        if run and run.mau == 15:
            port.counters["late_collisions"] = late
            port.counters["alignment_errors"] = late // 3
            port.duplex = "half"
        if name.startswith("Gi"):
            port.power = _power(run.watts if run else 0.0)
        yield port


def _power(watts: float) -> Power:
    if not watts:
        return Power(enabled=True, state="searching", priority="low", group=1)
    return Power(enabled=True, state="deliveringPower", power_class=4, priority="low", watts=watts, group=1)


def _port(name: str, mau: int, speed: int) -> Port:
    up = speed > 0
    return Port(
        name=name, if_index=10000 + int(name.rpartition("/")[2]) + (100 if name.startswith("Te") else 0), if_type=6,
        descr=name, admin="up", oper="up" if up else "down", speed_mbps=speed or None,
        duplex="full" if up else "unknown", last_change_ticks=4_320_000, connector=True, pvid=10,
        counters={"in_octets": 0, "fcs_errors": 0, "alignment_errors": 0, "late_collisions": 0},
        mau_type=mau or None, auto_negotiation=True,
    )  # fmt: skip


def _switch(name: str, mac: str, at: datetime, uptime: int) -> CollectedSwitch:
    return CollectedSwitch(
        name=name, address="127.0.0.1", started=at, seconds=2.0,
        system=System(descr="an invented switch", name=name, uptime_ticks=uptime), chassis_id=mac, lldp_name=name,
        own_macs=[mac], aging_seconds=300, tables=dict.fromkeys(Table, READ),
    )  # fmt: skip


def _switch_neighbour(peer: str, here: str, there: str) -> Neighbour:
    mac = "d0:43:1e:70:00:00" if peer == "hatch-1" else "d0:43:1e:71:00:00"
    return Neighbour(
        port=here, chassis_id=mac, chassis_id_kind="macAddress", port_id=there, port_id_kind="interfaceName",
        system_name=peer, capabilities=["bridge"],
    )  # fmt: skip


TOML = """\
# The hatchery of Saltmarsh Field Station: invented, and full of channels that are not as good as they should be.
# Try: toneout limits, toneout limits --list, toneout spare, toneout cords
[site]
name = "Saltmarsh hatchery"

[map]
form = "tables"
path = "map"

# A site may set any limit, with its reason:
# [limits."fixed cable length"]
# value = 85
# reason = "it is hot above the tanks"

[cords]
spare_percent = 10
colours = { link = "red", camera = "green", "access point" = "purple", other = "grey" }

[labels]
cord = "{here} > {there}"
cable = "{label} {here} / {there}"
"""


def files() -> dict[str, str]:
    """The whole site folder, path to text."""
    found = {"toneout.toml": TOML}
    found |= {f"map/{name}": text for name, text in csv_files(documented()).items()}
    for name, snapshot in (("previous", before()), ("latest", now())):
        found[f"snapshots/{name}.json"] = snapshot.model_dump_json(indent=1, exclude_none=True) + "\n"
    return found


if __name__ == "__main__":
    write_site(SITES / "cable-limits", files())
