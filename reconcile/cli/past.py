"""What the history adds before a comparison. One that cannot be read costs what it knows, never the report."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.limits.pace import Paces
    from reconcile.site import Site

_log = logging.getLogger(__name__)


def paces(site: Site, seen: Snapshot | None, before: Snapshot | None) -> Paces:
    """How fast ports ran before, at the same part of the day as in this snapshot."""
    from reconcile.errors import HistoryError
    from reconcile.history.paces import paces_of
    from reconcile.history.store import reading
    from reconcile.limits.pace import NO_PACES

    if seen is None:
        return NO_PACES
    try:
        with reading(site.folder) as book:
            return paces_of(book, seen, before) if book else NO_PACES
    except HistoryError as error:
        _log.warning("%s", error)
        return NO_PACES
