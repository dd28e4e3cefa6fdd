"""One small world per story: two or three switches of eight ports, one thing that is so or went wrong.

`python -m tests.worlds.stories` writes fixtures/sites/<story>/ again. Every story starts from `station`, where
six devices in two rooms are as documented, and says by hand what a report must hold.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from tests.worlds import changes
from tests.worlds.build import Builder
from tests.worlds.dialects import (
    NUMBERED,
    OFFSET,
    PER_CONTEXT,
    PLAIN_ETHERNET,
    SLOTTED,
    STACKED,
    Dialect,
)
from tests.worlds.equipment import access_point, host, hypervisor, mute, phone, router, unmanaged_switch
from tests.worlds.expected import Drift, Expectation, Found, drift
from tests.worlds.files import SITES, site_files, write_site
from tests.worlds.model import Box, Entry, Station, World

Story = tuple[World, Expectation]

VLANS = {1: "default", 10: "lab", 20: "voice", 30: "building"}
TANK, DESK, CAMERA = "00:30:de:41:b7:09", "20:47:47:3a:9c:11", "b8:a4:4f:19:c0:5e"
SCOPE, LASER, PRINTER = "98:90:96:c4:6f:52", "00:1b:1c:0e:95:30", "30:05:5c:88:e2:4d"
NEWCOMER, HEATER = "dc:a6:32:9e:04:5b", "00:0e:8c:d9:17:42"

AS_DOCUMENTED = {"confirmed": 8, "contradicted": 0, "silent": 0, "unchecked": 0}
"""Six devices, and the link between the two switches once from either end."""


def station(
    wet: Dialect = STACKED,
    imaging: Dialect = NUMBERED,
    *,
    link: bool = True,
) -> Builder:
    """Switches wet-1 and img-1, a panel for each, tank, desk and camera in the wet lab, three more next door.

    Port 8 joins the two, port 7 could. Devices are on ports 1 to 3, jacks 1 to 3; the rest is free.
    """
    site = Builder("Saltmarsh Field Station")
    ports: dict[str, Any] = {
        "vlans": VLANS,
        "access": dict.fromkeys(range(1, 7), 10),
        "tagged": {4: 20, 5: 20},
        "trunks": (7, 8),
    }
    site.switch("wet-1", wet, 8, mac="d0:43:1e:77:5a:00", room="wet lab", **ports)
    site.switch("img-1", imaging, 8, mac="b8:6c:e0:21:c4:00", room="imaging room", **ports)
    for panel, room, prefix in (("PP-W", "wet lab", "WL"), ("PP-I", "imaging room", "IM")):
        site.panel(panel, 8, room=room)
        for jack in range(1, 7):
            site.outlet(f"{prefix}-{jack}", room=room)
            site.fixed(f"{prefix}{jack}", f"{panel}:{jack}", f"{prefix}-{jack}:1", length_m=20 + jack)
    install(site, 1, "tank", TANK, "tank controller")
    install(site, 2, "desk", DESK, "workstation")
    install(site, 3, "camera", CAMERA, "camera")
    install(site, 1, "scope", SCOPE, "microscope computer", at="img-1")
    install(site, 2, "laser", LASER, "laser controller", at="img-1")
    install(site, 3, "printer", PRINTER, "printer", at="img-1")
    if link:
        site.cord("U1", site.port("wet-1", 8), site.port("img-1", 8))
    return site


def patch(site: Builder, number: int, at: str = "wet-1") -> str:
    """Cords port and jack of that number together; the outlet behind it."""
    room, panel, prefix = ("W", "PP-W", "WL") if at == "wet-1" else ("I", "PP-I", "IM")
    site.cord(f"{room}{number}", site.port(at, number), f"{panel}:{number}")
    return f"{prefix}-{number}:1"


def install(site: Builder, number: int, name: str, mac: str, kind: str, at: str = "wet-1") -> None:
    """A device with one address on port, jack and outlet of that number."""
    site.device(host(name, mac), at=patch(site, number, at), kind=kind)


def all_as_documented() -> Story:
    return station().build(), Expectation("Nothing has changed.", 0, AS_DOCUMENTED)


def moved_device() -> Story:
    """Across switches, one of which lists bridge ports that are not interface numbers."""
    world = station(OFFSET, SLOTTED).build()
    world = changes.replug(world, "WL-2:1", "IM-5:1")
    world = changes.plug(world, "img-1:ge-0/0/4", "PP-I:5")
    found = Found("moved device", "wet-1:GigabitEthernet1/0/2", device="desk", moved_to="img-1:ge-0/0/4")
    return world, _one(found, "The desk was carried next door and patched to a free port.", contradicted=1)


def dead_port() -> Story:
    world = changes.unplug(station().build(), "IM-1:1")
    return world, _one(Found("dead port", "img-1:1", device="scope"), "The microscope is gone.", silent=1)


def shut_port() -> Story:
    world = changes.shut(station().build(), "wet-1:Gi1/0/3")
    found = Found("shut port", "wet-1:Gi1/0/3", device="camera")
    return world, _one(found, "Somebody shut the port of the camera.", silent=1)


def unexpected_link() -> Story:
    world = changes.add_box(station().build(), mute("converter", speed=100), "img-1:6")
    return world, _one(Found("unexpected link", "img-1:6"), "Something without a voice is on a free port.")


def undocumented_device() -> Story:
    world = changes.add_box(station().build(), host("raspberry", NEWCOMER), "wet-1:Gi1/0/6")
    found = Found("undocumented device", "wet-1:Gi1/0/6", macs=(NEWCOMER,))
    return world, _one(found, "Somebody plugged a small computer into a free port.")


def replaced_device() -> Story:
    world = changes.new_address(station().build(), "laser", "00:1b:1c:0e:a1:77")
    found = Found("other device", "img-1:2", device="laser", macs=("00:1b:1c:0e:a1:77",))
    return world, _one(found, "Another laser controller is in the place of the old one.", contradicted=1)


def crossed_cords() -> Story:
    world = changes.cross(station().build(), "PP-W:1", "PP-W:3")
    one = Found("moved device", "wet-1:Gi1/0/1", device="tank", moved_to="wet-1:Gi1/0/3")
    two = Found("moved device", "wet-1:Gi1/0/3", device="camera", moved_to="wet-1:Gi1/0/1")
    return world, _expect(drift("Two cords are crossed at panel PP-W.", one, two), contradicted=2)


def swapped_uplinks() -> Story:
    """Three switches; the plugs of two uplinks are exchanged at the third."""
    site = station(link=False)
    site.switch("core-1", PLAIN_ETHERNET, 8, mac="fc:59:c0:4e:10:00", vlans=VLANS, trunks=range(1, 9))
    site.cord("U1", "core-1:Ethernet1", "wet-1:Gi1/0/8")
    site.cord("U2", "core-1:Ethernet2", "img-1:8")
    world = changes.cross(site.build(), "core-1:Ethernet1", "core-1:Ethernet2")
    one = Found("uplink elsewhere", "core-1:Ethernet1", moved_to="img-1:8")
    two = Found("uplink elsewhere", "core-1:Ethernet2", moved_to="wet-1:Gi1/0/8")
    told = drift("The two uplinks are exchanged at core-1.", one, two)
    return world, Expectation("Swapped uplinks.", 1, AS_DOCUMENTED | {"confirmed": 6, "contradicted": 4}, (told,))


def uplink_elsewhere() -> Story:
    world = changes.replug(station().build(), "img-1:8", "img-1:7")
    found = Found("uplink elsewhere", "img-1:8", moved_to="img-1:7")
    return world, _one(found, "The link between the switches is in another port.", contradicted=2)


def silent_switch() -> Story:
    """Its devices are heard behind the other switch, on the port that leads to it: no reason to call them moved."""
    world = changes.change_switch(station().build(), "img-1", answers=False)
    verdicts = {"confirmed": 5, "contradicted": 0, "silent": 0, "unchecked": 3}
    return world, Expectation("One switch does not answer.", 3, verdicts, gaps=("img-1",))


def phone_with_pc() -> Story:
    site = station()
    site.device(phone("phone-1", "00:04:13:8a:40:1d", 20, ip="10.20.20.31", pc="pc"), at=patch(site, 4), kind="phone",
                carries=True)  # fmt: skip
    site.undocumented(host("pc-1", "5c:60:ba:91:03:7e"), at="phone-1:pc")
    site.device(phone("phone-2", "00:04:13:8a:40:26", 20, ip="10.20.20.32", pc="pc"), at=patch(site, 5), kind="phone",
                carries=True)  # fmt: skip
    site.device(host("pc-2", "74:5d:22:0f:c8:54"), at="phone-2:pc", kind="workstation")
    return site.build(), Expectation(
        "Telephones with a computer behind them, one of them documented.", 0, AS_DOCUMENTED | {"confirmed": 11}
    )


def access_point_with_clients() -> Story:
    site = station()
    clients = [("f4:d4:88:61:0a:c2", 20), ("6e:1b:90:44:d7:3f", 20), ("9a:03:5c:e8:12:76", None)]
    box = access_point("ap-1", "78:8a:20:5f:e1:30", clients=clients)
    site.device(box, at=patch(site, 4), macs=("78:8a:20:5f:e1:30",), kind="access point", carries=True)
    return site.build(), Expectation("Wireless clients come and go.", 0, AS_DOCUMENTED | {"confirmed": 9})


def hypervisor_with_guests() -> Story:
    site = station()
    guests = [("52:54:00:6b:1f:20", None), ("52:54:00:6b:1f:21", None), ("00:0c:29:d3:40:07", 20)]
    box = hypervisor("hv-1", "ac:1f:6b:84:3d:e0", guests=guests)
    site.device(box, at=patch(site, 4, "img-1"), macs=("ac:1f:6b:84:3d:e0",), kind="hypervisor", carries=True)
    return site.build(), Expectation("Guests share the server's port.", 0, AS_DOCUMENTED | {"confirmed": 9})


def moved_hypervisor() -> Story:
    """It says by LLDP that it bridges, as servers with guests do, and is no switch of the site for that."""
    world, _ = hypervisor_with_guests()
    world = changes.replug(world, "img-1:4", "img-1:6")
    found = Found("moved device", "img-1:4", device="hv-1", moved_to="img-1:6")
    told = drift("The server with its guests is in another port.", found)
    return world, Expectation(told.story, 1, AS_DOCUMENTED | {"contradicted": 1}, (told,))


def virtual_gateway() -> Story:
    """Two routers answer for one address (RFC 9568): it stands at the port of whichever is master tonight."""
    site = station()
    gateway = "00:00:5e:00:01:0a"
    one = router("gw-1", "74:78:a6:0c:91:f2", (None,), gateway=gateway)
    two = router("gw-2", "74:78:a6:0c:91:f8", (None,))
    site.device(one, at="wet-1:Gi1/0/6", macs=("74:78:a6:0c:91:f2",), kind="router")
    site.device(two, at="img-1:6", macs=("74:78:a6:0c:91:f8",), kind="router")
    return site.build(), Expectation("A virtual gateway is no device.", 0, AS_DOCUMENTED | {"confirmed": 10})


def odd_entries() -> Story:
    """A cluster's address at both its servers, a multicast entry that somebody configured, a row past its time."""
    site = station()
    cluster = "02:bf:0a:14:0a:05"
    for name, mac, at in (("web-1", "ac:1f:6b:84:3d:e0", "wet-1"), ("web-2", "ac:1f:6b:84:3d:e2", "img-1")):
        box = Box(name, (Station(mac), Station(cluster)))
        site.device(box, at=patch(site, 6, at), macs=(mac,), kind="server")
    entries = (
        Entry(10, "01:00:5e:00:00:fb", "Gi1/0/5", "mgmt"),
        Entry(20, DESK, "Gi1/0/5", "invalid"),
    )
    world = changes.change_switch(site.build(), "wet-1", entries=entries)
    return world, Expectation("Rows that are no stations.", 0, AS_DOCUMENTED | {"confirmed": 10})


