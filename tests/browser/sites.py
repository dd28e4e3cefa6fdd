"""Sites for the page: the demo, one whose every word is hostile, and one of 100 switches."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from collectors.snapshot import MAX_TEXT, CollectedSwitch, Neighbour, Snapshot
from reconcile.patchmap.files import read_map
from reconcile.patchmap.model import Cord, Device, End, FixedCable, Outlet, Panel, PatchMap, Switch
from reconcile.pipeline import Comparison, compare
from reconcile.site import load_site
from reconcile.waivers import Waiver, apply_waivers
from tests.nasty import NASTY
from tests.reconcile.handmade_network import answer, heard, port, snapshot
from tests.worlds.saltmarsh import drifted
from tests.worlds.snapshots import snapshot_of

SALTMARSH = Path(__file__).resolve().parents[2] / "fixtures" / "sites" / "saltmarsh"


def saltmarsh() -> Comparison:
    """The demo's site as its switches see it after the drift."""
    patch_map, _ = read_map(load_site(SALTMARSH))
    return compare(patch_map, snapshot_of(drifted()))


UNTIL, REASON = date(2027, 3, 31), "lent to the imaging room until the spring survey"


def accepted(*devices: str) -> Comparison:
    """The demo's site, the differences of some devices accepted."""
    found = saltmarsh()
    waivers = [Waiver(f.key, UNTIL, REASON) for f in found.result.findings if f.device in devices]
    return replace(found, result=apply_waivers(found.result, waivers))


def mac(number: int) -> str:
    """One address per number, of a block that the IEEE gave to a maker of workstations (20:47:47)."""
    return "20:47:47:" + ":".join(f"{number:06x}"[i : i + 2] for i in (0, 2, 4))


def wired(switches: int, ports: int) -> tuple[PatchMap, Snapshot]:
    """A tree of switches beneath the first; every other port has its device through panel and outlet, as documented.

    The device at the third port of each switch is really at the fourth, and the other way round.
    """
    patch_map = PatchMap(site="Saltmarsh Field Station")
    answers = [_switch(patch_map, number, switches, ports) for number in range(switches)]
    return patch_map, snapshot(*answers)


def _switch(patch_map: PatchMap, number: int, switches: int, ports: int) -> CollectedSwitch:
    name, panel, rack = f"sw-{number:03}", f"PP-{number:03}", f"R{number // 4}"
    names = [f"Gi1/0/{n}" for n in range(1, ports + 1)]
    where = {"room": f"closet {number // 8}", "rack": rack}
    patch_map.switches.append(
        Switch(name=name, model="24-port", unit=str(number % 4 * 2 + 2), ports=tuple(names), **where)
    )
    jacks = tuple(str(n) for n in range(1, ports + 1))
    patch_map.panels.append(Panel(name=panel, jacks=jacks, unit=str(number % 4 * 2 + 1), category="6A", **where))
    rows = [(mac(1 + number * ports + n), names[{2: 3, 3: 2}.get(n, n)]) for n in range(2, ports)]
    for n in range(2, ports):
        _place(patch_map, number, n, names[n], mac(1 + number * ports + n))
    if number:
        upper = (number - 1) // 8
        patch_map.cords.append(
            Cord(label=f"U{number}", a=End(name, names[0]), b=End(f"sw-{upper:03}", f"Te1/1/{number - upper * 8}"))
        )
    down = [f"Te1/1/{n}" for n in range(1, 9) if number * 8 + n < switches]
    patch_map.switches[-1] = patch_map.switches[-1].model_copy(update={"ports": (*names, *down)})
    said = [port(n, "up" if i >= 2 or (i == 0 and number) else "down") for i, n in enumerate(names)]
    neighbours = [_neighbour(n, f"sw-{number * 8 + int(n[6:]):03}", names[0]) for n in down]
    if number:
        upper = (number - 1) // 8
        neighbours.append(_neighbour(names[0], f"sw-{upper:03}", f"Te1/1/{number - upper * 8}"))
    return answer(name, [*said, *(port(n) for n in down)], heard(*rows), neighbours)


def _neighbour(here: str, name: str, there: str) -> Neighbour:
    return Neighbour(port=here, system_name=name, port_id=there, port_id_kind="interfaceName", chassis_id=name)


def _place(patch_map: PatchMap, number: int, n: int, name: str, address: str) -> None:
    outlet = f"O-{number:03}-{n + 1:02}"
    panel = End(f"PP-{number:03}", str(n + 1))
    room = f"room {number}.{n // 8}"
    patch_map.outlets.append(Outlet(name=outlet, room=room, jacks=("1",)))
    patch_map.cords.append(
        Cord(label=f"C-{number:03}-{n + 1:02}", a=End(f"sw-{number:03}", name), b=panel, length_m=1.5)
    )
    patch_map.fixed_cables.append(
        FixedCable(label=f"F-{number:03}-{n + 1:02}", a=panel, b=End(outlet, "1"), length_m=30)
    )
    patch_map.devices.append(
        Device(name=f"ws-{number:03}-{n + 1:02}", kind="workstation", macs=(address,), at=End(outlet, "1"), room=room)
    )


def hostile() -> Comparison:
    """Every text that a map, a switch or a neighbour can choose is one of the nasty strings."""
    # As snapshots and maps let them through: bounded, and text that can be encoded.
    said = (text[:MAX_TEXT].encode("utf-8", "replace").decode() for text in NASTY.values())
    nasty = [text for text in said if text.strip() and not text.isdecimal()]
    patch_map = PatchMap(site=nasty[0])
    ports, rows, neighbours = [], [], []
    for n, text in enumerate(nasty):
        name = f"p{n}"
        panel, outlet = f"{text} panel {n}", f"{text} outlet {n}"
        patch_map.panels.append(Panel(name=panel, jacks=(text,), room=text, rack=text, unit=text, note=text))
        patch_map.outlets.append(Outlet(name=outlet, room=text, jacks=(text,), note=text))
        patch_map.cords.append(Cord(label=text, a=End("sw-a", name), b=End(panel, text), colour=text, note=text))
        patch_map.fixed_cables.append(FixedCable(label=text, a=End(panel, text), b=End(outlet, text), note=text))
        patch_map.devices.append(
            Device(name=f"{text} device {n}", kind=text, macs=(mac(n),), at=End(outlet, text), owner=text, note=text)
        )
        ports.append(port(name, alias=text, descr=text))
        rows.append((mac(n if n % 3 else n + 5000), name))
        neighbours.append(Neighbour(port=name, system_name=text, port_id=text, port_description=text, chassis_id=text))
    patch_map.switches.append(Switch(name="sw-a", model=nasty[-1], room=nasty[3], rack=nasty[4], note=nasty[5]))
    patch_map.switches.append(Switch(name=NASTY["script"], room=NASTY["script"]))
    return compare(patch_map, snapshot(answer("sw-a", ports, heard(*rows), neighbours), failed=[NASTY["script"]]))
