"""Setting up: `toneout init`, `toneout probe` and `toneout record`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reconcile.cli.streams import show


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
    show(
        f"Written:\n{files}Next: put your switches into {folder / 'toneout.toml'}, then toneout --site {folder} check\n"
    )
