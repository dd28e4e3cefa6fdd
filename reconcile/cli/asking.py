"""Asking all switches of a site, and keeping what they said: shared by collect, reconcile --collect and the demo."""

from __future__ import annotations

import logging
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from collectors.errors import SnapshotError
from collectors.whole_files import scratch_beside
from reconcile import __version__
from reconcile.cli.progress import progress_display
from reconcile.errors import SiteError

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.site import Site

_log = logging.getLogger(__name__)

REREAD = 2
"""Switches whose forwarding table is read once more at the end: those that heard the most are the core."""


UNANSWERED_KEPT = 7
"""Snapshots in which no switch answered that are kept: a site may be dark for months."""

_UNANSWERED = "unanswered-"

SWAP_BEFORE, SWAP_AFTER = "swap-before", "swap-after"
"""Names of the snapshots between which hardware is swapped; see `keep_as`."""


def latest(site: Site) -> Path:
    """Where the last snapshot of a site is kept."""
    return kept(site, "latest")


def previous(site: Site) -> Path:
    """Where the one before it is kept: a difference of counters needs two."""
    return kept(site, "previous")


def kept(site: Site, name: str) -> Path:
    """The snapshot that `keep_as` keeps by that name, as text or as columns; the younger one where both are there."""
    forms = [site.folder / "snapshots" / f"{name}{ending}" for ending in (".json", ".parquet")]
    return max((path for path in forms if path.is_file()), key=lambda path: path.stat().st_mtime_ns, default=forms[0])


def ask_site(site: Site, *, quiet: bool, passes: int = 1, pause: float = 0.0) -> Snapshot:
    """Asks every switch of the site within its deadline. Ctrl-C ends it early and keeps what is complete.

    In more than one pass, forwarding tables are read again, so that whoever speaks seldom is heard too.
    """
    import asyncio

    from collectors.deep import collect_deep

    if not site.accesses:
        raise SiteError(str(site.folder), "toneout.toml names no switch to ask", "add a [[switch]] table to it")
    with progress_display(quiet=quiet) as progress:
        return asyncio.run(
            collect_deep(
                site.accesses,
                passes=passes,
                pause=pause,
                site=site.name,
                secrets_from=site.folder,
                at_once=site.settings.at_once,
                deadline=site.settings.deadline,
                reread=min(REREAD, len(site.accesses) // 4),
                progress=progress,
                made_by=f"toneout {__version__}",
            )
        )


def keep(snapshot: Snapshot, site: Site, out: Path | None = None) -> Path:
    """Saves a snapshot and says where: at `out`, else as the latest of the site. Raises SnapshotError or OSError.

    The ending of `out` chooses the form; the latest has the one that suits its size.

    One that Ctrl-C ended does not replace the latest, and neither does one in which no switch answered, for every
    other command would have nothing to go by: it is kept beside it.
    """
    from collectors.snapshot_files import ending_for, save_snapshot

    before = latest(site)
    path = out or before.with_suffix(ending_for(snapshot))
    if out is None:
        path.parent.mkdir(exist_ok=True)
        if interrupted(snapshot):
            path = path.with_stem("interrupted")
        elif not snapshot.switches and before.is_file():
            path = path.with_name(f"{_UNANSWERED}{snapshot.started:%Y-%m-%d-%H%M%S}.json")
            _log.warning("no switch answered: %s stays the latest snapshot", before)
    elif out.exists() and not (out.is_file() or out.is_dir()):
        raise SnapshotError(str(out), "is a device or a pipe, which a snapshot would replace", "the name of a file")
    is_latest = path.parent == before.parent and path.stem == before.stem
    if is_latest and before.is_file():
        _keep_previous(site)
    save_snapshot(snapshot, path)
    if is_latest and path != before:
        before.unlink(missing_ok=True)  # the other form
    for old in sorted(path.parent.glob(f"{_UNANSWERED}*.json"))[:-UNANSWERED_KEPT]:
        old.unlink(missing_ok=True)
    return path


def keep_as(snapshot: Snapshot, site: Site, name: str) -> Path:
    """Saves a snapshot beside the latest, by a name of its own and in the form that suits its size, and says where."""
    from collectors.snapshot_files import ending_for, save_snapshot

    before = kept(site, name)
    path = before.with_suffix(ending_for(snapshot))
    path.parent.mkdir(exist_ok=True)
    save_snapshot(snapshot, path)
    if path != before:
        before.unlink(missing_ok=True)  # the other form
    return path


def _keep_previous(site: Site) -> None:
    """Copies the latest snapshot before it is replaced: whatever fails afterwards, the latest is still there."""
    old, now = previous(site), latest(site)
    with scratch_beside(old) as scratch:
        shutil.copyfile(now, scratch)
        scratch.replace(old.with_suffix(now.suffix))
    if old.suffix != now.suffix:
        old.unlink(missing_ok=True)


def interrupted(snapshot: Snapshot) -> bool:
    """True when Ctrl-C ended the run; the snapshot holds what was complete."""
    return snapshot.unfinished.startswith("interrupted")
