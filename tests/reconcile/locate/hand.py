"""Networks of a few switches, written down as what each of them sees: `lab="x:1 y:9"` has x on port 1, y on port 9."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from collectors.names import int_to_mac
from collectors.snapshot import CollectedSwitch, Neighbour, Port, Sighting, Snapshot
from reconcile.frames import Observed, observe
from reconcile.locate.engine import examine, tell
from reconcile.locate.placement import Grade, Located, PortRef

TAKEN = datetime(2024, 5, 1, tzinfo=UTC)
_STATIONS = 0x00_1B_21_00_00_00
_SWITCHES = 0x00_1B_22_00_00_00


def mac(name: str) -> str:
    """The address of a station; an address stands for itself."""
    return name if ":" in name else int_to_mac(_STATIONS + int.from_bytes(name.encode()[:3], "big"))


class Hand:
    """Switches by name, each with what it sees. `own`: the port on which one sees all the others."""

    def __init__(
        self, own: Mapping[str, str] | None = None, ports: Mapping[str, int] | None = None, **tables: str
    ) -> None:
        self.names = list(tables)
        self._own = own or {}
        self._ports = ports or {}
        self._tables = {
            name: [(mac(station), 1, port) for station, _, port in (row.partition(":") for row in seen.split())]
            for name, seen in tables.items()
        }

    def chassis(self, name: str) -> str:
        """The address of a switch itself."""
        return int_to_mac(_SWITCHES + self.names.index(name))

    def snapshot(
        self,
        more: Mapping[str, Sequence[tuple[str, int, str]]] | None = None,
        neighbours: Mapping[str, Sequence[Neighbour]] | None = None,
        blocked: Sequence[str] = (),
    ) -> Snapshot:
        """What the collector hands over. `more`: further rows (address, VLAN, port); `blocked`: by spanning tree."""
        switches = []
        for name, table in self._tables.items():
            rows = [*table, *(more or {}).get(name, ())]
            rows += [
                (self.chassis(other), 1, self._own[name]) for other in self.names if other != name and name in self._own
            ]
            count = self._ports.get(name, 9)
            ports = [
                Port(name=str(n), oper="up", spanning_tree="blocking" if f"{name}:{n}" in blocked else None)
                for n in range(1, count + 1)
            ]
            switches.append(
                CollectedSwitch(
                    name=name,
                    started=TAKEN,
                    chassis_id=self.chassis(name),
                    own_macs=[self.chassis(name)],
                    ports=ports,
                    sightings=[Sighting(address, vlan, port) for address, vlan, port in rows],
                    neighbours=list((neighbours or {}).get(name, ())),
                )
            )
        return Snapshot(started=TAKEN, finished=TAKEN, switches=switches)

    def observed(self, **more: object) -> Observed:
        """The same as columns."""
        return observe(self.snapshot(**more))  # type: ignore[arg-type] # handed through

    def located(self, links: Sequence[tuple[PortRef, PortRef]] = (), margin: int = 1, **more: object) -> Located:
        """The placement; by hand one witness is enough, for nothing here is dirty."""
        return tell(examine(self.observed(**more), links, margin))


def certain(located: Located) -> dict[str, str]:
    """Certain placements of stations whose name has one or two letters."""
    names = {mac(n): n for a in "abcdefghijklmnopqrstuvwxyz" for n in (a, a + "1", a + "2")}
    return {names[p.mac]: str(p.at) for p in located.placements.values() if p.grade is Grade.CERTAIN and p.mac in names}


def ends(located: Located) -> set[frozenset[str]]:
    """Certain wires as sets of ports."""
    return {frozenset(map(str, w.ends)) for w in located.wires if w.grade is Grade.CERTAIN}