def unmanaged_switch_with_computers() -> Story:
    site = station()
    site.device(unmanaged_switch("bench"), at=patch(site, 4, "img-1"), macs=(), kind="unmanaged switch", carries=True)
    site.undocumented(host("laptop", "60:fd:a6:3c:15:e9"), at="bench:2")
    site.undocumented(host("spectrometer", "00:80:a3:5b:f0:27"), at="bench:3")
    return site.build(), Expectation("Computers on a small unmanaged switch.", 0, AS_DOCUMENTED | {"silent": 1})


def two_sockets() -> Story:
    """A server on both switches, an address to each socket: the second cord is pulled, and the server has not moved."""
    site = station()
    macs = "90:09:d0:17:66:a8", "90:09:d0:17:66:a9"
    box = Box("nas", tuple(Station(mac, socket=socket) for mac, socket in zip(macs, "ab", strict=True)), ("a", "b"))
    site.device(box, macs=macs, kind="storage")
    site.cord("N1", "wet-1:Gi1/0/6", "nas:a")
    site.cord("N2", "img-1:6", "nas:b")
    world = changes.unplug(site.build(), "img-1:6")
    told = drift("One of the two cords of the server is pulled.", Found("dead port", "img-1:6", device="nas"))
    return world, Expectation(told.story, 1, AS_DOCUMENTED | {"confirmed": 9, "silent": 1}, (told,))


