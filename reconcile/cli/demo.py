"""`toneout demo` and `toneout simulate`: the commands without switches of one's own.

What `simulate` expects of a site folder, and what the demo site therefore has:

- `recordings/NAME.snmprec` for every switch that shall answer; a switch without a recording stays silent;
- in toneout.toml, for each of them, address 127.0.0.1 and a `snmp.port` of its own above 1024, so that
  `toneout simulate SITE` in one terminal and `toneout --site SITE reconcile --collect` in another meet;
- one community for all, given as `file:PATH`. The file is not in the repository (nothing there can have mode 0600):
  `demo` writes it with DEMO_COMMUNITY inside.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.asking import ask_site, keep
from reconcile.cli.compare import report
from reconcile.cli.options import Format, common, open_map, open_site
from reconcile.cli.streams import columns, show
from reconcile.errors import SiteError
from reconcile.reports.escape import visible
from reconcile.reports.layout import Sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from collectors.access import SwitchAccess
    from reconcile.result import Result
    from reconcile.site import Site

DEMO_COMMUNITY = "saltmarsh-read"
_NOT_FOR_PLAYING = shutil.ignore_patterns("expected*", "snapshots", "*.py", "__pycache__")
_NOT_FOR_READING = shutil.ignore_patterns("*.py", "__pycache__")
_LOOPBACK = ("127.0.0.1", "localhost")


def demo(
    context: typer.Context,
    folder: Annotated[Path | None, typer.Argument(metavar="DIR", help="The folder to make.")] = None,
    limits: Annotated[
        bool, typer.Option("--limits", help="Another invented site: all as documented, and hardly a channel sound.")
    ] = False,
) -> None:
    """Show a whole run on an invented site with drift.

    Makes the site folder, starts simulated switches on this machine, asks them over real UDP, and reports. The folder
    stays, to play with.
    """
    from collectors.simulator import Simulator
    from reconcile import pipeline
    from reconcile.site import load_site

    if limits:
        _demo_of_limits(context, folder or Path("hatchery"))
        return
    folder = folder or Path("saltmarsh")
    lay_out(folder)
    site = load_site(folder)
    if not common(context).quiet:
        sheet = Sheet(columns(None))
        sheet.say(f"{site.name}: an invented site, now in {folder}. Its switches are simulated on this machine.")
        show(f"{sheet}\n")
    recordings, community, _ = simulated(site)
    with Simulator(recordings, community=community) as simulator:  # free ports: the site's own may be taken
        asked = replace(site, accesses=tuple(_at(simulator.endpoints, access) for access in site.accesses))
        snapshot = ask_site(asked, quiet=common(context).quiet)
    keep(snapshot, site)
    result = pipeline.reconcile(open_map(site).patch_map, snapshot)
    show(report(result, Format.TEXT, None))
    show(_next_steps(folder, result))


def _demo_of_limits(context: typer.Context, folder: Path) -> None:
    """Two snapshots a day apart lie in the folder already: errors rise only between two."""
    from reconcile.cli.limits import limits

    _copy("limits_site", "cable-limits", folder, _NOT_FOR_READING)
    if not common(context).quiet:
        show(f"An invented site, now in {folder}; go there and try toneout limits, spare and cords.\n\n")
    with contextlib.suppress(typer.Exit):  # what it finds is what a demo is for
        limits(context, site=folder)


def simulate(
    context: typer.Context,
    folder: Annotated[
        Path | None, typer.Argument(metavar="SITE", help="The site folder. Default: the nearest from here upwards.")
    ] = None,
) -> None:
    """Serve a site's recordings as simulated switches.

    They answer on this machine only, until Ctrl-C.
    """
    from collectors.simulator import serve_forever

    site = open_site(context, folder)
    recordings, community, ports = simulated(site)
    waiting = set(recordings)

    def announce(name: str, endpoint: tuple[str, int]) -> None:
        note = "" if name in ports else "  (toneout.toml asks elsewhere)"
        show(visible(f"{name} answers at {endpoint[0]} UDP port {endpoint[1]}{note}") + "\n")
        waiting.discard(name)
        if not waiting:
            show(f"Ask them from another terminal: toneout --site {site.folder} reconcile --collect\nCtrl-C ends.\n")

    serve_forever(recordings, announce, community=community, ports=ports)


def demo_source(packed: str = "demo_site", story: str = "saltmarsh") -> Path:
    """A demo site: inside the installed package, or in fixtures/ of a checkout."""
    import reconcile

    package = Path(reconcile.__file__).parent
    for place in (package / packed, package.parent / "fixtures" / "sites" / story):
        if (place / "toneout.toml").is_file():
            return place
    raise SiteError(str(package), "the demo site is not installed", "pip install --force-reinstall toneout")


def lay_out(folder: Path) -> None:
    """Copies the demo site, and writes the file with its community, closed to others. Never overwrites anything."""
    from reconcile.site import load_site

    _copy("demo_site", "saltmarsh", folder, _NOT_FOR_PLAYING)
    for access in load_site(folder).accesses:
        reference = access.snmp.community if access.snmp else None
        if reference and reference.startswith("file:"):
            _write_secret(folder / reference.removeprefix("file:"))


def _copy(packed: str, story: str, folder: Path, ignore: Callable[[Any, list[str]], set[str]]) -> None:
    if folder.exists():
        hint = f"toneout demo ANOTHER_DIR, or toneout --site {folder} reconcile"
        raise SiteError(str(folder), "is there already; nothing was written", hint)
    shutil.copytree(demo_source(packed, story), folder, ignore=ignore, copy_function=shutil.copyfile)


def _write_secret(path: Path) -> None:
    path.parent.mkdir(exist_ok=True)
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        path.chmod(0o600)
        return
    with open(descriptor, "w", encoding="utf-8") as file:
        file.write(DEMO_COMMUNITY + "\n")


def simulated(site: Site) -> tuple[dict[str, Path], str, dict[str, int]]:
    """The recordings of a site by switch name, their community, and the ports at which toneout.toml asks for them."""
    from collectors.access import resolve_secret
    from collectors.simulator import recordings_in

    folder = site.folder / "recordings"
    recordings = recordings_in(folder) if folder.is_dir() else {}
    if not recordings:
        raise SiteError(str(folder), "there are no recordings (NAME.snmprec) to serve", "toneout record SWITCH --out")
    communities: set[str] = set()
    ports: dict[str, int] = {}
    for name in recordings:
        access = site.access(name)
        if access is None or access.snmp is None or access.snmp.community is None:
            continue
        communities.add(resolve_secret(access.snmp.community, site.folder).get_secret_value())
        if access.address in _LOOPBACK:
            ports[name] = access.snmp.port
    if len(communities) > 1:
        raise SiteError(str(site.folder), "its switches have different communities", "one for all that are simulated")
    return recordings, communities.pop() if communities else "public", ports


def _at(endpoints: Mapping[str, tuple[str, int]], access: SwitchAccess) -> SwitchAccess:
    """The same switch, asked where its simulation listens; one that is not simulated stays as it is."""
    if access.name not in endpoints or access.snmp is None:
        return access
    address, port = endpoints[access.name]
    return access.model_copy(update={"address": address, "snmp": access.snmp.model_copy(update={"port": port})})


def _next_steps(folder: Path, result: Result) -> str:
    device = next((finding.device for finding in result.findings if finding.device), "")
    trace = f"toneout trace {device}" if device and device.isprintable() and " " not in device else "toneout trace WHAT"
    sheet = Sheet(columns(None))
    sheet.heading("What to try next")
    for command, why in (
        (f"cd {folder}", "everything is in this folder"),
        (trace, "its whole channel, and what was seen on it"),
        ("toneout todo", "what to do by hand, in order, if the map is right"),
        ("toneout adopt KEY --dry-run", "the other way: how the map would follow"),
        ("toneout page", "page.html: the racks as drawings, for a phone or a printer"),
        ("toneout check", "faults of the map itself"),
        ("toneout limits", "whether each channel is as good as it should be; toneout demo --limits has bad ones"),
        ("toneout spare", "what is free"),
        ("toneout reconcile --format csv", "the same report for a spreadsheet"),
        ("toneout simulate", "the switches again; leave it running, and in another terminal:"),
        ("toneout reconcile --collect", "plug a cord elsewhere in map/cords.csv first, and see"),
    ):
        sheet.row(command, why, cells=34)
    return f"\n{sheet}"
