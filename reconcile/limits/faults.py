"""What `toneout check` says of documented channels that cannot be good: the record alone, no speed, no hints."""

from __future__ import annotations

from collections.abc import Iterator

from reconcile.channels import Channel, Channels, StepKind
from reconcile.limits.channel import judge_channel
from reconcile.limits.copper import Fit
from reconcile.limits.parts import parts_of
from reconcile.limits.values import Limits, Standing
from reconcile.patchmap.messages import fault, quoted
from reconcile.patchmap.model import Fault, Origin


def limit_faults(channels: Channels, limits: Limits) -> Iterator[Fault]:
    """One warning for each aspect beyond a published limit; a cable that several paths share is told once."""
    told: set[tuple[Origin, str]] = set()
    for channel in (*channels.resolved, *channels.spare):
        for judged in judge_channel(parts_of(channel, channels.index), limits, None, None):
            if judged.fit not in (Fit.FAIL, Fit.WARN) or judged.standing is Standing.MEMORY:
                continue
            origin = _origin(channel)
            if (origin, judged.because) not in told:
                told.add((origin, judged.because))
                words = {"channel": quoted(channel.key), "because": judged.because, "do": judged.do}
                yield fault("beyond-limit", origin, **words)


def _origin(channel: Channel) -> Origin:
    """The row of the fixed cable, else of the first cord: what limits are about."""
    ranks = {StepKind.FIXED: 0, StepKind.CORD: 1}
    return min(channel.steps, key=lambda step: ranks.get(step.kind, 2)).origin
