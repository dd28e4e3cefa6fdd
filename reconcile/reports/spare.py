"""`toneout spare` for people, programs and spreadsheets: what is free, and how far that can be trusted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from reconcile.capacity import Capacity, FreeJacks
from reconcile.cautions import CABLING, PATCHING
from reconcile.free_ports import FreePort
from reconcile.proposal import Proposal
from reconcile.reports import as_json
from reconcile.reports.as_csv import table
from reconcile.reports.layout import Sheet
from reconcile.reports.words import at_time, counted, in_order

COLUMNS = ("what", "switch or panel", "port or jack", "room", "state", "since", "length m", "remark")
_STATES = {
    "silent": "free, and silent",
    "speaks": "free by the map, and yet they speak",
    "shut": "free, administratively down",
    "unknown": "free by the map; not looked at",
}


def render(free: Capacity, proposals: Sequence[Proposal], form: str, *, width: int = 80, colour: bool = False) -> str:
    """Everything that is free, then what is proposed for each room that was asked for."""
    if form == "json":
        content = free.model_dump(mode="json") | {"proposals": [p.model_dump(mode="json") for p in proposals]}
        return as_json.plain(content)
    if form == "csv":
        return table(COLUMNS, [*_port_rows(free), *_jack_rows(free), *_proposal_rows(proposals)])
    sheet = Sheet(width, colour=colour)
    sheet.name(free.site or "This site", style="bold")
    seen = f", and as the switches saw it on {at_time(free.taken)}" if free.taken else ""
    sheet.say(f"As documented{seen}.")
    sheet.say(f"Behind the word free: {free.history}.", style="yellow")
    for proposal in proposals:
        _proposal(sheet, proposal)
    _ports(sheet, free)
    _panels(sheet, free)
    _ready(sheet, free)
    _power(sheet, free)
    if free.missing:
        sheet.heading("Not documented")
        for text in free.missing:
            sheet.say(f"- {text}", hanging=1)
    return str(sheet)


def _proposal(sheet: Sheet, proposal: Proposal) -> None:
    sheet.heading(f"For {proposal.room}: {proposal.asked}")
    for number, place in enumerate(proposal.places, 1):
        sheet.name(f"{number}. outlet {place.outlet}, jack {place.jack}, port {place.port}", style="bold")
        known = f"{place.cord_m:g} m ({place.least_m:g} m at least)" if place.cord_m else "length unknown"
        sheet.row("cord", known)
        if place.missing:
            sheet.row("missing", ", ".join(place.missing))
        if place.warning:
            sheet.row("mind", place.warning, style="yellow")
        if place.last_link:
            words = f"a link was seen at this port on {place.last_link.astimezone():%Y-%m-%d}: ask whose it is"
            sheet.row("mind", words, style="yellow")
    if proposal.lacking:
        sheet.say(f"Not enough: {proposal.lacking}.", style="red")
    sheet.gap()
    for text in PATCHING if not proposal.lacking else (*PATCHING[:-1], *CABLING):
        sheet.say(f"- {text}", hanging=1)


def _ports(sheet: Sheet, free: Capacity) -> None:
    sheet.heading("Switch ports")
    if not free.ports:
        sheet.say("The map has no free port.")
    groups: dict[tuple[str, str], list[FreePort]] = defaultdict(list)
    for port in free.ports:
        groups[port.switch, port.state].append(port)
    for switch in sorted({port.switch for port in free.ports}, key=in_order):
        sheet.name(switch, style="bold")
        for state, words in _STATES.items():
            ports = groups.get((switch, state), [])
            if not ports:
                continue
            sheet.say(f"{len(ports)} {words}: {', '.join(_port(port) for port in ports)}", depth=1, hanging=1)


def _port(port: FreePort) -> str:
    if port.state == "speaks":
        return f"{port.port} ({port.because})"
    if port.state == "silent" and port.silent_seconds is not None:
        return f"{port.port} ({', '.join(_silence(port))})"
    return f"{port.port} ({port.because})" if port.state == "unknown" and port.because else port.port


def _silence(port: FreePort) -> Iterator[str]:
    """For how long, and what the history adds: never a link, or when and whose the last one was."""
    assert port.silent_seconds is not None  # asked for silent ports of known length only
    yield f"{'at least ' if port.at_least else ''}{_lasting(port.silent_seconds)}"
    if port.last_link:
        yield f"last link {port.last_link.astimezone():%Y-%m-%d}{f', {port.last_mac}' if port.last_mac else ''}"
    if port.because:
        yield port.because
    elif port.silent_runs > 1 and not port.last_link:
        yield f"none in {port.silent_runs} runs"


def _lasting(seconds: float) -> str:
    for unit, length in (("week", 604_800), ("day", 86_400), ("hour", 3_600), ("minute", 60)):
        if seconds >= length:
            return counted(int(seconds // length), unit)
    return "just now"


def _panels(sheet: Sheet, free: Capacity) -> None:
    if not free.panels:
        return
    sheet.heading("Panels")
    for panel in free.panels:
        place = f", {panel.room}" if panel.room else ""
        sheet.name(f"{panel.panel}{place}: {panel.jacks} jacks, {panel.patched} patched", style="bold")
        if panel.ready:
            sheet.say(f"{len(panel.ready)} wired and not patched: {', '.join(panel.ready)}", depth=1, hanging=1)
        if panel.bare:
            sheet.say(f"{len(panel.bare)} with nothing behind them: {', '.join(panel.bare)}", depth=1, hanging=1)
        sheet.say(_enough(panel), depth=1, hanging=1)


def _enough(panel: FreeJacks) -> str:
    if panel.suffices is None:
        return "whether the switches beside it suffice cannot be told"
    free = counted(panel.ports_free or 0, "silent port")
    if not panel.ready:
        return f"all that is wired is patched; {free} beside it"
    verdict = "enough for" if panel.suffices else "not enough for"
    return f"{free} beside it: {verdict} {counted(len(panel.ready), 'jack')} that could be patched"


def _ready(sheet: Sheet, free: Capacity) -> None:
    if not free.ready:
        return
    sheet.heading("Wired to a room, not patched")
    rooms: dict[str, list[str]] = defaultdict(list)
    for jack in free.ready:
        user = f", {jack.occupied_by} is plugged in there" if jack.occupied_by else ""
        rooms[jack.room or "room not documented"].append(f"{jack.outlet} (jack {jack.jack}{user})")
    for room in sorted(rooms, key=in_order):
        sheet.say(f"{room}, {len(rooms[room])}: {'; '.join(rooms[room])}", hanging=1)


def _power(sheet: Sheet, free: Capacity) -> None:
    if not free.power:
        return
    sheet.heading("Watts left for PoE")
    for row in free.power:
        now = "unknown" if row.left_now is None else f"{row.left_now:g} W"
        planned = "unknown" if row.left_planned is None else f"{row.left_planned:g} W"
        sheet.say(f"{row.switch} supply {row.group}: {now} by what is drawn now, {planned} if all draw their class")


def _port_rows(free: Capacity) -> list[Sequence[str]]:
    return [
        ("free port", port.switch, port.port, port.room, port.state,
         "" if port.silent_seconds is None else f"{port.silent_seconds:.0f} s", "", _remark(port))
        for port in free.ports
    ]  # fmt: skip


def _remark(port: FreePort) -> str:
    return ", ".join(list(_silence(port))[1:]) if port.silent_seconds is not None else port.because


def _jack_rows(free: Capacity) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = []
    for jack in free.ready:
        length = "" if jack.length_m is None else f"{jack.length_m:g}"
        panel, _, position = jack.jack.partition(":")
        remark = f"outlet {jack.outlet}" + (f", {jack.occupied_by} is there" if jack.occupied_by else "")
        rows.append(("wired jack", panel, position, jack.room, "not patched", "", length, remark))
    for holder in free.panels:
        rows += [("bare jack", holder.panel, n, holder.room, "nothing behind it", "", "", "") for n in holder.bare]
    return rows


def _proposal_rows(proposals: Sequence[Proposal]) -> list[Sequence[str]]:
    rows: list[Sequence[str]] = []
    for proposal in proposals:
        for place in proposal.places:
            switch, _, port = place.port.partition(":")
            cord = "" if place.cord_m is None else f"{place.cord_m:g}"
            remark = f"outlet {place.outlet}, jack {place.jack}"
            rows.append(("proposed", switch, port, place.room, "", "", cord, remark))
        if proposal.lacking:
            rows.append(("lacking", "", "", proposal.room, "", "", "", proposal.lacking))
    return rows
