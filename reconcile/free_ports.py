"""Switch ports that the map has nothing on: whether each really is silent, and since when.

A switch knows when a port lost its link, as far back as its agent runs; the history knows which runs saw no link. A
port without a link is not a port without a user, so both are told.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from collectors.snapshot import CollectedSwitch, Port
from reconcile.channels import Channels
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import End, Switch
from reconcile.picture import Picture
from reconcile.ports import is_socket

_STARTING = 600.0
"""Seconds after the start of an agent in which it brings up its ports."""


class FreePort(BaseModel):
    """A switch port that the map has nothing on. `state`: silent, shut, speaks, or unknown with its reason.

    `silent_seconds` is for how long it has had no link; `at_least` when neither its agent nor the history goes further
    back. The rest is what the history knows: the last `silent_runs` runs saw no link, the first of them at
    `silent_since`; `last_link` is the last run that saw one and `last_mac` the station that was there last.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

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


def free_ports(switches: list[Switch], channels: Channels, picture: Picture | None) -> list[FreePort]:
    """Those of all switches, in their order. Without a picture only the record speaks."""
    used = set(channels.by_port) | {broken.port.key for broken in channels.broken if broken.port}
    if picture is None:
        return [
            FreePort(**_known(switch, port), state="unknown", because="no snapshot")
            for switch in switches
            for port in switch.ports
            if End(switch.name, port).key not in used
        ]
    seen = _Seen(picture)
    taken = {picture.port_of(channel.port) for channel in channels.resolved}
    return [
        seen.tell(switch, end.position, ref)
        for switch in switches
        for end, ref in seen.ports(switch)
        if end.key not in used and ref not in taken
    ]


def _known(switch: Switch, port: str) -> dict[str, Any]:
    return {"switch": switch.name, "port": port, "room": switch.room, "rack": switch.rack}


class _Seen:
    """What the switches of one picture say of their ports."""

    def __init__(self, picture: Picture) -> None:
        self._picture = picture
        self._switches = {switch.name: switch for switch in picture.snapshot.switches}
        self._sockets: dict[str, list[str]] = defaultdict(list)
        for ref, state in picture.ports.items():
            if is_socket(state):
                self._sockets[ref.switch].append(ref.port)

    def ports(self, switch: Switch) -> Iterator[tuple[End, PortRef]]:
        """The documented ports of a switch, or what it has for sockets itself; each as it is named by the switch."""
        here = self._picture.switch_of(End(switch.name, ""))
        for name in switch.ports or self._sockets[here]:
            end = End(switch.name, name)
            yield end, self._picture.port_of(end) or PortRef(here, name)

    def tell(self, switch: Switch, port: str, ref: PortRef) -> FreePort:
        """One port. `port` is its name in the map."""
        known, state = _known(switch, port), self._picture.ports.get(ref)
        if state is None:
            return FreePort(**known, state="unknown", because=f"{switch.name} did not tell of it")
        power = state.power.enabled if state.power else None
        if state.admin == "down":
            return FreePort(**known, state="shut", because="administratively down", feeds_power=power)
        if state.oper in (None, "unknown", "testing"):
            return FreePort(**known, state="unknown", because="it does not tell its state", feeds_power=power)
        if state.oper in ("up", "dormant"):
            return FreePort(**known, state="speaks", because=_who(ref, self._picture), feeds_power=power)
        silence = _silence(state, self._switches[ref.switch])
        return FreePort(**known, state="silent", feeds_power=power, **_silent(ref, silence, self._picture))


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


def _who(ref: PortRef, picture: Picture) -> str:
    uplink = picture.uplink(ref)
    if uplink is not None:
        return f"leads to {uplink.there or uplink.peer or 'another switch'}"
    stations = picture.stations(ref)
    if stations:
        more = f" and {len(stations) - 1} more" if len(stations) > 1 else ""
        return f"{stations[0].mac}{more} is there"
    return "the link is up, nobody was heard"
