"""`toneout init` and `toneout record`: the first site folder, and recordings that strangers may see."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from reconcile.cli.failures import NOT_ALL_SEEN
from reconcile.cli.options import SiteOption, access_of, common, open_site
from reconcile.cli.progress import step_display
from reconcile.cli.streams import coloured, columns, show

if TYPE_CHECKING:
    from collectors.transports.recording import Recording


def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder to make, or an empty one.")],
    name: Annotated[str, typer.Option("--name", help="The name of the site. Default: that of the folder.")] = "",
) -> None:
    """Write a commented site folder to start from.

    `toneout check` finds no fault in it. Nothing is ever overwritten.
    """
    from reconcile.site import write_example_site

    written = write_example_site(folder, name or folder.absolute().name)
    files = "".join(f"  {path}\n" for path in written)
    show(f"Written:\n{files}Next: put your switches into {written[-1].name}, then run toneout --site {folder} check\n")


def record(
    context: typer.Context,
    switches: Annotated[list[str], typer.Argument(metavar="SWITCH...", help="Switches of toneout.toml.")],
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="The folder to write the recordings into.")],
    site: SiteOption = None,
) -> None:
    """Record what switches answer, scrubbed for strangers.

    Addresses, names, serial numbers and places are replaced, alike in all recordings of one call. The files can be
    replayed by `toneout simulate`. Exit code 0: complete. 3: something could not be read.
    """
    import asyncio

    from collectors.scrub import Scrubber
    from collectors.transports import recording

    here = open_site(context, site)
    accesses = [access_of(here, name) for name in switches]
    scrubber = Scrubber()
    missing = False
    for access in accesses:
        with step_display(quiet=common(context).quiet) as progress:
            made = asyncio.run(
                recording.record(access, out, secrets_from=here.folder, scrubber=scrubber, progress=progress)
            )
        show(_recorded(access.name, made))
        missing = missing or bool(made.missing)
    show("Names, addresses and serial numbers were replaced; still, look through the files before you send them.\n")
    if missing:
        raise typer.Exit(NOT_ALL_SEEN)


def _recorded(switch: str, made: Recording) -> str:
    from reconcile.reports.layout import Sheet

    sheet = Sheet(columns(None), colour=coloured(None))
    sheet.name(f"{switch}: {made.rows} rows", style="bold")
    for path in made.files:
        sheet.row("file", str(path), whole=True)
    for what in made.missing:
        sheet.row("missing", what)
    return str(sheet)
