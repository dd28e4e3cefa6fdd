"""A small Saltmarsh Field Station that really exists: three switches, five devices, and the map of it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.lab.network import Network, Socket

SWITCHES = ("core", "wet-lab", "boat-shed")
DEVICES: dict[str, tuple[Socket, bool]] = {
    "microscope": (("wet-lab", "swp2"), True),
    "tide-gauge": (("wet-lab", "swp3"), False),
    "notebook": (("boat-shed", "swp2"), True),
    "camera": (("boat-shed", "swp3"), False),
    "logger": (("core", "swp4"), False),
}
"""Where each device is plugged in, and whether it speaks LLDP."""

UPLINKS: tuple[tuple[Socket, Socket], ...] = (
    (("core", "swp1"), ("wet-lab", "swp1")),
    (("core", "swp2"), ("boat-shed", "swp1")),
)

NEIGHBOURS: dict[str, dict[str, str]] = {
    "core": {"swp1": "wet-lab", "swp2": "boat-shed"},
    "wet_lab": {"swp1": "core", "swp2": "microscope"},
    "boat_shed": {"swp1": "core", "swp2": "notebook"},
}


def build(network: Network) -> None:
    """Plugs everything in as the map has it, and waits until every switch knows."""
    for switch in SWITCHES:
        network.add_switch(switch)
    for device, (_, lldp) in DEVICES.items():
        network.add_host(device, lldp=lldp)
    for one, other in UPLINKS:
        network.cable(one, other)
    for device, (socket, _) in DEVICES.items():
        network.cable(socket, (device, "eth0"))
    network.speak(*DEVICES)
    network.settle(**NEIGHBOURS)


def write_site(network: Network, folder: Path) -> Path:
    """The site folder with its map, every switch asked by SNMP and SSH."""
    (folder / "map").mkdir(parents=True)
    keys = network.namespaces.folder
    asked = (
        f'[[switch]]\nname = "{name}"\naddress = "{network.nodes[name].address}"\nssh = {{}}\n' for name in SWITCHES
    )
    (folder / "toneout.toml").write_text(
        '[site]\nname = "Saltmarsh Field Station"\n[snmp]\ncommunity = "env:TONEOUT_LAB_COMMUNITY"\n'
        f'[ssh]\nplatform = "linux"\nuser = "root"\nkey_file = "{keys}/key"\nknown_hosts = "{keys}/known_hosts"\n'
        + "".join(asked)
    )
    switches = "".join(f'{name},"swp1-6, mgmt0"\n' for name in SWITCHES)
    (folder / "map" / "switches.csv").write_text(f"name,ports\n{switches}")
    devices = "".join(f"{device},instrument,{network.nodes[device].macs['eth0']}\n" for device in DEVICES)
    consoles = "".join(f"console-{name},console,\n" for name in SWITCHES)
    (folder / "map" / "devices.csv").write_text(f"name,kind,mac\n{devices}{consoles}")
    ends = [(f"{a}:{b}", f"{c}:{d}") for (a, b), (c, d) in UPLINKS]
    ends += [(f"{switch}:{port}", device) for device, ((switch, port), _) in DEVICES.items()]
    ends += [(f"{name}:mgmt0", f"console-{name}") for name in SWITCHES]
    cords = "".join(f"C-{number},{one},{other}\n" for number, (one, other) in enumerate(ends, 1))
    (folder / "map" / "cords.csv").write_text(f"label,a,b\n{cords}")
    return folder


def toneout(network: Network, site: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The real command, run where the switches can be reached."""
    command = network.tester_command(str(Path(sys.executable).with_name("toneout")), "--site", str(site), *arguments)
    environment = {**os.environ, **network.secrets()}
    return subprocess.run(command, capture_output=True, text=True, env=environment, timeout=120, check=False)
