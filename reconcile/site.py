"""The site folder: finds it, reads its toneout.toml, and writes a commented one for a new site.

A site folder is kept by a person, usually in git: `toneout.toml` says which switches there are and how to ask them
(never a secret, only where it is kept), and where the patch map stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Literal

from collectors.access import SwitchAccess
from reconcile.errors import SiteError
from reconcile.limits.values import DEFAULT_LIMITS, Limits
from reconcile.patchmap.messages import fault
from reconcile.patchmap.model import Origin, fold
from reconcile.site_file import MAX_SITE_NAME, SITE_FILE, CordsTable, LabelsTable, NightlyTable, Settings, SiteFile

MAX_SITE_BYTES = 4_000_000
"""A thousand switches take some 200 kB."""


@dataclass(frozen=True, slots=True)
class MapSource:
    """Where the patch map stands. `columns` is table -> column -> the user's headings, most wanted first."""

    form: Literal["tables", "workbook", "schedule"]
    path: Path
    sheet: str = ""
    encoding: str = ""
    tables: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Site:
    """A site folder that was read. `origins` says where each switch's table stands, by folded name."""

    folder: Path
    name: str
    accesses: tuple[SwitchAccess, ...]
    map: MapSource
    settings: Settings = field(default_factory=Settings)
    origins: Mapping[str, Origin] = field(default_factory=dict)
    limits: Limits = DEFAULT_LIMITS
    cords: CordsTable = field(default_factory=CordsTable)
    labels: LabelsTable = field(default_factory=LabelsTable)
    nightly: NightlyTable = field(default_factory=NightlyTable)

    def access(self, name: str) -> SwitchAccess | None:
        """How to ask the switch of that name; None for a switch that is documented and not asked."""
        return next((access for access in self.accesses if fold(access.name) == fold(name)), None)


def find_site(start: Path) -> Path:
    """The nearest folder with a toneout.toml, from `start` upwards. Raises SiteError when there is none."""
    here = start.absolute()
    for folder in (here, *here.parents):
        try:
            if (folder / SITE_FILE).is_file():
                return folder
        except OSError:
            continue
    raise SiteError(str(start), f"no {SITE_FILE} here or in any folder above", "toneout init DIR, or --site DIR")


def load_site(folder: Path) -> Site:
    """Reads toneout.toml. Raises SiteError with every fault found in it."""
    path = folder / SITE_FILE
    content = SiteFile(_read(path))
    if content.faults or not (content.site and content.map and content.settings):
        first, *more = content.faults
        problem = f"line {first.origin.row}: " if first.origin.row else ""
        problem += f"{first.column}: {first.problem}" if first.column else first.problem
        if more:
            problem += f" (and {len(more)} more {'faults' if len(more) > 1 else 'fault'})"
        raise SiteError(str(path), problem, first.hint, content.faults)
    table = content.map
    source = MapSource(table.form, folder / table.path, table.sheet, table.encoding, table.tables, content.columns)
    return Site(
        folder, content.site.name, content.accesses, source, content.settings, content.origins,
        Limits(content.limits), content.cords or CordsTable(), content.labels or LabelsTable(),
        content.nightly or NightlyTable(),
    )  # fmt: skip


def _read(path: Path) -> str:
    try:
        if not path.is_file():
            raise SiteError(str(path), "there is no such file", "toneout init DIR makes one")
        if path.stat().st_size > MAX_SITE_BYTES:
            raise _unreadable(path, f"it is larger than {MAX_SITE_BYTES // 1_000_000} MB")
        return path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise _unreadable(path, "it is not UTF-8 text") from None
    except OSError as error:
        raise _unreadable(path, error.strerror or type(error).__name__) from None


def _unreadable(path: Path, why: str) -> SiteError:
    found = fault("site-unreadable", Origin(path.name), why=why)
    return SiteError(str(path), found.problem, found.hint, [found])


_IGNORED = """\
# What toneout keeps beside what people write. Secrets never belong in git.
/secrets/
/snapshots/
/history.sqlite*
/page.html
*.lock
*.before-*
"""


def write_example_site(folder: Path, name: str) -> tuple[Path, ...]:
    """Writes a commented toneout.toml and a small patch map that pass `toneout check` as they are.

    A `.gitignore` goes with them where the folder has none. Returns the files written. Raises SiteError, before it
    writes anything, when one of them is there already.
    """
    import tomlkit  # only `toneout init` needs it

    if not name.strip() or name != name.encode("utf-8", "replace").decode() or len(name) > MAX_SITE_NAME:
        raise SiteError(str(folder), "a site needs a name of 1 to 200 characters that can be written", "another name")
    files = {folder / place: text for place, text in _example()}
    files[folder / SITE_FILE] = files[folder / SITE_FILE].replace('"@NAME@"', tomlkit.string(name).as_string())
    try:
        for path in files:
            if path.exists():
                raise SiteError(str(path), "is there already; nothing was written", "toneout init ANOTHER_DIR")
        ignored = folder / ".gitignore"
        files = files if ignored.exists() else {ignored: _IGNORED, **files}
        for path, text in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except OSError as error:
        raise SiteError(str(folder), f"cannot be written: {error.strerror}", "choose a folder of your own") from None
    return tuple(files)


def _example() -> list[tuple[str, str]]:
    root = resources.files("reconcile.patchmap") / "example"

    def walk(place: Traversable, path: str) -> list[tuple[str, str]]:
        if place.is_file():
            return [(path, place.read_text("utf-8"))]
        return [
            found
            for child in sorted(place.iterdir(), key=lambda one: one.name)
            for found in walk(child, f"{path}/{child.name}".lstrip("/"))
        ]

    return walk(root, "")
