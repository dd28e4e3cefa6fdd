"""Power over Ethernet: what a supply can give, what is drawn, and what the plugged-in classes may draw (RFC 3621)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.snapshot import Table
from reconcile.findings import Evidence, Finding, Kind, Place, Severity, finding_key
from reconcile.limits.copper import Fit
from reconcile.limits.power import BUNDLE_CAUTION, GroupPower, judge_budget, supplies
from reconcile.picture import Picture
from reconcile.verdicts import Judgement


def power_budget(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per supply that is, or may become, too small."""
    for group in supplies(picture.snapshot, picture.limits):
        if group.budget is None or picture.coverage.gap(group.switch, Table.INTERFACES):
            continue
        judged = judge_budget(group.budget)
        if judged.fit not in (Fit.FAIL, Fit.WARN):
            continue
        yield Finding(
            key=finding_key(Kind.POWER_BUDGET, group.switch, str(group.group)),
            kind=Kind.POWER_BUDGET,
            severity=Severity.HIGH if judged.fit is Fit.FAIL else Severity.MEDIUM,
            where=_place(group, picture),
            documented=f"supply {group.group} of {group.switch} gives {group.budget.supply:g} W",
            seen=judged.because,
            advice=f"plan with the figure of each class at the switch, not with the average draw. {BUNDLE_CAUTION}",
            evidence=(Evidence(group.switch, "", "power", group.words()),),
        )


def _place(group: GroupPower, picture: Picture) -> Place:
    row = next((s for s in picture.patch_map.switches if s.name.casefold() == group.switch.casefold()), None)
    return Place(switch=group.switch, room=row.room if row else "", origin=str(row.origin) if row else "")
