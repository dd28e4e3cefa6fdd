"""What is free: switch ports, jacks, cables to rooms, watts; and how far "free" can be trusted.

A port is free when the map has nothing on it. Whether it really is silent, and since when, only a snapshot and the
history tell; a laptop on holiday is silent too, so every answer says how much history stands behind it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from pydantic import BaseModel, ConfigDict, Field

from reconcile.channels import Channels
from reconcile.free_ports import FreePort, free_ports
from reconcile.limits.power import supplies
from reconcile.patchmap.index import HolderKind, MapIndex, Place, Side, natural
from reconcile.patchmap.model import End, Panel, PatchMap, Switch, fold
from reconcile.picture import Picture
from reconcile.recalled import NOTHING, Recalled


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


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
NO_HISTORY = "one snapshot, no history: a device that was off tonight looks like a free port"
NO_SNAPSHOT = "no snapshot: free as documented only (toneout collect)"


def capacity(patch_map: PatchMap, channels: Channels, picture: Picture | None) -> Capacity:
    """Looks at every switch, panel and outlet. Without a picture only the record speaks."""
    index = channels.index or MapIndex(patch_map)
    ports = free_ports(patch_map.switches, channels, picture)
    silent = Counter(fold(port.switch) for port in ports if port.state == "silent")
    told = any(port.state != "unknown" for port in ports)
    snapshot = picture.snapshot if picture else None
    past = picture.recalled if picture else NOTHING
    return Capacity(
        site=patch_map.site,
        taken=snapshot.finished if snapshot else None,
        history=_behind(past, snapshot.finished) if snapshot else NO_SNAPSHOT,
        runs=past.runs,
        history_days=round(past.length(snapshot.finished) / _DAY, 1) if snapshot else 0,
        ports=ports,
        panels=[_jacks(panel, index, silent if told else None, patch_map) for panel in patch_map.panels],
        ready=sorted(_ready(patch_map, index), key=lambda jack: (natural(jack.room), natural(jack.outlet))),
        power=list(_power(picture)) if picture else [],
        missing=_missing(patch_map),
    )


def _behind(past: Recalled, now: datetime) -> str:
    """What a reader of the word free has to know of the nights behind it."""
    if past.first is None or past.runs < 2:
        return NO_HISTORY
    days = past.length(now) / _DAY
    length = f"{days / 7:.0f} weeks" if days >= 14 else f"{days:.0f} days" if days >= 2 else f"{days * 24:.0f} hours"
    since = f"{length} of history, {past.runs} runs since {past.first.astimezone():%Y-%m-%d}"
    return f"{since}; a device that was off for longer looks like a free port"


def _at(index: MapIndex, key: tuple[str, str], side: Side) -> Place | None:
    """What the one link on this side of a jack leads to."""
    slot = (*key, side)
    links = index.at_slot.get(slot, [])
    there = links[0].beyond(slot).place if links else None
    return there if isinstance(there, Place) else None


def _jacks(panel: Panel, index: MapIndex, silent: Mapping[str, int] | None, patch_map: PatchMap) -> FreeJacks:
    """`silent`: free ports of each switch (folded name) that have no link; None where nothing is known of any."""
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
    free = None
    if silent is not None and (panel.rack or panel.room):
        beside = {fold(switch.name) for switch in patch_map.switches if _together(switch, panel)}
        free = sum(silent.get(name, 0) for name in beside)
    return FreeJacks(
        panel=panel.name, room=panel.room, rack=panel.rack, jacks=len(panel.jacks), patched=patched,
        ready=tuple(ready), bare=tuple(bare), ports_free=free,
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
