"""The explanation in four calls: read, find the cheapest story, bring the findings to it, tell it."""

from __future__ import annotations

from collections.abc import Sequence

from reconcile.causes.attach import Told, attach
from reconcile.causes.cover import NoStory
from reconcile.causes.names import Names
from reconcile.causes.plain import plain_cause
from reconcile.causes.reading import Reading, read
from reconcile.causes.story import cheapest_story
from reconcile.causes.telling import tell
from reconcile.channels import Channels
from reconcile.findings import Finding, Severity
from reconcile.frames import Observed
from reconcile.locate.placement import Located
from reconcile.result import Cause

_GRAVEST_FIRST = list(Severity)


def causes(channels: Channels, observed: Observed, located: Located, findings: Sequence[Finding]) -> list[Cause]:
    """Every finding in exactly one cause, the gravest first, then those that explain most."""
    reading, told, alone = stories(channels, observed, located, findings)
    names = Names(reading)
    found = [*(tell(cause, names) for cause in told), *(plain_cause(finding) for finding in alone)]
    severity = {finding.key: _GRAVEST_FIRST.index(finding.severity) for finding in findings}
    first = {finding.key: i for i, finding in reversed(list(enumerate(findings)))}
    return sorted(
        found,
        key=lambda c: (min(severity[k] for k in c.findings), -len(c.findings), min(first[k] for k in c.findings)),
    )


def stories(
    channels: Channels, observed: Observed, located: Located, findings: Sequence[Finding]
) -> tuple[Reading, list[Told], list[Finding]]:
    """What happened, before it is told: the events with their findings, and the findings that no event explains."""
    reading = read(channels, observed, located)
    try:
        story = cheapest_story(reading.plan, reading.heard)
    except NoStory:
        story = []
    return reading, *attach(story, reading, findings)
