"""Saltmarsh Field Station: a small marine research station as its map has it, and eight changes nobody wrote down.

`python -m tests.worlds.saltmarsh` writes fixtures/sites/saltmarsh again. Makers' prefixes are those of the IEEE
registry; names, rooms and serial numbers are invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from tests.worlds import changes
from tests.worlds.build import Builder
from tests.worlds.dialects import NUMBERED, PLAIN_ETHERNET, SLOTTED, STACKED
from tests.worlds.equipment import (
    access_point,
    camera,
    host,
    hypervisor,
    mute,
    phone,
    router,
    unmanaged_switch,
)
from tests.worlds.expected import Expectation, Found, drift
from tests.worlds.files import SITES, site_files, write_site
from tests.worlds.model import Box, World

COMMS, WET, IMAGING, SHED, BUNK = "comms room", "wet lab", "imaging room", "boat shed", "bunkhouse"
LAB, VOICE, BUILDING, GUEST, SERVERS, MANAGEMENT = 10, 20, 30, 40, 50, 99
VLANS = {
    1: "default",
    LAB: "lab",
    VOICE: "voice",
    BUILDING: "building",
    GUEST: "guest",
    SERVERS: "servers",
    MANAGEMENT: "management",
}


class Run(NamedTuple):
    """One device at an outlet: switch port, cord, panel jack (and the fixed cable behind it), outlet, own lead."""

    box: Box
    kind: str
    port: str
    jack: str
    cord: str
    cord_m: float
    colour: str = "grey"
    owner: str = ""
    carries: bool = False
    note: str = ""


def documented() -> World:
    """The station as its map has it."""
    site = Builder("Saltmarsh Field Station")
    _switches(site)
    _panels_and_outlets(site)
    _links_between_switches(site)
    _comms_room(site)
    for run in (*_wet_lab(), *_imaging_room(), *_bunkhouse(), *_boat_shed()):
        _install(site, run)
    _behind_phones(site)
    _bench_instruments(site)
    # Patched through and kept ready; the rest of the spare outlets ends at its panel.
    site.cord("P112", "acc-1:Gi1/0/12", "PP-A:13", **_cord(1.0, "white"), note="kept live for visitors")
    site.cord("P217", "acc-2:17", "PP-B:7", **_cord(1.5, "white"), note="kept live for visitors")
    return site.build()


def drifted() -> World:
    """The station as it is tonight."""
    world = documented()
    world = changes.replug(world, "IM-03:1", "WL-07:1")  # im-ws-2 was carried over to the wet lab
    world = changes.cross(world, "PP-A:3", "PP-A:4")  # tank controller and label printer
    world = changes.unplug(world, "BS-02:2")  # the tide gauge logger went to sea
    world = changes.shut(world, "acc-2:13")  # the television
    world = changes.new_address(world, "im-scope-cam", "00:30:53:2e:71:c4")  # a new camera head
    world = changes.add_box(world, host("raspberry", "dc:a6:32:9e:04:5b"), "BH-04:1")
    world = changes.add_box(world, mute("converter", speed=100), "shed-1:ge-0/0/8")
    return changes.replug(world, "core-1:Ethernet3", "core-1:Ethernet6")  # the uplink of acc-2


def expected() -> Expectation:
    """What a report on `drifted` has to say."""
    return Expectation(
        exit_code=1,
        # 40 devices, 3 links between switches told from both ends, 2 spare outlets. Contradicted: four devices that
        # are not where they should be, both ends of the uplink, both spare outlets. Silent: the tide gauge logger,
        # the television, the weather logger, and the unmanaged switch, which has no address to tell it by.
        verdicts={"confirmed": 36, "contradicted": 8, "silent": 4},
        drifts=(
            drift(
                "The imaging workstation was carried over to the wet lab",
                Found("moved device", "acc-2:5", device="im-ws-2", moved_to="acc-1:Gi1/0/12"),
            ),
            drift(
                "Two cords are crossed at panel PP-A, jacks 3 and 4",
                Found("moved device", "acc-1:Gi1/0/3", device="wl-tank-1", moved_to="acc-1:Gi1/0/4"),
                Found("moved device", "acc-1:Gi1/0/4", device="wl-printer-1", moved_to="acc-1:Gi1/0/3"),
            ),
            drift("The tide gauge logger is gone", Found("dead port", "shed-1:ge-0/0/3", device="bs-tide-1")),
            drift("The port of the television was shut", Found("shut port", "acc-2:13", device="bh-tv-1")),
            drift(
                "The microscope camera was replaced by another unit",
                Found("other device", "acc-2:2", device="im-scope-cam", macs=("00:30:53:2e:71:c4",)),
            ),
            drift(
                "Somebody plugged a small computer into a spare outlet of the bunkhouse",
                Found("undocumented device", "acc-2:17", macs=("dc:a6:32:9e:04:5b",)),
            ),
            drift(
                "Something without a voice is on a free port in the boat shed",
                Found("unexpected link", "shed-1:ge-0/0/8"),
            ),
            drift(
                "The uplink of acc-2 is in another port of core-1",
                Found("uplink elsewhere", "core-1:Ethernet3", moved_to="core-1:Ethernet6"),
            ),
        ),
    )


def _switches(site: Builder) -> None:
    rack: dict[str, Any] = {"room": COMMS, "rack": "R1"}
    site.switch(
        "core-1", PLAIN_ETHERNET, 24, mac="fc:59:c0:4e:10:00", vlans=VLANS, trunks=(1, 2, 3, 4, 6),
        access=dict.fromkeys((5, *range(7, 25)), SERVERS), tagged={5: LAB},
        management_vlan=MANAGEMENT, address="10.20.99.11", routes=True, unit="34", **rack,
        aliases={1: "firewall", 2: "acc-1", 3: "acc-2", 4: "boat shed", 5: "hv-1"},
    )  # fmt: skip
    site.switch(
        "acc-1", STACKED, 24, mac="d0:43:1e:77:5a:00", vlans=VLANS, trunks=(24,),
        access=dict.fromkeys(range(1, 24), LAB) | dict.fromkeys((3, 6, 7, 8), BUILDING),
        tagged={2: VOICE, 9: GUEST}, powered_ports=range(1, 25),
        management_vlan=MANAGEMENT, address="10.20.99.12", unit="33", **rack,
    )  # fmt: skip
    site.switch(
        "acc-2", NUMBERED, 24, mac="b8:6c:e0:21:c4:00", vlans=VLANS, trunks=(24,),
        access=dict.fromkeys(range(1, 24), LAB) | dict.fromkeys((15, 16), BUILDING) | dict.fromkeys((13, 14), GUEST),
        tagged={4: VOICE, 11: GUEST, 12: VOICE}, powered_ports=range(1, 25),
        management_vlan=MANAGEMENT, address="10.20.99.13", unit="32", **rack,
    )  # fmt: skip
    site.switch(
        "shed-1", SLOTTED, 12, mac="40:a6:77:b2:08:00", vlans=VLANS, trunks=(12,),
        access=dict.fromkeys(range(1, 12), LAB) | dict.fromkeys((3, 4, 5, 7), BUILDING),
        tagged={2: VOICE}, powered_ports=range(1, 9),
        management_vlan=MANAGEMENT, address="10.20.99.14", room=SHED, rack="R2", unit="4",
    )  # fmt: skip


_OUTLETS = (  # prefix, room, plates, panel, first jack, space id, metres of the fixed cables in their order
    ("WL", WET, 7, "PP-A", 1, "1A", (22, 22, 25, 25, 27, 27, 31, 31, 33, 33, 36, 36, 38, 38)),
    ("IM", IMAGING, 5, "PP-A", 15, "1A", (41, 41, 43, 43, 46, 46, 48, 48, 52, 52)),
    ("BH", BUNK, 4, "PP-B", 1, "1A", (61, 61, 64, 64, 68, 68, 71, 71)),
    ("BS", SHED, 4, "PP-S", 1, "1B", (9, 9, 14, 14, 19, 19, 26, 26)),
)


def _panels_and_outlets(site: Builder) -> None:
    cat6a: dict[str, Any] = {"category": "6A", "shield": "F/UTP"}
    site.panel("PP-A", 24, room=COMMS, rack="R1", unit="40", note="wet lab 1-14, imaging room 15-24", **cat6a)
    site.panel("PP-B", 24, room=COMMS, rack="R1", unit="38", note="bunkhouse 1-8, boat shed 23-24", **cat6a)
    site.panel("PP-T", 12, room=COMMS, rack="R1", unit="36", note="front of the ties to the rear", **cat6a)
    site.panel("PP-R", 12, room=COMMS, rack="R1", unit="36", face="rear", note="servers at the rear", **cat6a)
    site.panel("PP-S", 12, room=SHED, rack="R2", unit="6", note="boat shed 1-8, comms room 11-12", **cat6a)
    for prefix, room, plates, panel, first, space, metres in _OUTLETS:
        for plate in range(1, plates + 1):
            site.outlet(f"{prefix}-{plate:02}", 2, room=room, category="6A", shield="F/UTP")
        for number, length in enumerate(metres):
            jack = first + number
            label = f"{space}-{panel[-1]}{jack:02}"  # space, panel letter, jack: the form of TIA-606
            outlet = f"{prefix}-{number // 2 + 1:02}:{number % 2 + 1}"
            site.fixed(label, f"{panel}:{jack}", outlet, length_m=length, **cat6a)
    site.tie("T", "PP-T", "PP-R", 12, length_m=1.5, **cat6a)
    site.fixed("B1", "PP-B:23", "PP-S:11", length_m=84, note="in the duct under the slipway road", **cat6a)
    site.fixed("B2", "PP-B:24", "PP-S:12", length_m=84, note="in the duct under the slipway road", **cat6a)


def _links_between_switches(site: Builder) -> None:
    site.cord("U1", "core-1:Ethernet2", "acc-1:Gi1/0/24", **_cord(0.5, "red"))
    site.cord("U2", "core-1:Ethernet3", "acc-2:24", **_cord(0.5, "red"))
    site.cord("U3", "core-1:Ethernet4", "PP-B:23", **_cord(1.0, "red"), note="to the boat shed")
    site.cord("U4", "PP-S:11", "shed-1:ge-0/0/11", **_cord(0.5, "red"), note="to the comms room")


def _comms_room(site: Builder) -> None:
    """The firewall at the front of the rack; servers at its rear, through the tie panels."""
    trunk = (LAB, VOICE, BUILDING, GUEST, SERVERS)
    site.device(router("fw-1", "74:78:a6:0c:91:f2", trunk, socket="lan"), kind="firewall", room=COMMS, owner="IT")
    site.cord("U5", "core-1:Ethernet1", "fw-1:lan", **_cord(0.5, "orange"))
    guests = [("52:54:00:6b:1f:20", None), ("52:54:00:6b:1f:21", None), ("52:54:00:d3:40:07", LAB)]
    servers = (
        (hypervisor("hv-1", "ac:1f:6b:84:3d:e0", guests=guests, ip="10.20.50.20"), "hypervisor", 5, True, ""),
        (host("nas-1", "90:09:d0:17:66:a8", ip="10.20.50.30"), "storage", 7, False, "survey archive"),
        (host("ups-1", "00:c0:b7:5d:22:91", ip="10.20.50.40", speed=100), "UPS", 8, False, ""),
        (host("ntp-1", "ec:46:70:00:a1:3e", ip="10.20.50.50", speed=100), "time server", 9, False, "antenna on roof"),
    )
    for jack, (box, kind, port, carries, note) in enumerate(servers, 1):
        macs = (box.stations[0].mac,)
        site.device(box, macs=macs, kind=kind, carries=carries, room=COMMS, owner="IT", note=note)
        site.cord(f"P{jack:03}", f"core-1:Ethernet{port}", f"PP-T:{jack}", **_cord(1.0, "blue"))
        site.cord(f"S{jack:03}", f"PP-R:{jack}", box.name, **_cord(2.0, "blue"))


# fmt: off
def _wet_lab() -> Iterator[Run]:
    yield Run(host("wl-ws-1", "20:47:47:3a:9c:11", ip="10.20.10.21"), "workstation", "acc-1:Gi1/0/1", "PP-A:1",
              "P101", 1.0, owner="aquaculture")
    yield Run(phone("wl-phone-1", "00:04:13:8a:40:1d", VOICE, ip="10.20.20.31", pc="pc"), "phone", "acc-1:Gi1/0/2",
              "PP-A:2", "P102", 1.0, "yellow", carries=True)
    yield Run(host("wl-tank-1", "00:30:de:41:b7:09", ip="10.20.30.41", speed=100), "tank controller",
              "acc-1:Gi1/0/3", "PP-A:3", "P103", 1.0, "green", "aquaculture", note="seawater intake and tanks 1-6")
    yield Run(host("wl-printer-1", "00:07:4d:6e:52:b3", ip="10.20.10.60", speed=100), "label printer",
              "acc-1:Gi1/0/4", "PP-A:4", "P104", 1.0)
    yield Run(host("wl-ctd-1", "00:90:e8:33:0f:6a", ip="10.20.10.61", speed=100), "serial server", "acc-1:Gi1/0/5",
              "PP-A:5", "P105", 1.0, owner="oceanography", note="CTD deck unit")
    yield Run(host("wl-flow-1", "00:01:05:2c:d8:14", ip="10.20.30.42", speed=100), "flow controller",
              "acc-1:Gi1/0/6", "PP-A:6", "P106", 1.5, "green", "aquaculture")
    yield Run(camera("wl-cam-1", "b8:a4:4f:19:c0:5e", ip="10.20.30.71"), "camera", "acc-1:Gi1/0/7", "PP-A:7",
              "P107", 1.5, "green", note="over tank 4")
    yield Run(host("wl-freezer-1", "00:13:3f:07:81:aa", ip="10.20.30.43", speed=100), "freezer monitor",
              "acc-1:Gi1/0/8", "PP-A:8", "P108", 1.5, "green", note="-80 C, alarm to the warden")
    clients = (("f4:d4:88:61:0a:c2", GUEST), ("6e:1b:90:44:d7:3f", GUEST), ("9a:03:5c:e8:12:76", None))
    yield Run(access_point("ap-wet", "78:8a:20:5f:e1:30", clients=clients, ip="10.20.10.81"), "access point",
              "acc-1:Gi1/0/9", "PP-A:9", "P109", 1.5, "purple", "IT", carries=True)
    yield Run(host("wl-ws-2", "e8:6a:64:d0:27:8b", ip="10.20.10.22"), "workstation", "acc-1:Gi1/0/11", "PP-A:11",
              "P111", 1.5, owner="aquaculture")


def _imaging_room() -> Iterator[Run]:
    yield Run(host("im-scope-pc", "98:90:96:c4:6f:52", ip="10.20.10.31"), "microscope computer", "acc-2:1",
              "PP-A:15", "P201", 1.5, owner="imaging")
    yield Run(host("im-scope-cam", "00:30:53:21:4a:87", ip="10.20.10.32"), "microscope camera", "acc-2:2",
              "PP-A:16", "P202", 1.5, owner="imaging")
    yield Run(host("im-laser-1", "00:1b:1c:0e:95:30", ip="10.20.10.33", speed=100), "laser controller", "acc-2:3",
              "PP-A:17", "P203", 1.5, owner="imaging")
    yield Run(phone("im-phone-1", "00:04:13:8a:40:26", VOICE, ip="10.20.20.32", pc="pc"), "phone", "acc-2:4",
              "PP-A:18", "P204", 1.5, "yellow", carries=True)
    yield Run(host("im-ws-2", "90:1b:0e:7b:38:f5", ip="10.20.10.35"), "workstation", "acc-2:5", "PP-A:19", "P205",
              1.5, owner="imaging")
    yield Run(host("im-ws-1", "90:1b:0e:7b:2c:19", ip="10.20.10.34"), "workstation", "acc-2:6", "PP-A:20", "P206",
              1.5, owner="imaging")
    yield Run(unmanaged_switch("im-bench-1"), "unmanaged switch", "acc-2:7", "PP-A:21", "P207", 2.0,
              owner="imaging", carries=True, note="optical bench; students plug in here")
    yield Run(host("im-printer-1", "30:05:5c:88:e2:4d", ip="10.20.10.63"), "printer", "acc-2:8", "PP-A:22", "P208",
              2.0)
    yield Run(host("im-store-1", "00:11:32:b5:09:c7", ip="10.20.10.36"), "storage", "acc-2:9", "PP-A:23", "P209",
              2.0, owner="imaging", note="raw image stacks")


def _bunkhouse() -> Iterator[Run]:
    clients = (("c6:72:1f:0d:b8:e1", GUEST), ("de:90:47:a3:5c:08", GUEST), ("f0:ee:7a:13:64:9d", GUEST))
    yield Run(access_point("ap-bunk", "78:8a:20:5f:e2:18", clients=clients, ip="10.20.10.82"), "access point",
              "acc-2:11", "PP-B:1", "P211", 1.0, "purple", "IT", carries=True)
    yield Run(phone("bh-phone-1", "00:04:13:8a:41:03", VOICE, ip="10.20.20.33"), "phone", "acc-2:12", "PP-B:2",
              "P212", 1.0, "yellow", carries=True)
    yield Run(host("bh-tv-1", "ac:5a:f0:2d:7e:61", ip="10.20.40.90"), "television", "acc-2:13", "PP-B:3", "P213",
              1.0)
    yield Run(host("bh-kiosk-1", "1c:69:7a:50:b9:3c", ip="10.20.40.91"), "kiosk computer", "acc-2:14", "PP-B:4",
              "P214", 1.0, note="boat and bed bookings")
    yield Run(host("bh-door-1", "00:17:7a:0a:63:f8", ip="10.20.30.51", speed=100), "door controller", "acc-2:15",
              "PP-B:5", "P215", 1.5, "green")
    yield Run(host("bh-heat-1", "00:0e:8c:d9:17:42", ip="10.20.30.52", speed=100), "heating controller", "acc-2:16",
              "PP-B:6", "P216", 1.5, "green")


def _boat_shed() -> Iterator[Run]:
    yield Run(host("bs-ws-1", "20:47:47:5e:d1:0a", ip="10.20.10.41"), "workstation", "shed-1:ge-0/0/0", "PP-S:1",
              "P301", 0.5, owner="boats")
    yield Run(phone("bs-phone-1", "00:04:13:8a:41:17", VOICE, ip="10.20.20.34"), "phone", "shed-1:ge-0/0/1",
              "PP-S:2", "P302", 0.5, "yellow", carries=True)
    yield Run(camera("bs-cam-1", "b8:a4:4f:19:c1:22", ip="10.20.30.72"), "camera", "shed-1:ge-0/0/2", "PP-S:3",
              "P303", 0.5, "green", note="slipway")
    yield Run(host("bs-tide-1", "00:d0:2c:11:8f:03", ip="10.20.30.61", speed=100), "tide gauge logger",
              "shed-1:ge-0/0/3", "PP-S:4", "P304", 0.5, "green", "oceanography")
    yield Run(mute("bs-wx-1", speed=100), "weather logger", "shed-1:ge-0/0/4", "PP-S:5", "P305", 0.5, "green",
              "oceanography", note="sends only when it is polled")
    yield Run(host("bs-ais-1", "00:d0:1d:42:6b:9e", ip="10.20.10.65", speed=100), "AIS receiver",
              "shed-1:ge-0/0/5", "PP-S:6", "P306", 0.5, owner="boats")
    yield Run(host("bs-door-1", "00:17:7a:0a:64:2b", ip="10.20.30.53", speed=100), "door controller",
              "shed-1:ge-0/0/6", "PP-S:7", "P307", 0.5, "green")
    yield Run(host("bs-chart-1", "4c:52:62:3b:a7:d0", ip="10.20.10.42"), "chart computer", "shed-1:ge-0/0/7",
              "PP-S:8", "P308", 0.5, owner="boats")


# fmt: on
_MUTE_ADDRESSES = {"bs-wx-1": ("00:d0:2c:11:90:5d",)}  # documented, and not heard tonight


def _install(site: Builder, run: Run) -> None:
    """Cord, jack, fixed cable, outlet, and the device on its own lead."""
    panel, _, jack = run.jack.partition(":")
    prefix, room, _, _, first, _, _ = next(
        row for row in _OUTLETS if row[3] == panel and 0 <= int(jack) - row[4] < 2 * row[2]
    )
    behind = int(jack) - first
    outlet = f"{prefix}-{behind // 2 + 1:02}:{behind % 2 + 1}"
    macs = tuple(station.mac for station in run.box.stations[:1]) or _MUTE_ADDRESSES.get(run.box.name, ())
    site.cord(run.cord, run.port, run.jack, **_cord(run.cord_m, run.colour))
    site.device(
        run.box, at=outlet, macs=macs, kind=run.kind, carries=run.carries, room=room, owner=run.owner, note=run.note
    )


def _behind_phones(site: Builder) -> None:
    for box, at, room in (
        (host("wl-pc-1", "5c:60:ba:91:03:7e", ip="10.20.10.23"), "wl-phone-1:pc", WET),
        (host("im-pc-1", "74:5d:22:0f:c8:54", ip="10.20.10.37"), "im-phone-1:pc", IMAGING),
    ):
        site.device(box, at=at, kind="workstation", room=room, note="through the telephone")


def _bench_instruments(site: Builder) -> None:
    """What students have on the unmanaged switch tonight; the map does not follow it, and need not."""
    site.undocumented(host("student-laptop", "60:fd:a6:3c:15:e9"), at="im-bench-1:2")
    site.undocumented(host("spectrometer", "00:80:a3:5b:f0:27", speed=100), at="im-bench-1:3")


def _cord(length_m: float, colour: str) -> dict[str, Any]:
    """A ready-made cord as the station buys them."""
    return {"length_m": length_m, "colour": colour, "category": "6A", "shield": "S/FTP", "gauge_awg": 26}


COMMENT = """\
Saltmarsh Field Station: an invented marine research station with a small network, for trying things out.
`toneout simulate` serves the recordings of its four switches on the addresses and ports below."""


def files() -> dict[str, str]:
    """The whole site folder, path to text."""
    return site_files(drifted(), expected(), comment=COMMENT)


if __name__ == "__main__":
    write_site(SITES / "saltmarsh", files())
