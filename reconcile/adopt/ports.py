"""The lists of ports in the map's rows of switches, where something is plugged into a port that they do not have."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from reconcile.adopt.scene import Scene
from reconcile.adopt.wish import Plan
from reconcile.patchmap.edit.changes import AddCord, AddDevice, Change, MovePlug, Replug, SetPorts
from reconcile.patchmap.index import MapIndex, NoPlace, natural
from reconcile.patchmap.model import End, PatchMap, fold
from reconcile.picture import Picture
from reconcile.ports import PortBook, is_socket

_NUMBERED = re.compile(r"(.*?)(\d{1,9})")


def listed_ports(plan: Plan, scene: Scene) -> None:
    """Adds the new lists where a change puts something into a port that the switch's row does not list."""
    plan.changes += port_lists(plan.changes, scene.patch_map, scene.picture, plan.says)


def port_lists(
    changes: Iterable[Change],
    patch_map: PatchMap,
    picture: Picture,
    says: list[str],
    renames: Mapping[str, str] | None = None,
) -> list[SetPorts]:
    """A list of its ports for every switch that got something into a port that its row does not list.

    Where the switch has all the listed ports, the new ones come behind; else it has other ports than listed, and the
    list becomes that of its sockets. `renames` has the new names of switches.
    """
    index, found = MapIndex(patch_map), []
    ends = list(_ends(changes))
    for switch in patch_map.switches:
        name = (renames or {}).get(switch.name, switch.name)
        new = [end.position for end in ends if fold(end.name) == fold(name)]
        new = [p for p in new if isinstance(index.place(End(switch.name, p)), NoPlace)]
        if not switch.ports or not new:
            continue
        there = [port for ref, port in picture.ports.items() if fold(ref.switch) == fold(name)]
        book, sockets = PortBook(there), [port.name for port in there if is_socket(port)]
        kept = all(book.find(port).port for port in switch.ports)
        names = [*switch.ports, *dict.fromkeys(new)] if kept else [*sockets, *(p for p in new if p not in sockets)]
        found.append(SetPorts(switch.name, ranges(names)))
        says.append(f"the ports of {name} are {found[-1].ports}")
    return found


def ranges(names: Sequence[str]) -> str:
    """`Gi1/0/1-24, Te1/1/1-4` for names that count up by one; a single name as it is."""
    runs: list[list[str]] = []
    for name in sorted(dict.fromkeys(names), key=natural):
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}-{_number(run[-1])}" for run in runs)


def _follows(one: str, other: str) -> bool:
    """True when a range written in short reads as both: the same stem, the next number, no leading zeros."""
    a, b = _NUMBERED.fullmatch(one), _NUMBERED.fullmatch(other)
    if not a or not b or a[1] != b[1] or a[2].startswith("0") != (a[2] == "0") or b[2].startswith("0"):
        return False
    return int(b[2]) == int(a[2]) + 1


def _number(name: str) -> str:
    found = _NUMBERED.fullmatch(name)
    return found[2] if found else name


def _ends(changes: Iterable[Change]) -> Iterator[End]:
    for change in changes:
        match change:
            case Replug() | MovePlug():
                yield change.now
            case AddDevice():
                yield change.at
            case AddCord():
                yield from (change.port, change.there)
            case _:
                pass
