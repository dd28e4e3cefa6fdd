"""Builds a world in which the map and the reality agree: every documented cable runs, every device is plugged in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from reconcile.patchmap import model as record
from reconcile.patchmap.model import PatchMap
from tests.worlds.dialects import Dialect
from tests.worlds.model import Box, Cable, Port, Switch, World, end


class Builder:
    """Collects rows of the map and their physical counterparts; `build` hands over the world.

    Ends are written `NAME:POSITION`, as in the map. Further keywords go into the row of the map.
    """

    def __init__(self, site: str) -> None:
        self._record = PatchMap(site=site)
        self._switches: list[Switch] = []
        self._boxes: list[Box] = []
        self._cables: list[Cable] = []

    def switch(
        self,
        name: str,
        dialect: Dialect,
        ports: int,
        *,
        mac: str,
        vlans: Mapping[int, str],
        access: Mapping[int, int] | None = None,
        tagged: Mapping[int, int] | None = None,
        trunks: Iterable[int] = (),
        powered_ports: Iterable[int] = (),
        speeds: Mapping[int, int] | None = None,
        aliases: Mapping[int, str] | None = None,
        management_vlan: int = 1,
        address: str = "",
        routes: bool = False,
        answers: bool = True,
        system_name: str = "",
        **row: Any,
    ) -> Switch:
        """A switch with ports 1 to `ports`. `access` and `tagged` give VLANs by port number; trunks carry all.

        A port in none of them is in the first VLAN, which trunks carry untagged.
        """
        trunked, powered = set(trunks), set(powered_ports)
        first = min(vlans)
        built = Switch(
            name=name,
            mac=mac,
            dialect=dialect,
            ports=tuple(
                Port(
                    name=dialect.name_of(n),
                    number=n,
                    vlan=first if n in trunked else (access or {}).get(n, first),
                    tagged=tuple(v for v in vlans if v != first)
                    if n in trunked
                    else tuple(v for v in ((tagged or {}).get(n),) if v),
                    supplies_power=n in powered,
                    speed=(speeds or {}).get(n, 1000),
                    alias=(aliases or {}).get(n, ""),
                )
                for n in range(1, ports + 1)
            ),
            vlans=tuple(sorted(vlans.items())),
            management_vlan=management_vlan,
            address=address,
            routes=routes,
            answers=answers,
            system_name=system_name,
            location=row.get("room", ""),
        )
        self._switches.append(built)
        self._record.switches.append(
            record.Switch(name=name, ports=tuple(port.name for port in built.ports), **{"model": dialect.model, **row})
        )
        return built

    def port(self, switch: str, number: int) -> str:
        """`SWITCH:PORT` of a switch that was added before, by the port's number."""
        names = {built.name: built.dialect for built in self._switches}
        return f"{switch}:{names[switch].name_of(number)}"

    def panel(self, name: str, jacks: int, **row: Any) -> None:
        """A panel with jacks 1 to `jacks`."""
        numbers = tuple(str(n) for n in range(1, jacks + 1))
        self._record.panels.append(record.Panel(name=name, jacks=numbers, **row))

    def outlet(self, name: str, jacks: int = 1, **row: Any) -> None:
        """An outlet plate with jacks 1 to `jacks`."""
        numbers = tuple(str(n) for n in range(1, jacks + 1))
        self._record.outlets.append(record.Outlet(name=name, jacks=numbers, **row))

    def fixed(self, label: str, a: str, b: str, **row: Any) -> None:
        """A fixed cable between two jacks."""
        self._record.fixed_cables.append(record.FixedCable(label=label, a=end(a), b=end(b), **row))
        self._cables.append(Cable(label, end(a), end(b)))

    def tie(self, label: str, a: str, b: str, jacks: int, **row: Any) -> None:
        """Tie cables `label`1, `label`2, ... from jacks 1 to `jacks` of panel `a` to the same jacks of panel `b`."""
        for jack in range(1, jacks + 1):
            self.fixed(f"{label}{jack}", f"{a}:{jack}", f"{b}:{jack}", **row)

    def cord(self, label: str, a: str, b: str, **row: Any) -> None:
        """A cord."""
        self._record.cords.append(record.Cord(label=label, a=end(a), b=end(b), **row))
        self._cables.append(Cable(label, end(a), end(b)))

    def device(
        self, box: Box, *, at: str = "", macs: tuple[str, ...] | None = None, plugged_in: bool = True, **row: Any
    ) -> None:
        """A documented device, its own lead plugged in at `at` unless `plugged_in` is false.

        `macs`: as documented, else those of the box itself. For a box that carries others, give its own, so that
        what is behind it stays undocumented.
        """
        known = tuple(dict.fromkeys(station.mac for station in box.stations)) if macs is None else macs
        place = end(at) if at else None
        self._record.devices.append(record.Device(name=box.name, macs=known, at=place, **row))
        self._boxes.append(box)
        if place and plugged_in:
            self._cables.append(Cable("", place, end(f"{box.name}:{box.sockets[0]}")))

    def undocumented(self, box: Box, *, at: str = "") -> None:
        """A box that the map does not know."""
        self._boxes.append(box)
        if at:
            self._cables.append(Cable("", end(at), end(f"{box.name}:{box.sockets[0]}")))

    def build(self) -> World:
        """The world as collected so far."""
        return World(
            record=self._record,
            switches=tuple(self._switches),
            boxes=tuple(self._boxes),
            cables=tuple(self._cables),
        )