def sleeping_device() -> Story:
    world = changes.silence(station().build(), "printer")
    return world, Expectation(
        "The printer has link and has said nothing for longer than the ageing time.", 0,
        AS_DOCUMENTED | {"confirmed": 7, "silent": 1},
    )  # fmt: skip


def one_vlan_only() -> Story:
    """The agent shows VLAN 1 in its default context; the devices are in VLAN 10 (cisco-c3560 of the recordings)."""
    world = station(replace(PER_CONTEXT, serves_contexts=False)).build()
    return world, Expectation(
        "The forwarding table of wet-1 covers VLAN 1 alone.", 3,
        AS_DOCUMENTED | {"confirmed": 5, "unchecked": 3}, gaps=("wet-1",),
    )  # fmt: skip


def one_context_per_vlan() -> Story:
    """The same agent, whose other VLANs can be asked for: the desk and the camera are crossed there."""
    world = changes.cross(station(PER_CONTEXT).build(), "wet-1:Gi0/2", "wet-1:Gi0/3")
    one = Found("moved device", "wet-1:Gi0/2", device="desk", moved_to="wet-1:Gi0/3")
    two = Found("moved device", "wet-1:Gi0/3", device="camera", moved_to="wet-1:Gi0/2")
    return world, _expect(drift("Two cords are crossed at wet-1.", one, two), contradicted=2)


