"""Hypothesis strategies for small consistent worlds: any tree of switches, any family, any way to the devices."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

from tests.worlds.build import Builder
from tests.worlds.dialects import NUMBERED, OFFSET, PLAIN_ETHERNET, SLOTTED, STACKED
from tests.worlds.equipment import access_point, host, hypervisor, phone, unmanaged_switch
from tests.worlds.model import World

FAMILIES = (STACKED, SLOTTED, NUMBERED, PLAIN_ETHERNET, OFFSET)
PORTS = 9
VLANS = {1: "default", 10: "lab", 20: "voice"}


@dataclass
class Small:
    """A world without drift, and the places that a test may meddle with: all written `SWITCH:PORT`."""

    world: World
    at: dict[str, str] = field(default_factory=dict)  # device with an address of its own and nobody behind it -> port
    free: list[str] = field(default_factory=list)  # access ports with nothing plugged in
    trunks: list[tuple[str, str]] = field(default_factory=list)  # end of an uplink, free trunk port of that switch


@st.composite
def small_worlds(draw: st.DrawFn, *, least_devices: int = 0) -> Small:
    """Two to four switches in a tree, up to four devices on each.

    Devices are plugged into the switch, or reached through a panel and an outlet, or through two tied panels. Each
    stands alone, or carries others. `least_devices` devices that stand alone are there at least.
    """
    site = Builder("small")
    count = draw(st.integers(2, 4))
    for n in range(count):
        site.switch(
            f"sw{n}", draw(st.sampled_from(FAMILIES)), PORTS, mac=f"00:00:5e:00:{n:02x}:00", vlans=VLANS,
            access=dict.fromkeys(range(1, 6), 10), tagged=dict.fromkeys(range(1, 6), 20), trunks=range(6, PORTS + 1),
        )  # fmt: skip
        for panel in ("F", "R"):
            site.panel(f"{panel}{n}", PORTS)
        site.tie(f"t{n}-", f"F{n}", f"R{n}", 4)
        for jack in range(5, PORTS + 1):
            site.outlet(f"O{n}-{jack}")
            site.fixed(f"c{n}-{jack}", f"F{n}:{jack}", f"O{n}-{jack}:1")
    free = {n: list(range(1, PORTS + 1)) for n in range(count)}
    uplinks: list[tuple[str, int]] = []
    for n in range(1, count):
        parent = draw(st.integers(0, n - 1))
        ends = site.port(f"sw{n}", free[n].pop()), site.port(f"sw{parent}", free[parent].pop())
        site.cord(f"u{n}", *ends)
        uplinks += zip(ends, (n, parent), strict=True)
    small = Small(site.build())
    kinds = st.sampled_from(("alone", "alone", "alone", "phone", "access point", "hypervisor", "unmanaged switch"))
    wanted = [draw(st.lists(kinds, max_size=4)) for _ in range(count)]
    wanted[draw(st.integers(0, count - 1))] = ["alone"] * max(least_devices, 1)
    for n, devices in enumerate(wanted):
        for number, kind in enumerate(devices):
            name, port = f"d{n}-{number}", site.port(f"sw{n}", free[n].pop(0))
            place = _way(site, n, number + 1, port, draw(st.sampled_from(("direct", "outlet", "tie"))))
            _device(site, name, kind, place, f"{n:02x}:{number:02x}")
            if kind == "alone":
                small.at[name] = port
    small.world = site.build()
    small.free = [site.port(f"sw{n}", port) for n in range(count) for port in free[n] if port < 6]
    small.trunks = [(end, site.port(f"sw{n}", free[n][-1])) for end, n in uplinks]
    return small


def _way(site: Builder, n: int, number: int, port: str, way: str) -> str:
    """Documents how one gets from the switch port to where the device is plugged in; the latter."""
    if way == "direct":
        return port
    jack = number if way == "tie" else number + 4
    site.cord(f"p{n}-{number}", port, f"F{n}:{jack}")
    return f"R{n}:{jack}" if way == "tie" else f"O{n}-{jack}:1"


def _device(site: Builder, name: str, kind: str, at: str, address: str) -> None:
    mac, second, third = (f"00:30:de:{kind_octet}:{address}" for kind_octet in ("01", "02", "03"))
    if kind == "alone":
        site.device(host(name, mac), at=at)
    elif kind == "phone":
        site.device(phone(name, mac, 20, ip="10.0.0.9", pc="pc"), at=at, kind=kind, carries=True)
        site.undocumented(host(f"{name}-pc", second), at=f"{name}:pc")
    elif kind == "access point":
        box = access_point(name, mac, clients=[(second, 20), (f"02{third[2:]}", None)])
        site.device(box, at=at, macs=(mac,), kind=kind, carries=True)
    elif kind == "hypervisor":
        box = hypervisor(name, mac, guests=[(f"52:54:00:00:{address}", None), (second, 20)])
        site.device(box, at=at, macs=(mac,), kind=kind, carries=True)
    else:
        site.device(unmanaged_switch(name), at=at, macs=(), kind=kind, carries=True)
        site.undocumented(host(f"{name}-one", second), at=f"{name}:2")
        site.undocumented(host(f"{name}-two", third), at=f"{name}:3")
