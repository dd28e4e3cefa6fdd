"""One thing looked at from both sides: the whole documented channel, and what was seen on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from pydantic import BaseModel, ConfigDict

from collectors.snapshot import Snapshot
from reconcile.channels import BrokenChannel, Channel, Step, StepKind
from reconcile.findings import Finding
from reconcile.locate import proof
from reconcile.locate.placement import PortRef
from reconcile.matching import documented_links
from reconcile.patchmap.model import Cord, Device, End, FixedCable, PatchMap, fold
from reconcile.picture import Picture
from reconcile.pipeline import Comparison
from reconcile.seen import Look, SeenPort, SeenStation
from reconcile.subjects import Subject, SubjectKind


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class TracedStep(_Model):
    """One step of a documented channel. `asked` marks what the question was about."""

    kind: str
    label: str
    room: str = ""
    origin: str = ""
    note: str = ""
    asked: bool = False


class TracedChannel(_Model):
    """One documented path, its switch ports as seen, the verdict on it, and what was found there.

    `broken` is why it cannot be followed further.
    """

    steps: tuple[TracedStep, ...]
    broken: str = ""
    ports: tuple[SeenPort, ...] = ()
    verdict: str = ""
    because: str = ""
    findings: tuple[Finding, ...] = ()


class Trace(_Model):
    """The answer to `trace WHAT`.

    `touching` are the cables at a jack that no channel leads through; `ports` observed ports that no documented
    channel in `channels` has.
    """

    kind: str
    name: str
    taken: datetime | None = None
    documented: str = ""
    touching: tuple[str, ...] = ()
    channels: tuple[TracedChannel, ...] = ()
    ports: tuple[SeenPort, ...] = ()
    stations: tuple[SeenStation, ...] = ()


def trace(subject: Subject, comparison: Comparison, snapshot: Snapshot | None, *, why: bool = False) -> Trace:
    """Follows one thing. Without a snapshot it tells the documented side alone. `why` adds the proof of placements."""
    picture = comparison.picture
    look = Look(picture, snapshot)
    paths = list(_channels_of(subject, picture))
    found = [_channel(path, subject, look, comparison if snapshot else None) for path in paths]
    stations = tuple(look.station(mac) for mac in _addresses(subject))
    if why:
        stations = tuple(s.model_copy(update={"why": _proof(s.mac, comparison)}) for s in stations)
    shown = {(p.switch, p.port) for c in found for p in c.ports}
    ports = dict.fromkeys(_ports_of(subject, picture))
    extra = (look.port(ref) for ref in ports if (ref.switch, ref.port) not in shown)
    return Trace(
        kind=subject.kind.value,
        name=subject.name,
        taken=snapshot.finished if snapshot else None,
        documented=_documented(subject, picture),
        touching=() if found or subject.end is None else tuple(_touching(subject.end, picture.patch_map)),
        channels=tuple(found),
        ports=tuple(extra) if snapshot else (),
        stations=stations if snapshot else (),
    )


def _proof(mac: str, comparison: Comparison) -> tuple[str, ...]:
    picture = comparison.picture
    links = documented_links(picture.channels, picture.matching)
    return tuple(proof(comparison.observed, mac, links))


def _channels_of(subject: Subject, picture: Picture) -> Iterator[Channel | BrokenChannel]:
    """Every path that the subject is a part of. A link between switches comes once, from the side asked about."""
    mine = [c for c in picture.channels.resolved if _has(c.steps, subject)]
    asked_first = sorted(mine, key=lambda c: c.port is None or subject.end is None or c.port.key != subject.end.key)
    links: set[frozenset[tuple[str, str]]] = set()
    for channel in asked_first:
        both = frozenset(end.key for end in (channel.port, channel.far_port) if end is not None)
        if channel.far_port is None or both not in links:
            links.add(both)
            yield channel
    yield from (broken for broken in picture.channels.broken if _has(broken.steps, subject))


def _has(steps: Iterable[Step], subject: Subject) -> bool:
    return any(_is(step, subject) for step in steps)


def _is(step: Step, subject: Subject) -> bool:
    """True when the step is what was asked for, or belongs to it."""
    match subject.kind:
        case SubjectKind.CORD:
            return isinstance(step.row, Cord) and fold(step.row.label) == fold(subject.name)
        case SubjectKind.FIXED_CABLE:
            return isinstance(step.row, FixedCable) and fold(step.row.label) == fold(subject.name)
        case SubjectKind.DEVICE:
            return step.kind is StepKind.DEVICE and fold(step.label) == fold(subject.name)
        case SubjectKind.ADDRESS:
            return step.kind is StepKind.DEVICE and isinstance(step.row, Device) and subject.name in step.row.macs
        case SubjectKind.OUTLET:
            return step.kind is StepKind.OUTLET and step.end is not None and step.end.key[0] == fold(subject.name)
        case SubjectKind.JACK | SubjectKind.PORT:
            return step.end is not None and subject.end is not None and step.end.key == subject.end.key


def _addresses(subject: Subject) -> Iterable[str]:
    if subject.kind is SubjectKind.ADDRESS:
        return (subject.name,)
    return subject.row.macs if isinstance(subject.row, Device) else ()


MOST_PORTS = 12
"""Ports that a station may be at, up to which each is shown; of more, those alone on which it was heard."""


def _ports_of(subject: Subject, picture: Picture) -> Iterator[PortRef]:
    """Ports where the subject is, may be, or was heard, and the port itself when one was asked for."""
    if subject.port is not None:
        yield subject.port
    for mac in _addresses(subject):
        placement = picture.located.placements.get(mac)
        if placement is None:
            continue
        if len(placement.candidates) <= MOST_PORTS:
            yield from placement.candidates
        else:
            yield from _heard_among(mac, placement.candidates, picture)


def _heard_among(mac: str, candidates: Sequence[PortRef], picture: Picture) -> Iterator[PortRef]:
    """Of very many ports that a station may be at those on which some switch has it."""
    possible = set(candidates)
    rows = ((switch.name, row.port) for switch in picture.snapshot.switches for row in switch.rows(mac=mac))
    heard = dict.fromkeys(picture.group(PortRef(name, port)) for name, port in rows if port)
    yield from (port for port in heard if port in possible)


def _documented(subject: Subject, picture: Picture) -> str:
    """What the map's own row says, in a clause; empty where the map has no such row."""
    row = picture.device_of.get(subject.name) if subject.kind is SubjectKind.ADDRESS else subject.row
    parts: list[str] = []
    if isinstance(row, Device):
        parts = [row.name, row.kind, row.room, f"owner {row.owner}" if row.owner else "", row.note]
    elif isinstance(row, Cord | FixedCable):
        parts = [f"from {row.a} to {row.b}", row.category, f"{row.length_m:g} m" if row.length_m else "", row.note]
    elif row is not None:
        parts = [row.room, row.note]
    return ", ".join(part for part in parts if part)


