"""Several states of one site at once: each world's switches simulated, the site folder pointed at one or another."""

from __future__ import annotations

import socket
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import tomlkit
from typer.testing import CliRunner, Result

from collectors.simulator import Simulator
from reconcile.cli.commands import app
from tests.end_to_end.sites import COMMUNITY, copy_of
from tests.worlds import snmprec
from tests.worlds.files import SITES
from tests.worlds.model import World
from tests.worlds.observe import observe


@dataclass(frozen=True)
class Worlds:
    """Where the switches of each world answer; and a port where nobody does."""

    endpoints: Mapping[str, Mapping[str, tuple[str, int]]]
    silent_port: int

    def site(self, folder: Path, world: str) -> Path:
        """A copy of the demo's site folder, asking the switches of that world."""
        return copy_of(SITES / "saltmarsh", folder / "site", self.endpoints[world], silent_port=self.silent_port)

    def turn(self, site: Path, world: str, rename: Mapping[str, str] | None = None) -> None:
        """Points the folder at another world; `rename` is what a person does who puts in a switch of another name."""
        path = site / "toneout.toml"
        settings = tomlkit.parse(path.read_text("utf-8"))
        for switch in settings["switch"]:
            switch["name"] = (rename or {}).get(str(switch["name"]), str(switch["name"]))
            host, port = self.endpoints[world].get(str(switch["name"]), ("127.0.0.1", self.silent_port))
            switch["address"] = host
            switch["snmp"]["port"] = port
            if port == self.silent_port:
                switch["snmp"]["timeout"] = 0.2
                switch["snmp"]["retries"] = 0
        path.write_text(tomlkit.dumps(settings), "utf-8")


@contextmanager
def served(folder: Path, worlds: Mapping[str, World]) -> Iterator[Worlds]:
    """Simulates every switch that answers, of every world."""
    paths = {}
    for name, world in worlds.items():
        (folder / name).mkdir()
        answering = {f"{switch.name}.snmprec" for switch in world.switches if switch.answers}
        for file, text in snmprec.recordings(world, observe(world)).items():
            if file in answering:
                paths[f"{name}/{file.removesuffix('.snmprec')}"] = folder / name / file
                (folder / name / file).write_text(text, "utf-8")
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mute,
        Simulator(paths, community=COMMUNITY) as simulator,
    ):
        mute.bind(("127.0.0.1", 0))
        endpoints: dict[str, dict[str, tuple[str, int]]] = {name: {} for name in worlds}
        for path in paths:
            world_name, _, switch = path.partition("/")
            endpoints[world_name][switch] = simulator.endpoints[path]
        yield Worlds(endpoints, mute.getsockname()[1])


def run(site: Path, *arguments: str | Path) -> Result:
    """The command, on that site."""
    return CliRunner().invoke(app, ["--site", str(site), "-q", *map(str, arguments)], prog_name="toneout")
