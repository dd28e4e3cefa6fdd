"""What is free: switch ports, jacks, cables to rooms, watts; and how far "free" can be trusted.

A port is free when the map has nothing on it. Whether it really is silent, and since when, only a snapshot and the
history tell; a laptop on holiday is silent too, so every answer says how much history stands behind it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from collectors.snapshot import CollectedSwitch, Port
from reconcile.channels import Channels
from reconcile.limits.power import supplies
from reconcile.locate.placement import PortRef
from reconcile.patchmap.index import HolderKind, MapIndex, Place, Side, natural
from reconcile.patchmap.model import End, Panel, PatchMap, Switch, fold
from reconcile.picture import Picture
from reconcile.ports import is_socket
from reconcile.recalled import NOTHING, Recalled


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class FreePort(_Model):
    """A switch port that the map has nothing on. `state`: silent, shut, speaks, or unknown with its reason.

    `silent_seconds` is for how long it has had no link; `at_least` when neither its agent nor the history goes further
    back. The rest is what the history knows: the last `silent_runs` runs saw no link, the first of them at
    `silent_since`; `last_link` is the last run that saw one and `last_mac` the station that was there last.
    """

    switch: str
    port: str
    room: str = ""
    rack: str = ""
    state: str
    because: str = ""
    silent_seconds: float | None = None
    at_least: bool = False
    silent_runs: int = 0
    silent_since: datetime | None = None
    last_link: datetime | None = Field(None, description="null: no run saw a link, or there is no history")
    last_mac: str = ""
    feeds_power: bool | None = None


class FreeJacks(_Model):
    """One panel: how many of its jacks are patched, wired and not patched, and neither."""

    panel: str
    room: str = ""
    rack: str = ""
    jacks: int
    patched: int
    ready: tuple[str, ...] = Field((), description="wired to somewhere and not patched")
    bare: tuple[str, ...] = Field((), description="nothing on either side")
    ports_free: int | None = Field(None, description="free and silent ports of switches in its rack; null if unknown")

    @property
    def suffices(self) -> bool | None:
        """Whether free ports beside the panel are as many as jacks that are ready; None when nobody knows."""
        return None if self.ports_free is None else self.ports_free >= len(self.ready)


class ReadyJack(_Model):
    """A cable that is installed from a panel to a room, with nothing patched at the panel."""

    outlet: str
    room: str = ""
    jack: str
    cable: str = ""
    length_m: float | None = None
    occupied_by: str = Field("", description="what the map has plugged in at the outlet all the same")


class PowerLeft(_Model):
    """Watts that one supply has left, by what is drawn now and by what the plugged-in classes may draw."""

    switch: str
    group: int
    left_now: float | None = None
    left_planned: float | None = None


class Capacity(_Model):
    """All of it. `taken` is None without a snapshot: then nothing is known of silence."""

    schema_version: int = 1
    site: str = ""
    taken: datetime | None = None
    history: str = Field("", description="what stands behind the word free, for people")
    runs: int = Field(0, description="nightly runs that stand behind it")
    history_days: float = Field(0, description="how far back these go")
    ports: list[FreePort] = Field(default_factory=list)
    panels: list[FreeJacks] = Field(default_factory=list)
    ready: list[ReadyJack] = Field(default_factory=list)
    power: list[PowerLeft] = Field(default_factory=list)
    missing: list[str] = Field(default_factory=list, description="what the record lacks to tell more")

    def silent_ports(self) -> list[FreePort]:
        """Free ports that really were silent."""
        return [port for port in self.ports if port.state == "silent"]


_DAY = timedelta(days=1)
_STARTING = 600.0
"""Seconds after the start of an agent in which it brings up its ports."""

NO_HISTORY = "one snapshot, no history: a device that was off tonight looks like a free port"
NO_SNAPSHOT = "no snapshot: free as documented only (toneout collect)"


def capacity(patch_map: PatchMap, channels: Channels, picture: Picture | None) -> Capacity:
    """Looks at every switch, panel and outlet. Without a picture only the record speaks."""
    index = channels.index or MapIndex(patch_map)
    ports = [port for switch in patch_map.switches for port in _free_ports(switch, channels, picture)]
    snapshot = picture.snapshot if picture else None
    past = picture.recalled if picture else NOTHING
    return Capacity(
        site=patch_map.site,
        taken=snapshot.finished if snapshot else None,
        history=_behind(past, snapshot.finished) if snapshot else NO_SNAPSHOT,
        runs=past.runs,
        history_days=round(past.length(snapshot.finished) / _DAY, 1) if snapshot else 0,
        ports=ports,
        panels=[_jacks(panel, index, ports, patch_map) for panel in patch_map.panels],
        ready=sorted(_ready(patch_map, index), key=lambda jack: (natural(jack.room), natural(jack.outlet))),
        power=list(_power(picture)) if picture else [],
        missing=_missing(patch_map),
    )


def _free_ports(switch: Switch, channels: Channels, picture: Picture | None) -> Iterator[FreePort]:
    used = set(channels.by_port) | {broken.port.key for broken in channels.broken if broken.port}
    taken = {picture.port_of(channel.port) for channel in channels.resolved} if picture else set()
    for name in switch.ports or _sockets(switch, picture):
        end = End(switch.name, name)
        ref = picture.port_of(end) or PortRef(picture.switch_of(end), name) if picture else None
        if end.key not in used and (ref is None or ref not in taken):
            yield _free_port(switch, name, ref, picture)


def _sockets(switch: Switch, picture: Picture | None) -> list[str]:
    """The ports of a switch whose list the map does not have: what the switch itself has for sockets."""
    if picture is None:
        return []
    here = picture.switch_of(End(switch.name, ""))
    return [ref.port for ref, state in picture.ports.items() if ref.switch == here and is_socket(state)]


def _free_port(switch: Switch, name: str, ref: PortRef | None, picture: Picture | None) -> FreePort:
    state = picture.ports.get(ref) if picture and ref else None
    known = {"switch": switch.name, "port": name, "room": switch.room, "rack": switch.rack}
    if picture is None or ref is None or state is None:
        why = "no snapshot" if picture is None else f"{switch.name} did not tell of it"
        return FreePort(**known, state="unknown", because=why)
    power = state.power.enabled if state.power else None
    if state.admin == "down":
        return FreePort(**known, state="shut", because="administratively down", feeds_power=power)
    if state.oper in (None, "unknown", "testing"):
        return FreePort(**known, state="unknown", because="it does not tell its state", feeds_power=power)
    if state.oper in ("up", "dormant"):
        return FreePort(**known, state="speaks", because=_who(ref, picture), feeds_power=power)
    collected = next(s for s in picture.snapshot.switches if s.name == ref.switch)
    return FreePort(**known, state="silent", feeds_power=power, **_silent(ref, _silence(state, collected), picture))


def _silence(state: Port, switch: CollectedSwitch) -> tuple[float | None, bool]:
    """For how long the port has had no link. ifLastChange 0: since before the agent started (RFC 2863).

    Many agents give each port the moment at which they found it without a link after a restart, which says no more.
    """
    uptime = switch.system.uptime_ticks
    seconds = state.seconds_in_state(uptime)
    if uptime is not None and (state.last_change_ticks == 0 or (seconds or 0) > uptime / 100 - _STARTING):
        return uptime / 100, True
    return seconds, False


def _silent(ref: PortRef, told: tuple[float | None, bool], picture: Picture) -> dict[str, Any]:
    """How long a port has been silent by what its switch tells and by what runs saw, and whether the two agree.

    A switch knows to the second, since its agent started; runs go further back, and see nothing between them. A link
    that the switch had meanwhile and no run saw is somebody's who uses the port at other hours.
    """
    seconds, at_least = told
    past = picture.recalled.silent.get(ref)
    if past is None:
        return {"silent_seconds": seconds, "at_least": at_least}
    now = picture.snapshot.finished
    seen = (now - past.since).total_seconds()
    most = (now - past.last_link).total_seconds() if past.last_link else math.inf
    because = ""
    if seconds is not None and not at_least and seconds < seen:
        because = "after a link that no run saw: in use at other hours?"
    elif seconds is None or at_least or seconds > most:
        at_least = True
        seconds = seen if seconds is None or seconds > most else max(seen, seconds)
    return {
        "silent_seconds": seconds, "at_least": at_least, "because": because, "silent_runs": past.runs,
        "silent_since": past.since, "last_link": past.last_link, "last_mac": past.last_mac,
    }  # fmt: skip


def _behind(past: Recalled, now: datetime) -> str:
    """What a reader of the word free has to know of the nights behind it."""
    if past.first is None or past.runs < 2:
        return NO_HISTORY
    days = past.length(now) / _DAY
    length = f"{days / 7:.0f} weeks" if days >= 14 else f"{days:.0f} days" if days >= 2 else f"{days * 24:.0f} hours"
    since = f"{length} of history, {past.runs} runs since {past.first.astimezone():%Y-%m-%d}"
    return f"{since}; a device that was off for longer looks like a free port"


def _who(ref: PortRef, picture: Picture) -> str:
    uplink = picture.uplink(ref)
    if uplink is not None:
        return f"leads to {uplink.there or uplink.peer or 'another switch'}"
    stations = picture.stations(ref)
    if stations:
        more = f" and {len(stations) - 1} more" if len(stations) > 1 else ""
        return f"{stations[0].mac}{more} is there"
    return "the link is up, nobody was heard"


def _at(index: MapIndex, key: tuple[str, str], side: Side) -> Place | None:
    """What the one link on this side of a jack leads to."""
    slot = (*key, side)
    links = index.at_slot.get(slot, [])
    there = links[0].beyond(slot).place if links else None
    return there if isinstance(there, Place) else None


def _jacks(panel: Panel, index: MapIndex, ports: list[FreePort], patch_map: PatchMap) -> FreeJacks:
    patched, ready, bare = 0, [], []
    for jack in panel.jacks:
        key = (fold(panel.name), fold(jack))
        wired, corded = ((*key, side) in index.at_slot for side in (Side.INSTALLED, Side.PATCHING))
        if corded:
            patched += 1
        elif wired:
            ready.append(jack)
        else:
            bare.append(jack)
    beside = [s for s in patch_map.switches if _together(s, panel)]
    known = bool(panel.rack or panel.room) and any(p.state != "unknown" for p in ports)
    names = {fold(switch.name) for switch in beside}
    free = sum(port.state == "silent" and fold(port.switch) in names for port in ports)
    return FreeJacks(
        panel=panel.name, room=panel.room, rack=panel.rack, jacks=len(panel.jacks), patched=patched,
        ready=tuple(ready), bare=tuple(bare), ports_free=free if known else None,
    )  # fmt: skip


def _together(switch: Switch, panel: Panel) -> bool:
    """In one rack; or in one room, where a rack is not documented for both."""
    if switch.rack and panel.rack:
        return (fold(switch.rack), fold(switch.room)) == (fold(panel.rack), fold(panel.room))
    return bool(switch.room) and fold(switch.room) == fold(panel.room)


def _ready(patch_map: PatchMap, index: MapIndex) -> Iterator[ReadyJack]:
    for outlet in patch_map.outlets:
        for position in outlet.jacks:
            key = (fold(outlet.name), fold(position))
            panel = _at(index, key, Side.INSTALLED)
            if panel is None or panel.kind is not HolderKind.PANEL or (*panel.key, Side.PATCHING) in index.at_slot:
                continue
            cable = index.at_slot[(*key, Side.INSTALLED)][0].row
            user = _at(index, key, Side.PATCHING)
            yield ReadyJack(
                outlet=str(End(outlet.name, position)), room=outlet.room, jack=str(panel.end),
                cable=getattr(cable, "label", ""), length_m=getattr(cable, "length_m", None),
                occupied_by=str(user.end) if user else "",
            )  # fmt: skip


def _power(picture: Picture) -> Iterator[PowerLeft]:
    for group in supplies(picture.snapshot, picture.limits):
        budget = group.budget
        now = None if budget is None or budget.measured is None else round(budget.supply - budget.measured, 2)
        planned = None if budget is None else round(budget.supply - budget.planned, 2)
        yield PowerLeft(switch=group.switch, group=group.group, left_now=now, left_planned=planned)


def _missing(patch_map: PatchMap) -> list[str]:
    """Columns that nobody filled, and what they would tell."""
    found = []
    if patch_map.switches and not any(switch.ports for switch in patch_map.switches):
        found.append("the list of ports of the switches: every socket that a switch tells of is taken for one")
    if patch_map.panels and not any(panel.rack and panel.unit for panel in patch_map.panels):
        found.append("rack and height unit of panels and switches: which ports are near, and how long cords must be")
    if patch_map.form == "schedule":
        found.append("jacks that no row of the schedule names: they are not counted")
    if any(not outlet.room for outlet in patch_map.outlets):
        found.append("the room of some outlets")
    return found
