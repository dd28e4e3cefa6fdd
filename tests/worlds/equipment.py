"""Boxes that stand at the far ends: what each kind has for addresses, sockets and LLDP."""

from __future__ import annotations

from collections.abc import Iterable

from tests.worlds.model import Advert, Box, Station


def host(name: str, mac: str, *, ip: str = "", speed: int = 1000, watts: float = 0.0) -> Box:
    """A computer or instrument with one address that speaks no LLDP."""
    return Box(name, (Station(mac, ip=ip),), speed=speed, draws_watts=watts)


def mute(name: str, *, speed: int = 1000) -> Box:
    """Something with link that never sends a frame of its own."""
    return Box(name, speed=speed)


def camera(name: str, mac: str, *, ip: str = "", model: str = "P3265-LV") -> Box:
    """A camera on Power over Ethernet; it announces itself by LLDP with its own name for itself."""
    said = f"axis-{mac.replace(':', '')}"
    advert = Advert(
        "macAddress", mac, "macAddress", mac, "eth0", said, f"AXIS {model} Network Camera", ("stationOnly",), ip
    )
    return Box(name, (Station(mac, ip=ip),), adverts=(advert,), speed=100, draws_watts=5.2)


def phone(name: str, mac: str, voice_vlan: int, *, ip: str, pc: str = "") -> Box:
    """A desk telephone: tagged voice VLAN towards the switch, and a socket `pc` for the computer behind it.

    LLDP-MED endpoints use a network address as chassis id (ANSI/TIA-1057, from memory).
    """
    advert = Advert(
        "networkAddress",
        ip,
        "macAddress",
        mac,
        "SW PORT",
        f"snom-{mac[-8:].replace(':', '')}",
        "snom-D785/10.1.127.10",
        ("bridge", "telephone"),
        ip,
        maker="snom",
        model="D785",
        serial=mac.replace(":", "").upper(),
    )
    return Box(
        name,
        (Station(mac, voice_vlan, ip=ip),),
        sockets=("", pc) if pc else ("",),
        bridges=True,
        adverts=(advert,),
        draws_watts=3.6,
    )


def access_point(name: str, mac: str, *, clients: Iterable[tuple[str, int | None]], ip: str = "") -> Box:
    """An access point: its own address untagged, clients in the VLAN of their wireless network."""
    advert = Advert(
        "macAddress", mac, "local", "eth0", "eth0", name, "UAP-AC-Pro-Gen2", ("bridge", "wlanAccessPoint"), ip
    )
    own = Station(mac, ip=ip)
    behind = tuple(Station(client, vlan) for client, vlan in clients)
    return Box(name, (own, *behind), adverts=(advert,), draws_watts=8.4)


def hypervisor(name: str, mac: str, *, guests: Iterable[tuple[str, int | None]], ip: str = "") -> Box:
    """A server whose guests share its socket; a switch in software passes their frames on."""
    advert = Advert("macAddress", mac, "macAddress", mac, "eno1", name, "Debian GNU/Linux 12", ("bridge", "router"), ip)
    behind = tuple(Station(guest, vlan) for guest, vlan in guests)
    return Box(name, (Station(mac, ip=ip), *behind), adverts=(advert,))


def unmanaged_switch(name: str, sockets: int = 5, *, passes_lldp: bool = True) -> Box:
    """A small switch without an address of its own; its sockets are `1` to `sockets`. Many pass LLDP on."""
    return Box(name, sockets=tuple(str(n) for n in range(1, sockets + 1)), bridges=True, passes_lldp=passes_lldp)


def router(name: str, mac: str, vlans: Iterable[int | None], *, socket: str = "", gateway: str = "") -> Box:
    """A router or firewall: one address in all its VLANs; `gateway` is a virtual address that it answers for."""
    stations = [Station(mac, vlan, socket) for vlan in vlans]
    if gateway:
        stations += [Station(gateway, vlan, socket) for vlan in vlans]
    return Box(name, tuple(stations), sockets=(socket,))
