"""Which event of the story explains which finding. Every finding goes to exactly one event, or stands alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from reconcile.causes.certainty import Explained
from reconcile.causes.plan import Deed, Event
from reconcile.causes.reading import Reading
from reconcile.findings import Finding, Kind
from reconcile.patchmap.model import fold

_ARRIVALS = (Kind.UNDOCUMENTED_DEVICE, Kind.UNEXPECTED_LINK)


@dataclass(slots=True)
class Told:
    """One cause in the making: the event that leads it, events that are part of it, the findings it explains."""

    lead: Explained
    others: list[Explained] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def attach(
    story: Sequence[Explained], reading: Reading, findings: Sequence[Finding]
) -> tuple[list[Told], list[Finding]]:
    """Causes with their findings, and the findings that no event explains. Events without a finding are left out."""
    told = _joined([e for e in story if not _astray(e, reading)])
    matcher = _Matcher(told, reading)
    alone = []
    for finding in findings:
        best = matcher.best(finding)
        if best is None:
            alone.append(finding)
        else:
            best.findings.append(finding)
    return [cause for cause in told if cause.findings], alone


def _astray(explained: Explained, reading: Reading) -> bool:
    """True for a device 'gone' that was heard after all, at one of several ports."""
    return explained.event.deed is Deed.GONE and any(reading.tenants[d].astray for d in explained.event.devices)


def _joined(story: Sequence[Explained]) -> list[Told]:
    """One hand movement is told once: who plugs in displaces who was there; two boxes exchanged are one event."""
    told = [Told(e) for e in story if e.event.deed is not Deed.GONE]
    taker = {move.target: cause for cause in told for move in cause.lead.event.moves if move.target >= 0}
    for e in story:
        if e.event.deed is Deed.GONE:
            cause = taker.get(e.event.moves[0].origin)
            if cause is None:
                told.append(Told(e))
            else:
                cause.others.append(e)
    return list(_exchanges(told))


def _exchanges(told: Sequence[Told]) -> Iterator[Told]:
    across = {
        (o.row, o.onto): cause for cause in told if (o := cause.lead.event.order) and o.onto >= 0 and o.onto != o.row
    }
    for cause in told:
        order = cause.lead.event.order
        back = across.get((order.onto, order.row)) if order else None
        if order is None or back is None:
            yield cause
        elif order.row < order.onto:
            cause.others += [back.lead, *back.others]
            yield cause


class _Matcher:
    """Looks events up by the devices and ports that they touch."""

    def __init__(self, told: Sequence[Told], reading: Reading) -> None:
        self._reading = reading
        self._by_device: dict[str, list[Told]] = defaultdict(list)
        self._by_port: dict[int, list[Told]] = defaultdict(list)
        for cause in told:
            for event in (cause.lead.event, *(e.event for e in cause.others)):
                for name in _names(event, reading):
                    self._by_device[name].append(cause)
                for port in _ports(event, reading):
                    self._by_port[port].append(cause)

    def best(self, finding: Finding) -> Told | None:
        """The event that explains a finding best; None when none does."""
        if finding.kind is Kind.SHUT_PORT:
            return None  # configuration, not hands
        named = self._by_device.get(fold(finding.device), ()) if finding.device else ()
        here, there = self._rows(finding)
        if finding.kind is Kind.PORT_NOT_FOUND:
            return next((cause for cause in self._by_port.get(here, ()) if _leaves(cause.lead.event, here)), None)
        near = (*self._by_port.get(here, ()), *self._by_port.get(there, ()))
        if finding.kind is Kind.MOVED_DEVICE and not named:
            return None
        fits = [(self._fit(cause, finding, here, there), cause) for cause in (*named, *near)]
        points, best = max(fits, key=lambda fit: fit[0], default=((0, 0), None))
        return best if points[0] else None

    def _rows(self, finding: Finding) -> tuple[int, int]:
        place, to = finding.where, finding.moved_to
        here = self._reading.row(place.switch, place.port) if place.port else -1
        there = self._reading.row(to.switch, to.port) if to is not None and to.port else -1
        return here, there

    def _fit(self, cause: Told, finding: Finding, here: int, there: int) -> tuple[int, int]:
        """How well, in points; among equals the event that moves more."""
        event = cause.lead.event
        targets = {move.target for move in event.moves} | set(event.newcomers)
        points = 4 * (bool(finding.device) and fold(finding.device) in _names(event, self._reading))
        points += 2 * (there >= 0 and there in targets)
        points += 2 * (finding.kind in _ARRIVALS and here in targets)
        points += 2 * (finding.kind not in _ARRIVALS and here in _ports(event, self._reading) - targets)
        return points + (here in targets), len(event.moves)


def _leaves(event: Event, port: int) -> bool:
    """True when an event says where the device of a port is instead."""
    return any(move.origin == port and move.target >= 0 for move in event.moves)


def _names(event: Event, reading: Reading) -> set[str]:
    return {fold(d.name) for row in event.devices for d in reading.tenants[row].devices}


def _ports(event: Event, reading: Reading) -> set[int]:
    """Every port that an event touches, both ends of a link between switches included."""
    ports = {port for move in event.moves for port in (move.origin, move.target)} | set(event.newcomers)
    ports |= {reading.index[end] for row in event.devices for end in reading.tenants[row].ends}
    return ports - {-1}
