"""The whole flow, a call per arrow. Reading this is reading the architecture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from collectors.snapshot import Snapshot
from reconcile.causes import explain
from reconcile.causes.plain import plain_cause
from reconcile.channels import Channels, resolve
from reconcile.coverage import coverage_gaps
from reconcile.evidence import with_evidence
from reconcile.findings import QUALITY, ChannelVerdict, Finding, Verdict
from reconcile.frames import Observed, observe
from reconcile.limits.values import DEFAULT_LIMITS, Limits
from reconcile.locate import locate
from reconcile.locate.placement import Located
from reconcile.matching import documented_links, match_ports
from reconcile.patchmap.model import PatchMap
from reconcile.picture import Picture, draw
from reconcile.recalled import NOTHING, Recalled
from reconcile.result import Cause, Result
from reconcile.rules import RULES
from reconcile.verdicts import Judgement, judge_all


@dataclass(frozen=True, slots=True)
class Comparison:
    """One map and one snapshot side by side, and what came of it. `result` is what reports render."""

    picture: Picture
    observed: Observed
    judgements: Sequence[Judgement]
    result: Result


def reconcile(
    patch_map: PatchMap, snapshot: Snapshot, *, before: Snapshot | None = None, limits: Limits = DEFAULT_LIMITS
) -> Result:
    """Compares one documented map with one snapshot. `before` is an earlier one, to see whether errors rise."""
    return compare(patch_map, snapshot, before=before, limits=limits).result


def compare(
    patch_map: PatchMap,
    snapshot: Snapshot,
    *,
    channels: Channels | None = None,
    before: Snapshot | None = None,
    recalled: Recalled = NOTHING,
    limits: Limits = DEFAULT_LIMITS,
) -> Comparison:
    """The same, with the picture that the result was drawn from, for those who want to look further.

    `channels` are those of the map where they were followed already; `recalled` is what the history adds.
    """
    channels = channels or resolve(patch_map)
    observed = observe(snapshot)
    matching = match_ports(channels, snapshot)
    located = locate(observed, documented_links(channels, matching))
    picture = draw(
        patch_map,
        channels,
        snapshot,
        matching,
        located,
        observed.coverage,
        before=before,
        recalled=recalled,
        limits=limits,
    )
    judgements = judge_all(picture)
    found = [finding for rule in RULES for finding in rule(picture, judgements)]
    findings = with_evidence(found, picture, observed.sightings)
    result = Result(
        site=snapshot.site or patch_map.site,
        taken=snapshot.finished,
        switches_asked=len(snapshot.switches) + len(snapshot.failed),
        switches_answered=len(snapshot.switches),
        stations_seen=len(located.placements) + len(located.unplaced),
        stations_placed=sum(p.at is not None for p in located.placements.values()),
        causes=_causes(patch_map, channels, observed, located, findings),
        findings=findings,
        verdicts=[j.verdict(picture) for j in judgements] + _broken(channels),
        gaps=coverage_gaps(snapshot, judgements),
        notes=list(located.conflicts),
    )
    return Comparison(picture, observed, judgements, result)


def _causes(
    patch_map: PatchMap, channels: Channels, observed: Observed, located: Located, findings: Sequence[Finding]
) -> list[Cause]:
    """Drift is explained by movements; how good a link is stands for itself, and comes after it."""
    drift = [finding for finding in findings if finding.kind not in QUALITY]
    causes = explain(patch_map, channels, observed, located, drift)
    return causes + [plain_cause(finding) for finding in findings if finding.kind in QUALITY]


def _broken(channels: Channels) -> list[ChannelVerdict]:
    return [
        ChannelVerdict(
            channel=str(broken.origin),
            verdict=Verdict.UNCHECKED,
            because=f"the path cannot be followed: {broken.reason}",
        )
        for broken in channels.broken
    ]