def neighbours_not_served() -> Story:
    """Neither switch lets LLDP be read; that each hears the other's own address on port 8 proves the link as well."""
    world = station(replace(STACKED, serves_lldp=False), replace(NUMBERED, serves_lldp=False)).build()
    return world, Expectation("No switch tells its neighbours.", 0, AS_DOCUMENTED)


def standby_link() -> Story:
    """A second link between the switches, blocked by spanning tree: no station is learned there, and all is well."""
    site = station()
    site.cord("U2", "wet-1:Gi1/0/7", "img-1:7")
    world = changes.change_port(site.build(), "img-1:7", blocked=True)
    return world, Expectation("A standby link is blocked.", 0, AS_DOCUMENTED | {"confirmed": 10})


def other_names() -> Story:
    """The switches call themselves otherwise than the map does; addresses and ports tell who is who."""
    world = changes.change_switch(station().build(), "wet-1", system_name="SALTMARSH-WL-SW01")
    world = changes.change_switch(world, "img-1", system_name="ProCurve")
    return world, Expectation("The switches have other names for themselves.", 0, AS_DOCUMENTED)


def port_not_found() -> Story:
    """A slip of the pen in a map that lists no ports, so that only the switch can tell."""
    site = station()
    site.device(host("heater", HEATER), kind="heating controller", at="wet-1:Gi1/0/17", plugged_in=False)
    world = site.build()
    switches = [row.model_copy(update={"ports": ()}) for row in world.record.switches]
    world = replace(world, record=world.record.model_copy(update={"switches": switches}))
    told = drift("The map names a port that wet-1 does not have.", Found("port not found", "wet-1:Gi1/0/17", "heater"))
    return world, Expectation("A port that is not there.", 1, AS_DOCUMENTED | {"unchecked": 1}, (told,))


STORIES: dict[str, Callable[[], Story]] = {
    "all-as-documented": all_as_documented,
    "moved-device": moved_device,
    "dead-port": dead_port,
    "shut-port": shut_port,
    "unexpected-link": unexpected_link,
    "undocumented-device": undocumented_device,
    "replaced-device": replaced_device,
    "crossed-cords": crossed_cords,
    "swapped-uplinks": swapped_uplinks,
    "uplink-elsewhere": uplink_elsewhere,
    "silent-switch": silent_switch,
    "phone-with-pc": phone_with_pc,
    "access-point-with-clients": access_point_with_clients,
    "hypervisor": hypervisor_with_guests,
    "moved-hypervisor": moved_hypervisor,
    "virtual-gateway": virtual_gateway,
    "odd-entries": odd_entries,
    "unmanaged-switch": unmanaged_switch_with_computers,
    "two-sockets": two_sockets,
    "sleeping-device": sleeping_device,
    "one-vlan-only": one_vlan_only,
    "one-context-per-vlan": one_context_per_vlan,
    "neighbours-not-served": neighbours_not_served,
    "standby-link": standby_link,
    "other-names": other_names,
    "port-not-found": port_not_found,
}


def _expect(told: Drift, **instead: int) -> Expectation:
    """One drift in an else quiet station; `instead` says which verdicts channels have that are not confirmed."""
    confirmed = AS_DOCUMENTED["confirmed"] - sum(instead.values())
    return Expectation(told.story, 1, AS_DOCUMENTED | {"confirmed": confirmed} | instead, (told,))


def _one(found: Found, story: str, **instead: int) -> Expectation:
    return _expect(drift(story, found), **instead)


def files(name: str) -> dict[str, str]:
    """The whole site folder of one story, path to text."""
    world, expectation = STORIES[name]()
    return site_files(world, expectation, comment=expectation.story)


if __name__ == "__main__":
    for story in STORIES:
        write_site(SITES / story, files(story))
