"""A first patch map out of what the switches see, for those who have none.

Read `scene.py` (what is on each wire), `occupants.py` (whose it is), `rows.py` (what is written of it). What is not
certain is never written as a fact: the row says "unknown at ...", with what speaks for whom as its note.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from reconcile.draft.model import Draft

if TYPE_CHECKING:
    from collectors.snapshot import Snapshot

__all__ = ["Draft", "draft"]


def draft(
    snapshot: Snapshot,
    *,
    names: Mapping[str, str] | None = None,
    passing: bool = False,
    nothing: Collection[str] = (),
) -> Draft:
    """The first map of one snapshot.

    `names` has a host name by IP address, from wherever the caller asked; `passing` says that locally administered
    addresses, which phones and laptops change as they please, are written down as devices too; `nothing` are further
    words that this site writes into an empty cell, so that no device is called so.
    """
    from reconcile.draft.rows import write_rows  # late: this needs pandas, and the types alone do not
    from reconcile.draft.scene import look_at

    return write_rows(look_at(snapshot, names or {}, passing=passing), nothing)
