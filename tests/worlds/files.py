"""Writes a world as a site folder: toneout.toml, the map, a recording per switch, and what is expected of a report."""

from __future__ import annotations

from pathlib import Path

from tests.worlds import maps, snmprec
from tests.worlds.expected import Expectation
from tests.worlds.model import World
from tests.worlds.observe import observe

SITES = Path(__file__).parents[2] / "fixtures" / "sites"
FIRST_PORT = 16101  # above the well-known ports, so that nobody needs privileges; one port a switch


def site_files(world: World, expectation: Expectation, *, comment: str = "") -> dict[str, str]:
    """Path within the folder to text, for the whole site folder."""
    files = {"toneout.toml": _toneout_toml(world, comment), "expected.toml": expectation.to_toml()}
    files |= {f"map/{name}": text for name, text in maps.csv_files(world.record).items()}
    files |= {f"recordings/{name}": text for name, text in snmprec.recordings(world, observe(world)).items()}
    return files


def write_site(folder: Path, files: dict[str, str]) -> None:
    """Makes the folder hold these files and no others of their kinds."""
    for old in folder.glob("**/*"):
        if old.is_file() and str(old.relative_to(folder)) not in files:
            old.unlink()
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8", newline="\n")


def read_site(folder: Path) -> dict[str, str]:
    """The files of a folder as `site_files` gives them."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes().decode("utf-8")
        for path in sorted(folder.glob("**/*"))
        if path.is_file()
    }


def _toneout_toml(world: World, comment: str) -> str:
    lines = [f"# {line}" if line else "#" for line in comment.splitlines()]
    lines += [
        "[site]",
        f'name = "{world.record.site}"',
        "",
        "[map]",
        'form = "tables"',
        'path = "map"',
        "",
        "[snmp] # how to ask every switch below, unless its own table says otherwise",
        'version = "2c"',
        'community = "file:secrets/community" # where the community is kept, never the community itself',
        "timeout = 1.0",
        "retries = 1",
    ]
    for number, switch in enumerate(world.switches):
        lines += [
            "",
            "[[switch]]",
            f'name = "{switch.name}"',
            'address = "127.0.0.1"',
            f"snmp.port = {FIRST_PORT + number}",
        ]
    return "\n".join(lines) + "\n"
