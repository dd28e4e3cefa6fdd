"""Explains all findings of a run together by the cheapest physical story: the fewest hand movements.

The core (`story.cheapest_story`) sees numbers alone; `reading` makes them from map and network, `attach` brings the
findings to the events of the story, and `telling` writes it for people.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reconcile.channels import Channels
    from reconcile.findings import Finding
    from reconcile.frames import Observed
    from reconcile.locate.placement import Located
    from reconcile.patchmap.model import PatchMap
    from reconcile.result import Cause

__all__ = ["explain"]


def explain(
    patch_map: PatchMap, channels: Channels, observed: Observed, located: Located, findings: Sequence[Finding]
) -> list[Cause]:
    """One cause per event, the gravest first. Every finding is explained by exactly one cause."""
    if not findings:
        return []
    from reconcile.causes.explaining import causes  # late: scipy takes longer to load than a quiet run

    return causes(channels, observed, located, findings)
