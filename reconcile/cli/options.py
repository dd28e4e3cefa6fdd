"""Options that several commands share, and what they open."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

if TYPE_CHECKING:
    from collectors.access import SwitchAccess
    from reconcile.channels import Channels
    from reconcile.patchmap.model import Fault, PatchMap
    from reconcile.site import Site


class Format(StrEnum):
    """Forms of output."""

    TEXT = "text"
    JSON = "json"
    CSV = "csv"


class PlainFormat(StrEnum):
    """Forms of what is no table."""

    TEXT = "text"
    JSON = "json"


class ReportFormat(StrEnum):
    """Forms of the report of differences."""

    TEXT = "text"
    JSON = "json"
    CSV = "csv"
    XLSX = "xlsx"


WHOLE_TABLE = frozenset(
    [
        "map-missing",
        "unreadable-file",
        "too-large",
        "too-many-rows",
        "too-many-columns",
        "not-text",
        "old-workbook",
        "not-workbook",
        "no-headings",
        "missing-column",
        "mapped-column-missing",
        "no-tables",
        "no-sheet",
    ]
)
"""Codes of faults that leave a whole table of the map unread: comparing with the rest would report nonsense."""


@dataclass(frozen=True)
class Common:
    """What stands before the command."""

    site: Path | None = None
    quiet: bool = False
    verbose: bool = False


SiteOption = Annotated[Path | None, typer.Option("--site", metavar="DIR", help="The site folder, here or before.")]
FormatOption = Annotated[Format, typer.Option("--format", help="The form of the output.")]
AllOption = Annotated[bool, typer.Option("--all", help="List all of a kind, however many, in the text.")]
OutOption = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Write there, whole or not at all, instead of here.")
]


def common(context: typer.Context) -> Common:
    """What stood before the command."""
    return context.obj if isinstance(context.obj, Common) else Common()


def open_site(context: typer.Context, site: Path | None) -> Site:
    """The site folder that was named, else the nearest from here upwards. Raises SiteError."""
    from reconcile.site import find_site, load_site

    named = site or common(context).site
    return load_site(named if named is not None else find_site(Path.cwd()))


def access_of(site: Site, name: str) -> SwitchAccess:
    """How to ask the switch of that name. Raises UsageError with the nearest names."""
    import difflib

    from reconcile.errors import UsageError

    access = site.access(name)
    if access is not None:
        return access
    names = [access.name for access in site.accesses]
    nearest = difflib.get_close_matches(name, names, n=3) or names[:3]
    raise UsageError(name, "toneout.toml has no such switch", " or ".join(nearest) or "add a [[switch]] table to it")


class OpenMap(NamedTuple):
    """A map as far as it can be read, what follows from it, and its faults, those beside toneout.toml included."""

    patch_map: PatchMap
    channels: Channels
    faults: tuple[Fault, ...]


def read_and_check(site: Site) -> OpenMap:
    """Reads the map and finds every fault in it."""
    from reconcile.channels import resolve
    from reconcile.patchmap.check import check_map, check_site
    from reconcile.patchmap.files import read_map

    patch_map, faults = read_map(site)
    channels = resolve(patch_map)
    return OpenMap(patch_map, channels, (*check_site(site, patch_map), *faults, *check_map(patch_map, channels)))


def open_map(site: Site) -> OpenMap:
    """The same for commands that build on the map. Raises MapError when a whole file or table cannot be read."""
    from reconcile.errors import MapError

    opened = read_and_check(site)
    whole = [fault for fault in opened.faults if fault.code in WHOLE_TABLE]
    if whole:
        raise MapError(str(site.map.path), "the patch map cannot be read", whole)
    return opened
