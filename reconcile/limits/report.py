"""Every documented channel judged, one row per aspect, beside what the switches say of the links themselves."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from collectors.snapshot import Port, Snapshot
from reconcile.channels import Channel, Channels, resolve
from reconcile.findings import QUALITY, Finding, Place
from reconcile.limits.channel import Judged, judge_channel
from reconcile.limits.copper import Fit
from reconcile.limits.counters import not_comparable
from reconcile.limits.link import can_do, far_end_can, words
from reconcile.limits.parts import parts_of
from reconcile.limits.power import supplies
from reconcile.limits.values import Limits, Standing
from reconcile.patchmap.index import MapIndex
from reconcile.patchmap.model import PatchMap
from reconcile.picture import Picture
from reconcile.pipeline import compare
from reconcile.recalled import NOTHING, Recalled


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class JudgedRow(_Model):
    """One aspect of one channel. `hint`: it rests on a remembered value alone."""

    channel: str
    device: str = ""
    where: Place = Field(default_factory=Place)
    aspect: str
    fit: Fit
    hint: bool = False
    because: str
    physics: str = ""
    advice: str = ""
    limit: float | None = None
    unit: str = ""
    source: str = ""
    standing: str = ""
    missing: tuple[str, ...] = ()


class SupplyRow(_Model):
    """One power supply of a switch. Watts; None where the switch does not tell."""

    switch: str
    group: int
    supply_watts: float | None
    planned_watts: float | None
    measured_watts: float | None
    fed: str


class LimitsReport(_Model):
    """The outcome of `toneout limits`. `taken` is None when no snapshot was at hand."""

    schema_version: int = 1
    site: str = ""
    taken: datetime | None = None
    before: datetime | None = None
    channels: int = 0
    rows: list[JudgedRow] = Field(default_factory=list)
    findings: list[Finding] = Field(default_factory=list, description="what the switches say of links and supplies")
    supplies: list[SupplyRow] = Field(default_factory=list)
    notes: list[str] = Field(default_factory=list)

    def with_fit(self, *fits: Fit, hint: bool = False) -> list[JudgedRow]:
        """Rows of these fits; hints apart."""
        return [row for row in self.rows if row.fit in fits and row.hint is hint]

    @property
    def exit_code(self) -> int:
        """1 something is not good, 3 nothing is but not everything could be judged, 0 all is good."""
        if self.findings or self.with_fit(Fit.FAIL, Fit.WARN):
            return 1
        return 3 if any(row.fit is Fit.UNKNOWN for row in self.rows) or self.notes else 0


def judge_site(
    patch_map: PatchMap,
    snapshot: Snapshot | None,
    *,
    before: Snapshot | None,
    limits: Limits,
    recalled: Recalled = NOTHING,
) -> LimitsReport:
    """Judges every channel. Without a snapshot only the record speaks, and no speed is known."""
    if snapshot is None:
        channels = resolve(patch_map)
        rows = [row for channel in _once(channels) for row in _rows(channel, channels.index, limits, None, Place())]
        note = "no snapshot: speed, duplex, errors and power were not looked at (toneout collect)"
        return LimitsReport(site=patch_map.site, channels=_count(channels), rows=rows, notes=[note])
    found = compare(patch_map, snapshot, before=before, recalled=recalled, limits=limits)
    picture = found.picture
    rows = []
    for channel in _once(picture.channels):
        rows += _observed(channel, picture, limits)
    return LimitsReport(
        site=snapshot.site or patch_map.site,
        taken=snapshot.finished,
        before=before.finished if before else None,
        channels=_count(picture.channels),
        rows=rows,
        findings=[finding for finding in found.result.findings if finding.kind in QUALITY],
        supplies=_supplies(snapshot, limits),
        notes=_notes(snapshot, before),
    )


def _once(channels: Channels) -> Iterator[Channel]:
    """Every path once: a link between two switches is listed at both ends; a spare cable counts too."""
    told: set[frozenset[str]] = set()
    for channel in (*channels.resolved, *channels.spare):
        ends = frozenset((str(channel.port), str(channel.far_port or channel.key)))
        if channel.far_port is None or ends not in told:
            told.add(ends)
            yield channel


def _count(channels: Channels) -> int:
    return sum(1 for _ in _once(channels))


def _observed(channel: Channel, picture: Picture, limits: Limits) -> list[JudgedRow]:
    port = picture.port_of(channel.port)
    state = picture.ports.get(port) if port else None
    place = picture.place(port, channel)
    up = state if state is not None and state.oper == "up" else None
    rows = _rows(channel, picture.channels.index, limits, up, place)
    if port is not None and up is not None and up.speed_mbps:
        lacking = _unknown_speeds(channel, picture)
        if lacking:
            rows.append(_speed_row(channel, place, lacking))
    return rows


def _unknown_speeds(channel: Channel, picture: Picture) -> list[str]:
    """What is missing to tell whether the link could be faster."""
    port = picture.port_of(channel.port)
    assert port is not None  # asked for observed ports only
    if port in picture.recalled.paces.known:
        return []  # its own past is the measure
    lacking = [] if can_do(port, picture) else [f"the fastest speed of {words(port)}"]
    if far_end_can(port, picture) is None:
        far = channel.device.name if channel.device else "what is at the far end"
        lacking.append(f"the fastest speed of {far}")
    return lacking


def _speed_row(channel: Channel, place: Place, lacking: list[str]) -> JudgedRow:
    return JudgedRow(
        channel=channel.key,
        device=channel.device.name if channel.device else "",
        where=place,
        aspect="slow link",
        fit=Fit.UNKNOWN,
        because=f"missing: {', '.join(lacking)}",
        missing=tuple(lacking),
    )


def _rows(
    channel: Channel, index: MapIndex | None, limits: Limits, state: Port | None, place: Place
) -> list[JudgedRow]:
    parts = parts_of(channel, index)
    speed, mau = (state.speed_mbps, state.mau_type) if state else (None, None)
    return [_row(channel, place, judged) for judged in judge_channel(parts, limits, speed, mau)]


def _row(channel: Channel, place: Place, judged: Judged) -> JudgedRow:
    bad = judged.fit in (Fit.FAIL, Fit.WARN)
    return JudgedRow(
        channel=str(channel) if channel.port is None else channel.key,
        device=channel.device.name if channel.device else "",
        where=place,
        aspect=judged.aspect.value,
        fit=judged.fit,
        hint=bad and judged.standing is Standing.MEMORY,
        because=judged.because,
        physics=judged.physics,
        advice=judged.do,
        limit=judged.limit.value if judged.limit else None,
        unit=judged.limit.unit if judged.limit else "",
        source=judged.source,
        standing=judged.standing.value if judged.standing else "",
        missing=judged.missing,
    )


def _supplies(snapshot: Snapshot, limits: Limits) -> list[SupplyRow]:
    return [
        SupplyRow(
            switch=group.switch,
            group=group.group,
            supply_watts=group.budget.supply if group.budget else None,
            planned_watts=round(group.budget.planned, 2) if group.budget else None,
            measured_watts=group.budget.measured if group.budget else None,
            fed=group.words(),
        )
        for group in supplies(snapshot, limits)
    ]


def _notes(snapshot: Snapshot, before: Snapshot | None) -> list[str]:
    if before is None:
        return ["no earlier snapshot: whether errors rise cannot be told (collect again, or give --before FILE)"]
    return [f"errors of {name} not compared: {why}" for name, why in sorted(not_comparable(before, snapshot).items())]
