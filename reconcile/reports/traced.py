"""The answer to `trace WHAT` for people and for spreadsheets: the documented channel, then what was seen on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted
from reconcile.seen import SeenNeighbour, SeenPort, SeenStation
from reconcile.trace import Trace, TracedChannel, TracedStep

_STATIONS_SHOWN = 12
_ROWS_SHOWN = 12
_CANDIDATES_SHOWN = 8
CSV_COLUMNS = ("channel", "step", "kind", "label", "room", "asked", "record", "note", "seen")


def render(traced: Trace, *, width: int = 80, colour: bool = False) -> str:
    """The whole answer as text."""
    sheet = Sheet(width, colour=colour)
    sheet.name(f"{traced.kind.capitalize()} {traced.name}", style="bold")
    if traced.documented:
        sheet.say(traced.documented)
    _documented(sheet, traced)
    if traced.taken is None:
        sheet.gap()
        sheet.say("No snapshot yet, so nothing can be said of what is really there; toneout collect takes one.")
        return str(sheet)
    sheet.heading(f"As seen on {at_time(traced.taken)}")
    for channel in traced.channels:
        _verdict(sheet, channel)
    for station in traced.stations:
        _station(sheet, station)
    for port in _ports(traced):
        _port(sheet, port)
    if not traced.stations and not any(_ports(traced)):
        sheet.say("There is no switch port on its way, so no switch can see it.")
    return str(sheet)


def _ports(traced: Trace) -> Iterable[SeenPort]:
    """Every observed port once, those of the documented channels first."""
    ports = [port for channel in traced.channels for port in channel.ports] + list(traced.ports)
    return {(port.switch, port.port): port for port in ports}.values()


def _verdict(sheet: Sheet, channel: TracedChannel) -> None:
    if channel.verdict:
        sheet.row("verdict", f"{channel.verdict}: {channel.because}", depth=0)
    for finding in channel.findings:
        sheet.row("found", f"{finding.kind.value}: {finding.seen}", depth=0)
        sheet.row("do", finding.advice, depth=0)
        sheet.row("key", finding.key, depth=0, whole=True)


def _documented(sheet: Sheet, traced: Trace) -> None:
    sheet.heading("As documented")
    if not traced.channels:
        sheet.say("No channel of the map leads here.")
    for row in traced.touching:
        sheet.row("plugged", row, whole=True)
    for channel in traced.channels:
        sheet.gap()
        for step in channel.steps:
            style = "bold" if step.asked else ""
            sheet.row(step.kind, _step_words(step), whole=True, cells=len("fixed cable") + 2, style=style)
        if channel.broken:
            sheet.say(f"and no further: {channel.broken}", depth=1, hanging=2, style="yellow")


def _step_words(step: TracedStep) -> str:
    room = f", {step.room}" if step.room else ""
    asked = "  (asked for)" if step.asked else ""
    return f"{step.label or 'without a label'}{room}{asked}"


def _station(sheet: Sheet, station: SeenStation) -> None:
    sheet.gap()
    sheet.name(_who(station), depth=0, style="bold")
    if station.at:
        sheet.row("at", station.at, whole=True)
    for number, candidates in enumerate(_by_switch(station.candidates)):
        sheet.row("" if number else "one of", candidates)
    grade = f"{station.grade}: " if station.grade else ""
    sheet.row("because", f"{grade}{station.because}")
    for number, row in enumerate(station.heard[:_ROWS_SHOWN]):
        sheet.row("" if number else "heard", row, whole=True)
    if len(station.heard) > _ROWS_SHOWN:
        sheet.row("", f"and at {counted(len(station.heard) - _ROWS_SHOWN, 'more place')} (--format json shows all)")
    for number, sentence in enumerate(station.why):
        sheet.row("" if number else "why", sentence)


def _by_switch(candidates: Sequence[str]) -> Iterable[str]:
    """A line per port where there are few; else one per switch, with how many of its ports it may be."""
    if len(candidates) <= _CANDIDATES_SHOWN:
        yield from candidates
        return
    ports: dict[str, list[str]] = {}
    for candidate in candidates:
        switch, _, port = candidate.partition(" port ")
        ports.setdefault(switch, []).append(port)
    for switch, names in list(ports.items())[:_CANDIDATES_SHOWN]:
        some = ", ".join(names[:_CANDIDATES_SHOWN])
        rest = f" and {len(names) - _CANDIDATES_SHOWN} more" if len(names) > _CANDIDATES_SHOWN else ""
        yield f"{switch} {'port' if len(names) == 1 else 'ports'} {some}{rest}"
    if len(ports) > _CANDIDATES_SHOWN:
        left = sum(map(len, list(ports.values())[_CANDIDATES_SHOWN:]))
        switches = counted(len(ports) - _CANDIDATES_SHOWN, "more switch", "more switches")
        yield f"and {counted(left, 'port')} of {switches} (--format json shows all)"


def _who(station: SeenStation) -> str:
    maker = station.maker or "maker not registered"
    return f"{station.mac} ({station.device}, {maker})" if station.device else f"{station.mac} ({maker})"


def _port(sheet: Sheet, port: SeenPort) -> None:
    sheet.gap()
    sheet.name(f"{port.switch} port {port.port}", style="bold")
    if port.gap:
        sheet.row("unknown", port.gap)
        return
    sheet.row("link", _link(port))
    if port.description:
        sheet.row("says", f"port description: {port.description}")
    if port.leads_to:
        sheet.row("leads", f"to {port.leads_to}")
    for neighbour in port.neighbours:
        sheet.row("next", _neighbour(neighbour))
    _stations_on(sheet, port)


def _stations_on(sheet: Sheet, port: SeenPort) -> None:
    for number, station in enumerate(port.stations[:_STATIONS_SHOWN]):
        grade = f", {station.grade}" if station.grade else ""
        sheet.row("" if number else "here", _who(station) + grade, whole=True)
    if len(port.stations) > _STATIONS_SHOWN:
        sheet.row("", f"and {counted(len(port.stations) - _STATIONS_SHOWN, 'more station')} (--format json shows all)")
    for number, station in enumerate(port.perhaps[:_STATIONS_SHOWN]):
        sheet.row("" if number else "perhaps", _who(station), whole=True)
    if len(port.perhaps) > _STATIONS_SHOWN:
        rest = counted(len(port.perhaps) - _STATIONS_SHOWN, "more station")
        sheet.row("", f"and perhaps {rest} (--format json shows all)")
    if port.passing:
        sheet.row("passing", f"{counted(port.passing, 'station')} heard through this port, attached elsewhere")
    if not (port.stations or port.perhaps or port.passing or port.neighbours):
        sheet.row("here", "nobody was heard")


def _link(port: SeenPort) -> str:
    parts = (
        port.state,
        _speed(port.speed_mbps),
        f"{port.duplex} duplex" if port.duplex in ("full", "half") and port.speed_mbps else "",
        f"VLAN {port.vlan}" if port.vlan is not None else "",
        f"gives {port.watts:g} W" if port.watts else "",
        f"since {at_time(port.since)}" if port.since else "",
    )
    return ", ".join(part for part in parts if part)


def _speed(mbps: int | None) -> str:
    """`100 Mbit/s`, `2.5 Gbit/s`."""
    if not mbps:
        return ""
    return f"{mbps / 1000:g} Gbit/s" if mbps >= 1000 else f"{mbps} Mbit/s"


def _neighbour(neighbour: SeenNeighbour) -> str:
    name = neighbour.name or neighbour.chassis_id or "somebody without a name"
    port = f", port {neighbour.port}" if neighbour.port else ""
    description = f" ({neighbour.description})" if neighbour.description not in ("", neighbour.port) else ""
    return f"{name}{port}{description}, by {neighbour.protocol.upper()}"


def render_csv(traced: Trace) -> str:
    """A row per step of every channel; `seen` stands at the switch ports."""
    return table(CSV_COLUMNS, [row for n, c in enumerate(traced.channels, 1) for row in _csv_rows(n, c)])


def _csv_rows(number: int, channel: TracedChannel) -> Iterable[tuple[str, ...]]:
    ports = iter(channel.ports)
    for at, step in enumerate(channel.steps, 1):
        port = next(ports, None) if step.kind == "port" else None
        seen = (port.gap or f"{_link(port)}; {_heard(port)}") if port else ""
        asked = "yes" if step.asked else ""
        yield str(number), str(at), step.kind, step.label, step.room, asked, step.origin, step.note, seen


def _heard(port: SeenPort) -> str:
    stations = ", ".join(_who(station) for station in port.stations)
    return stations or "nobody was heard"
