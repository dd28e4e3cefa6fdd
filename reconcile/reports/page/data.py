"""Picture and result -> `Page`: every socket, channel, station and finding as one numbered row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta

from collectors.snapshot import Port
from reconcile.capacity import Capacity, capacity
from reconcile.channels import BrokenChannel, Channel, StepKind
from reconcile.channels import Step as ChannelStep
from reconcile.findings import Finding, Place
from reconcile.free_ports import FreePort
from reconcile.locate.placement import Placement, PortRef
from reconcile.makers import maker_of
from reconcile.patchmap.model import End, Outlet, Panel, Switch, fold
from reconcile.picture import Picture
from reconcile.pipeline import Comparison
from reconcile.ports import is_socket
from reconcile.reports.escape import sentence
from reconcile.reports.page.fronts import arrange, short_name
from reconcile.reports.page.model import (
    MARK_OF,
    Difference,
    Holder,
    Mark,
    Page,
    Past,
    Path,
    Spot,
    Station,
    Step,
    Story,
)
from reconcile.reports.page.shape import shape_of
from reconcile.reports.page.words import about, free_words, joined, link_words, material, opened
from reconcile.reports.words import at_time, evidence_line, place_words
from reconcile.result import Cause, Result

_STATIONS_SHOWN = 40
_FREE_MARK = {"silent": Mark.FREE, "shut": Mark.FREE, "speaks": Mark.NEW, "unknown": Mark.UNCHECKED}


def page_of(comparison: Comparison, past: Past | None = None) -> Page:
    """The whole page as data. `past` is what is known of earlier nights."""
    return _Drawing(comparison, past or Past()).page()


class _Drawing:
    """Numbers everything once; later rows refer to earlier ones."""

    def __init__(self, comparison: Comparison, past: Past) -> None:
        self._comparison = comparison
        self._picture: Picture = comparison.picture
        self._result: Result = comparison.result
        self._past = past
        self._capacity: Capacity = capacity(self._picture.patch_map, self._picture.channels, self._picture)
        self._free = {(fold(p.switch), fold(p.port)): p for p in self._capacity.ports}
        self._spot_of: dict[tuple[str, str], int] = {}  # by the folded key of an End
        self._spot_at: dict[PortRef, int] = {}
        self._front_of: dict[str, int] = {}  # a switch by the name under which it was asked
        self._ref_of: dict[int, PortRef] = {}
        self._paths_at: dict[PortRef, list[int]] = defaultdict(list)
        self._paths_to: dict[str, list[int]] = defaultdict(list)
        self._station_of: dict[str, int] = {}
        self._found_at = {
            PortRef(f.where.switch, f.where.port)
            for f in (*self._result.findings, *(one.finding for one in self._result.waived))
        }
        self._ends_on = _ends_by_switch(self._picture)
        self._answered = {switch.name: switch for switch in self._picture.snapshot.switches}
        self._failed = {failed.name: failed for failed in self._picture.snapshot.failed}
        result = self._result
        self._page = Page(
            site=sentence(result.site) or "This site",
            taken=at_time(result.taken),
            asked=result.switches_asked,
            answered=result.switches_answered,
            free=opened(sentence(self._capacity.history)),
        )

    def page(self) -> Page:
        """Everything, in the order in which rows refer to one another."""
        self._holders()
        self._paths()
        self._stations()
        self._findings()
        for number, spot in enumerate(self._page.spots):
            self._look(number, spot)
        self._page.causes = [_story(c, self._result.findings) for c in self._result.causes]
        for number, story in enumerate(self._page.causes):
            for finding in story.findings:
                self._page.findings[finding].cause = number
        self._page.gaps = [
            {name: sentence(str(text)) for name, text in gap.model_dump().items()} for gap in self._result.gaps
        ]
        self._page.notes = [sentence(note) for note in self._result.notes]
        self._page.shape = shape_of(self._picture, self._spot_at, self._front_of)
        return self._page

    # --- what can be plugged into

    def _holders(self) -> None:
        patch_map = self._picture.patch_map
        known = {fold(self._picture.switch_of(End(s.name))) for s in patch_map.switches}
        strangers = [s.name for s in self._picture.snapshot.switches if fold(s.name) not in known]
        strangers += [s.name for s in self._picture.snapshot.failed if fold(s.name) not in known]
        for switch in (*patch_map.switches, *(Switch(name=name) for name in strangers)):
            self._switch(switch)
        for panel in patch_map.panels:
            rear = "rear of the rack" if panel.face == "rear" else ""
            self._plate("panel", panel, (rear, *material(panel)))
        for outlet in patch_map.outlets:
            self._plate("outlet", outlet, material(outlet))

    def _switch(self, switch: Switch) -> None:
        number = len(self._page.holders)
        self._front_of.setdefault(self._picture.switch_of(End(switch.name)), number)
        names = self._port_names(switch)
        first = len(self._page.spots)
        for name, ref in names:
            spot = self._spot(number, End(switch.name, name))
            self._spot_at.setdefault(ref, spot)
            self._ref_of[spot] = ref
        groups = arrange([name for name, _ in names], panel=False, options=switch.extra)
        shifted = [tuple(tuple(first + i for i in row) for row in group) for group in groups]
        more = joined(switch.model, self._state(switch.name), switch.note)
        where = sentence(switch.room), sentence(switch.rack), sentence(switch.unit)
        self._page.holders.append(Holder("switch", sentence(switch.name), *where, more, shifted))

    def _state(self, switch: str) -> str:
        asked = self._picture.switch_of(End(switch))
        if asked in self._failed:
            return f"not looked at: {self._failed[asked].reason}"
        return "" if asked in self._answered else "was not asked"

    def _port_names(self, switch: Switch) -> list[tuple[str, PortRef]]:
        """Ports as documented; those that the switch has beside them, where they matter or the map has no list."""
        picture = self._picture
        asked = picture.switch_of(End(switch.name))
        found: dict[PortRef, str] = {}
        for name in switch.ports:
            end = End(switch.name, name)
            found.setdefault(picture.port_of(end) or PortRef(asked, name), name)
        for end in self._ends_on[fold(switch.name)]:
            found.setdefault(picture.port_of(end) or PortRef(asked, end.position), end.position)
        for port in self._answered[asked].ports if asked in self._answered else ():
            ref = PortRef(asked, port.name)
            if is_socket(port) and (not switch.ports or port.oper == "up" or ref in self._found_at):
                found.setdefault(ref, ref.port)
        return [(name, ref) for ref, name in found.items()]

    def _plate(self, kind: str, holder: Panel | Outlet, more: Iterable[str]) -> None:
        number, first = len(self._page.holders), len(self._page.spots)
        for jack in holder.jacks:
            self._spot(number, End(holder.name, jack))
        groups = arrange(holder.jacks, panel=True, options=holder.extra)
        shifted = [tuple(tuple(first + i for i in row) for row in group) for group in groups]
        rack, unit = (holder.rack, holder.unit) if isinstance(holder, Panel) else ("", "")
        where = sentence(holder.room), sentence(rack), sentence(unit)
        self._page.holders.append(Holder(kind, sentence(holder.name), *where, joined(*more, holder.note), shifted))

    def _spot(self, holder: int, end: End) -> int:
        number = len(self._page.spots)
        self._page.spots.append(Spot(holder, sentence(str(end)), sentence(short_name(end.position))))
        self._spot_of.setdefault(end.key, number)
        return number

    # --- what the map says

    def _paths(self) -> None:
        channels = self._picture.channels
        judged = {id(j.channel): j for j in self._comparison.judgements}
        for channel in channels.resolved:
            verdict = judged[id(channel)].verdict(self._picture)
            number = self._path(channel, MARK_OF[verdict.verdict], verdict.because, verdict.where.origin)
            for end in (channel.port, channel.far_port):
                if end is not None:
                    ref = self._picture.port_of(end) or PortRef(self._picture.switch_of(end), end.position)
                    self._paths_at[ref].append(number)
            if channel.device is not None:
                self._paths_to[fold(channel.device.name)].append(number)
        for broken in channels.broken:
            self._path(broken, Mark.UNCHECKED, f"cannot be followed: {broken.reason}", str(broken.origin))
        for spare in channels.spare:
            self._path(spare, Mark.SPARE, "a cable that leads neither to a switch port nor to a device")

    def _path(self, path: Channel | BrokenChannel, mark: Mark, because: str, record: str = "") -> int:
        number = len(self._page.paths)
        steps = [self._step(step) for step in path.steps]
        self._page.paths.append(Path(steps, mark, sentence(because), sentence(record)))
        for place, step in enumerate(steps):
            if step.spot >= 0:
                paths = self._page.spots[step.spot].paths
                paths.insert(0, number) if place == 0 else paths.append(number)
        return number

    def _step(self, step: ChannelStep) -> Step:
        spot = self._spot_of.get(step.end.key, -1) if step.end is not None else -1
        label = sentence(step.label) or ("no label" if step.kind in (StepKind.CORD, StepKind.FIXED) else "")
        return Step(step.kind.value, label, sentence(step.room), spot, about(step))

    # --- what was seen

    def _stations(self) -> None:
        located = self._picture.located
        for mac, placement in located.placements.items():
            self._station(mac, placement, "")
        for mac, reason in located.unplaced.items():
            self._station(mac, None, reason)
        for mac in self._picture.device_of:
            if mac not in self._station_of:
                self._station(mac, None, "no switch that was read has seen it")

    def _station(self, mac: str, placement: Placement | None, reason: str) -> None:
        device = self._picture.device_of.get(mac)
        at = placement.at if placement else None
        unless = f" {', '.join(placement.unless)} is on that wire" if placement and placement.unless else ""
        grade = f"{placement.grade.value}{unless}" if placement else reason
        self._station_of[mac] = len(self._page.stations)
        self._page.stations.append(
            Station(
                mac=mac,
                maker=sentence(maker_of(mac)),
                device=sentence(device.name) if device else "",
                spot=self._spot_at.get(at, -1) if at else -1,
                grade=sentence(grade),
            )
        )

    def _findings(self) -> None:
        for finding in self._result.findings:
            self._finding(finding)
        for one in self._result.waived:
            self._finding(one.finding, until=one.until.isoformat(), reason=one.reason)
        for path in self._page.paths:
            found = [self._page.findings[number] for number in path.findings]
            if path.mark is Mark.WRONG and found and all(finding.until for finding in found):
                path.mark = Mark.WAIVED
        if not self._result.waived:
            self._page.means = [(mark, means) for mark, means in self._page.means if mark != Mark.WAIVED]

    def _finding(self, finding: Finding, until: str = "", reason: str = "") -> None:
        number = len(self._page.findings)
        at, to = self._place(finding.where), self._place(finding.moved_to)
        paths = self._paths_of(finding)
        since = self._past.since.get(finding.key)
        self._page.findings.append(
            Difference(
                key=sentence(finding.key),
                kind=finding.kind.value,
                severity=finding.severity.value,
                title=sentence(joined(finding.device, place_words(finding.where), by=": ")),
                short=sentence(finding.device or place_words(_port_alone(finding.where))),
                map=sentence(finding.documented),
                seen=sentence(finding.seen),
                advice=sentence(finding.advice),
                record=sentence(finding.where.origin),
                since=at_time(since) if since else "",
                evidence=[sentence(evidence_line(row)) for row in finding.evidence],
                spot=at,
                to=to,
                path=paths[0] if paths else None,
                until=until,
                reason=sentence(reason),
            )
        )
        marked = {spot for spot in (at, to) if spot is not None}
        for path in paths:
            self._page.paths[path].findings.append(number)
            marked |= {step.spot for step in self._page.paths[path].steps if step.spot >= 0}
        for spot in marked:
            self._page.spots[spot].findings.append(number)

    def _place(self, place: Place | None) -> int | None:
        return self._spot_at.get(PortRef(place.switch, place.port)) if place else None

    def _paths_of(self, finding: Finding) -> list[int]:
        """Channels at the port of the finding, those of its device, and those at the port where this is now."""
        places = [place for place in (finding.where, finding.moved_to) if place]
        at, *now = [self._paths_at.get(PortRef(place.switch, place.port), []) for place in places]
        return list(
            dict.fromkeys([*at, *self._paths_to.get(fold(finding.device), []), *(p for more in now for p in more)])
        )

    def _look(self, number: int, spot: Spot) -> None:
        """Fills in what was seen at a socket, and the mark that it bears."""
        holder = self._page.holders[spot.holder]
        if spot.paths:
            spot.mark = self._page.paths[spot.paths[0]].mark
        if holder.kind != "switch":
            return
        ref = self._ref_of[number]
        port = self._picture.ports.get(ref)
        free = self._free_port(ref, spot)
        if not spot.paths:
            spot.mark = _FREE_MARK[free.state] if free else _unmapped(port)
            spot.free = sentence(free_words(free)) if free else ""
            if spot.mark is Mark.NEW and spot.findings and all(self._page.findings[n].until for n in spot.findings):
                spot.mark = Mark.WAIVED
        spot.nights = [(night.when.date().isoformat(), night.mark.value) for night in self._past.ports.get(ref, ())]
        if port is None:
            spot.link = sentence(self._state(holder.name)) or "the switch told of no such port"
            return
        spot.link = link_words(port)
        spot.since = self._since(ref, port)
        spot.heard = [sentence(text) for text in self._heard(ref, port)]
        here = self._picture.stations(ref)
        spot.stations = [self._station_of[p.mac] for p in here[:_STATIONS_SHOWN]]
        if len(here) > _STATIONS_SHOWN:
            spot.heard.append(f"{len(here) - _STATIONS_SHOWN} more stations")
        perhaps = self._picture.maybe_at.get(self._picture.group(ref), ())
        spot.perhaps = [self._station_of[p.mac] for p in perhaps[:_STATIONS_SHOWN]]

    def _free_port(self, ref: PortRef, spot: Spot) -> FreePort | None:
        switch, _, port = spot.name.partition(":")
        return self._free.get((fold(switch), fold(port))) or self._free.get((fold(ref.switch), fold(ref.port)))

    def _since(self, ref: PortRef, port: Port) -> str:
        switch = self._answered[ref.switch]
        seconds = port.seconds_in_state(switch.system.uptime_ticks)
        return at_time(switch.started - timedelta(seconds=seconds)) if seconds is not None else ""

    def _heard(self, ref: PortRef, port: Port) -> Iterator[str]:
        uplink = self._picture.uplink(ref)
        if uplink is not None:
            there = f"{uplink.there.switch} port {uplink.there.port}" if uplink.there else uplink.peer
            yield f"leads to {there or 'another switch'} ({uplink.source})"
        for row in self._picture.neighbours.get(ref, ()):
            name = row.system_name or row.chassis_id or "somebody without a name"
            yield f"neighbour {name}{f', port {row.port_id}' if row.port_id else ''}, by {row.protocol.upper()}"
        if port.alias:
            yield f"described on the switch as {port.alias}"


def _ends_by_switch(picture: Picture) -> dict[str, list[End]]:
    """Every documented switch port that a channel has, by the folded name of its switch."""
    found: dict[str, list[End]] = defaultdict(list)
    broken = (path.port for path in picture.channels.broken)
    resolved = (end for channel in picture.channels.resolved for end in (channel.port, channel.far_port))
    for end in (*resolved, *broken):
        if end is not None:
            found[fold(end.name)].append(end)
    return found


def _story(cause: Cause, findings: list[Finding]) -> Story:
    numbers = {finding.key: number for number, finding in enumerate(findings)}
    return Story(
        story=sentence(cause.story),
        sure=cause.sure,
        cautions=[sentence(text) for text in cause.cautions],
        undo=[sentence(text) for text in cause.undo],
        others=[sentence(text) for text in cause.same_in_effect],
        decides=sentence(cause.decides),
        findings=[numbers[key] for key in cause.findings if key in numbers],
    )


def _port_alone(place: Place) -> Place:
    return Place(switch=place.switch, port=place.port)


def _unmapped(port: Port | None) -> Mark:
    """The mark of a port that neither the map nor the list of free ports has."""
    if port is None or port.oper is None:
        return Mark.UNCHECKED
    return Mark.NEW if port.oper == "up" else Mark.FREE
