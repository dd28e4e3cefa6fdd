"""Which jacks and ports to use for new places in a room, the nearest first, and the cords for it."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel, ConfigDict, Field

from reconcile.capacity import Capacity, ReadyJack
from reconcile.channels import Channels
from reconcile.free_ports import FreePort
from reconcile.limits import copper
from reconcile.limits.copper import Fit
from reconcile.limits.parts import parts_of
from reconcile.limits.values import Limits
from reconcile.parts.cords import Wanted, grade_for
from reconcile.parts.geometry import between, stock_length
from reconcile.patchmap.index import natural
from reconcile.patchmap.model import Panel, PatchMap, Switch, fold
from reconcile.site_file import CordsTable

NEW_DEVICE = "new device"
"""The far end of the cord in the room."""

_STRANGE = 100.0
"""Metres by which a switch that has no cord to the panel yet counts as further off: it may well be a core switch."""

_USED = 50.0
"""Metres by which a port counts as further off at which the history has a link: it may be that of a device that is
away."""

_FAR = 1000.0
"""Metres that stand for "no cord reaches there": another rack or another room."""


class Place(BaseModel):
    """One proposed place: outlet, panel jack, switch port and the cord between the two."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    room: str
    outlet: str
    jack: str
    port: str
    least_m: float | None = None
    cord_m: float | None = Field(None, description="stock length")
    missing: tuple[str, ...] = ()
    warning: str = ""
    last_link: datetime | None = Field(None, description="when the history last has a link at the port")


