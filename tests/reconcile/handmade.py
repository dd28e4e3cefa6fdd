"""Results written by hand, for the reports."""

from __future__ import annotations

from datetime import UTC, datetime

from reconcile.findings import ChannelVerdict, Evidence, Finding, Kind, Place, Severity, Verdict
from reconcile.result import Cause, CoverageGap, Result

TAKEN = datetime(2026, 3, 14, 21, 40, tzinfo=UTC)

AT_LAB = Place(
    switch="sw-lab",
    port="GigabitEthernet1/0/7",
    panel="P1:7",
    outlet="WL-04:1",
    room="wet lab",
    cord="C-107",
    origin="cords.csv row 8",
)
AT_BOAT = Place(switch="sw-boat", port="Gi0/2", room="boat shed")


def finding(
    key: str = "dead-port-00000001",
    kind: Kind = Kind.DEAD_PORT,
    severity: Severity = Severity.MEDIUM,
    where: Place = AT_LAB,
    seen: str = "the port has no link",
    device: str = "tank-camera",
    macs: tuple[str, ...] = (),
    moved_to: Place | None = None,
    evidence: tuple[Evidence, ...] = (),
) -> Finding:
    """One finding with sensible words."""
    return Finding(
        key=key,
        kind=kind,
        severity=severity,
        where=where,
        documented=f"{device} is at outlet {where.outlet}",
        seen=seen,
        advice="look whether the device is switched on",
        device=device,
        macs=macs,
        moved_to=moved_to,
        evidence=evidence,
    )


def result(*findings: Finding, causes: list[Cause] | None = None, gaps: list[CoverageGap] | None = None) -> Result:
    """A run of three switches with these findings."""
    return Result(
        site="Saltmarsh Field Station",
        taken=TAKEN,
        switches_asked=3,
        switches_answered=2 if gaps else 3,
        stations_seen=41,
        stations_placed=39,
        findings=list(findings),
        causes=causes or [],
        gaps=gaps or [],
        verdicts=[
            ChannelVerdict(channel="sw-lab:1", verdict=Verdict.CONFIRMED, because="00:00:0c:00:00:01 is there"),
            ChannelVerdict(channel="sw-lab:2", verdict=Verdict.SILENT, because="no link"),
            ChannelVerdict(channel="sw-boat:1", verdict=Verdict.UNCHECKED, because="sw-boat could not be asked"),
            ChannelVerdict(channel="sw-boat:2", verdict=Verdict.UNCHECKED, because="sw-boat could not be asked"),
        ],
    )


def everything() -> Result:
    """One of each part of a report."""
    moved = finding(
        key="moved-device-00000002",
        kind=Kind.MOVED_DEVICE,
        severity=Severity.HIGH,
        seen="00:0c:29:5e:00:07 (VMware, Inc.) is at sw-boat port Gi0/2",
        device="confocal-pc",
        macs=("00:0c:29:5e:00:07",),
        moved_to=AT_BOAT,
        evidence=tuple(
            Evidence("sw-boat", "Gi0/2", "forwarding", f"00:0c:29:5e:00:07 in VLAN {vlan}") for vlan in range(10, 16)
        ),
    )
    cause = Cause(
        kind="cord end moved",
        story="The cord of confocal-pc was moved from the wet lab to the boat shed",
        findings=("moved-device-00000002", "dead-port-00000001"),
        undo=("pull cord C-107 at sw-boat port Gi0/2", "plug it into sw-lab port GigabitEthernet1/0/7"),
        same_in_effect=("the devices were exchanged",),
        decides="read the label of the cord at the outlet",
    )
    gaps = [
        CoverageGap(
            switch="sw-boat", state="no answer", reason="nothing came back in 2 s", hint="toneout probe sw-boat"
        ),
        CoverageGap(switch="sw-lab", table="neighbours", state="not served", reason="no LLDP-MIB"),
        CoverageGap(switch="sw-wet", table="neighbours", state="not served", reason="no LLDP-MIB"),
    ]
    found = result(finding(), moved, causes=[cause], gaps=gaps)
    found.notes.append("00:00:0c:00:00:09 was heard at two ports at once")
    return found
