"""The published form of `toneout spare`: what is free, with what is proposed for the rooms that were asked for."""

from __future__ import annotations

from reconcile.capacity import Capacity
from reconcile.proposal import Proposal


class SpareAnswer(Capacity):
    """Everything that is free, then the proposals."""

    proposals: list[Proposal]