class Proposal(BaseModel):
    """The outcome for one room. `lacking` says why there are fewer places than asked for."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    room: str
    asked: int
    places: list[Place] = Field(default_factory=list)
    lacking: str = ""


def propose(
    room: str,
    count: int,
    free: Capacity,
    patch_map: PatchMap,
    channels: Channels,
    table: CordsTable,
    limits: Limits,
) -> Proposal:
    """The `count` places with the shortest cords in all (an assignment problem, solved by scipy).

    Switches that serve the panel already come first. Ports that are shut are never proposed: somebody shut them.
    Without a snapshot documented-free ports are taken.
    """
    jacks = [jack for jack in free.ready if fold(jack.room) == fold(room) and not jack.occupied_by]
    silent = free.silent_ports()
    ports = silent or [port for port in free.ports if port.state == "unknown"]
    usual = _usual(channels)
    cost = [[_cost(jack, port, patch_map, table, usual) for port in ports] for jack in jacks]
    places = [
        _place(jacks[j], ports[p], patch_map, table, limits) for j, p in _cheapest(cost, count) if cost[j][p] < _FAR * 2
    ]
    places.sort(key=lambda place: (place.least_m or _FAR, natural(place.outlet)))
    lacking = "" if len(places) >= count else _lacking(room, count, jacks, ports, patch_map)
    return Proposal(room=room, asked=count, places=places, lacking=lacking)


def _cheapest(cost: list[list[float]], count: int) -> list[tuple[int, int]]:
    """The `count` pairs of row and column with the least sum. Rows that are left over take a column of cost nothing."""
    if not cost or not cost[0] or count < 1:
        return []
    import numpy as np  # only a proposal needs it
    from scipy.optimize import linear_sum_assignment

    rows, columns = len(cost), len(cost[0])
    table = np.zeros((rows, columns + max(rows - count, 0)))
    table[:, :columns] = cost
    # Earlier jacks and ports win among equals, so that the same map always gives the same proposal.
    table[:, :columns] += 1e-7 * (np.arange(rows)[:, None] * columns + np.arange(columns)[None, :])
    chosen = zip(*(found.tolist() for found in linear_sum_assignment(table)), strict=True)
    return [(row, column) for row, column in chosen if column < columns]


def _usual(channels: Channels) -> dict[tuple[str, str], int]:
    """How many cords go from a panel to a switch now: a hint at what is near where no rack is documented."""
    found: dict[tuple[str, str], int] = {}
    for channel in channels.resolved:
        jack = next((s.end for s in channel.steps if s.kind == "jack" and s.end), None)
        if channel.port and jack:
            key = (fold(jack.name), fold(channel.port.name))
            found[key] = found.get(key, 0) + 1
    return found


def _cost(
    jack: ReadyJack, port: FreePort, patch_map: PatchMap, table: CordsTable, usual: dict[tuple[str, str], int]
) -> float:
    panel, switch = _panel(jack, patch_map), _switch(port, patch_map)
    measured = between(panel, switch, table)
    used = _USED if port.last_link else 0.0
    served = bool(panel and switch and usual.get((fold(panel.name), fold(switch.name))))
    if measured.metres is not None:
        return measured.metres + (0.0 if served else _STRANGE) + used
    if panel and switch and panel.room and switch.room and fold(panel.room) != fold(switch.room):
        return _FAR * 10
    if served:
        return _FAR / 2 + used
    return _FAR if panel and switch and not (panel.rack and switch.rack) else _FAR * 10


def _panel(jack: ReadyJack, patch_map: PatchMap) -> Panel | None:
    name = jack.jack.partition(":")[0]
    return next((panel for panel in patch_map.panels if fold(panel.name) == fold(name)), None)


def _switch(port: FreePort, patch_map: PatchMap) -> Switch | None:
    return next((switch for switch in patch_map.switches if fold(switch.name) == fold(port.switch)), None)


def _place(jack: ReadyJack, port: FreePort, patch_map: PatchMap, table: CordsTable, limits: Limits) -> Place:
    measured = between(_panel(jack, patch_map), _switch(port, patch_map), table)
    cord = None if measured.metres is None else stock_length(measured.metres, table)
    missing = list(measured.missing)
    warning = ""
    if jack.length_m is None:
        missing.append("the length of the fixed cable")
    elif cord is not None:
        gauge = table.gauge_awg
        lengths = [(cord, gauge), (stock_length(table.at_device_m, table) or table.at_device_m, gauge)]
        judged = copper.judge_lengths(jack.length_m, lengths, limits)
        warning = judged.because if judged.fit is Fit.FAIL else ""
    return Place(
        room=jack.room, outlet=jack.outlet, jack=jack.jack, port=f"{port.switch}:{port.port}",
        least_m=measured.metres, cord_m=cord, missing=tuple(missing), warning=warning, last_link=port.last_link,
    )  # fmt: skip


def _lacking(room: str, count: int, jacks: list[ReadyJack], ports: list[FreePort], patch_map: PatchMap) -> str:
    if not any(fold(outlet.room) == fold(room) for outlet in patch_map.outlets):
        rooms = sorted({outlet.room for outlet in patch_map.outlets if outlet.room}, key=natural)
        known = f"it has {', '.join(rooms)}" if rooms else "it has no rooms"
        return f"the map has no outlet in {room!r}; {known}"
    if len(jacks) < count:
        return f"only {len(jacks)} cables to {room} are not patched: pull more cable, or free some"
    return f"only {len(ports)} free ports are near enough: another switch is needed"


def cords_of(proposal: Proposal, channels: Channels, table: CordsTable) -> list[Wanted]:
    """The cords that a proposal takes: one at the switch and one at the device for each place."""
    through = {step.label: channel for channel in channels.spare for step in channel.steps}
    colour = table.colours.get("other", "")
    stock = stock_length(table.at_device_m, table)
    found = []
    for place in proposal.places:
        channel = through.get(place.outlet)
        category, shield = grade_for(parts_of(channel, channels.index)) if channel else ("", "")
        near = Wanted("", place.port, place.jack, place.least_m, place.cord_m, category, shield, colour)
        found.append(near._replace(missing=place.missing, budget=place.warning))
        found.append(
            Wanted("", place.outlet, NEW_DEVICE, table.at_device_m, stock, category, shield, colour, assumed=True)
        )
    return found
