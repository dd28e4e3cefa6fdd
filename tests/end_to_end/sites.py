"""Site folders of the fixtures, served over UDP: copies whose switches are simulated ones on loopback."""

from __future__ import annotations

import shutil
from collections.abc import Collection, Mapping
from pathlib import Path

import tomlkit

COMMUNITY = "saltmarsh-read"


def copy_of(
    site: Path,
    folder: Path,
    endpoints: Mapping[str, tuple[str, int]],
    *,
    silent_port: int,
    hasty: Collection[str] = (),
) -> Path:
    """A copy of the site folder whose toneout.toml points at these endpoints, by the switches' names.

    A switch without an endpoint is asked at `silent_port`, where nobody answers; `hasty` names switches that leave
    some questions without an answer. The secret file is written as a person would.
    """
    shutil.copytree(site, folder)
    shutil.rmtree(folder / "recordings")
    path = folder / "toneout.toml"
    settings = tomlkit.parse(path.read_text("utf-8"))
    settings["snmp"]["timeout"] = 10.0  # a loaded test machine is no silent switch
    for switch in settings["switch"]:
        host, port = endpoints.get(str(switch["name"]), ("127.0.0.1", silent_port))
        switch["address"] = host
        switch["snmp"]["port"] = port
        if switch["name"] not in endpoints:
            switch["snmp"]["timeout"] = 0.2
            switch["snmp"]["retries"] = 0
        elif switch["name"] in hasty:
            switch["snmp"]["timeout"] = 3.0
            switch["snmp"]["retries"] = 1
    path.write_text(tomlkit.dumps(settings), "utf-8")
    secret = folder / "secrets" / "community"
    secret.parent.mkdir(exist_ok=True)
    secret.touch(mode=0o600)
    secret.write_text(COMMUNITY + "\n")
    return folder
