"""What the history adds before a comparison. One that cannot be read costs what it knows, never the report."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot
    from reconcile.recalled import Recalled
    from reconcile.site import Site

_log = logging.getLogger(__name__)


def recall(site: Site, seen: Snapshot | None, before: Snapshot | None) -> Recalled:
    """What the runs up to this snapshot say of its ports."""
    from reconcile.errors import HistoryError
    from reconcile.history.recall import recalled
    from reconcile.history.store import reading
    from reconcile.recalled import NOTHING

    if seen is None:
        return NOTHING
    try:
        with reading(site.folder) as book:
            return recalled(book, seen, before) if book else NOTHING
    except HistoryError as error:
        _log.warning("%s", error)
        return NOTHING