def _touching(end: End, patch_map: PatchMap) -> Iterator[str]:
    for kind, rows in (("cord", patch_map.cords), ("fixed cable", patch_map.fixed_cables)):
        for row in rows:
            if end.key in (row.a.key, row.b.key):
                yield f"{kind} {row.label}, from {row.a} to {row.b}"


def _channel(
    path: Channel | BrokenChannel, subject: Subject, look: Look, comparison: Comparison | None
) -> TracedChannel:
    steps = tuple(
        TracedStep(
            kind=step.kind.value,
            label=step.label,
            room=step.room,
            origin=str(step.origin) if step.origin.row is not None else "",
            note=step.row.note if step.row else "",
            asked=_is(step, subject),
        )
        for step in path.steps
    )
    if isinstance(path, BrokenChannel):
        return TracedChannel(steps=steps, broken=path.reason)
    if comparison is None:
        return TracedChannel(steps=steps)
    refs = [
        look.picture.port_of(end) or PortRef(look.picture.switch_of(end), end.position)
        for end in (path.port, path.far_port)
        if end is not None
    ]
    verdict = next((j.verdict(look.picture) for j in comparison.judgements if j.channel is path), None)
    return TracedChannel(
        steps=steps,
        ports=tuple(look.port(ref) for ref in refs),
        verdict=verdict.verdict.value if verdict else "",
        because=verdict.because if verdict else "",
        findings=tuple(f for f in comparison.result.findings if _concerns(f, path, refs)),
    )


def _concerns(finding: Finding, path: Channel, refs: Iterable[PortRef]) -> bool:
    """True for a finding at one of the channel's ports, or of its device."""
    device = path.device is not None and fold(finding.device) == fold(path.device.name)
    return device or PortRef(finding.where.switch, finding.where.port) in refs
