"""A link where the map has nothing, and no station tells whose it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.snapshot import Port, Table
from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture
from reconcile.ports import is_socket
from reconcile.rules.words import where
from reconcile.verdicts import Judgement, Saw


def unexpected_link(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per link: a link between two asked switches is told at one end, and not again where it is already
    told as a documented link that leads elsewhere, or as the place that a device moved to."""
    told = {end for j in judgements if j.uplink is not None for end in (j.uplink.here, j.uplink.there) if end}
    told |= {p.at for j in judgements if j.saw is Saw.ELSEWHERE for p in j.stations if p.at}
    for port, state in picture.ports.items():
        if port in told or not _unexplained(port, state, picture):
            continue
        uplink = picture.uplink(port)
        if uplink is not None and uplink.there is not None:
            told.add(uplink.there)
        place = picture.place(port)
        yield Finding(
            key=finding_key(Kind.UNEXPECTED_LINK, str(port), str(uplink.peer) if uplink else ""),
            kind=Kind.UNEXPECTED_LINK,
            severity=Severity.MEDIUM if uplink else Severity.LOW,
            where=place,
            documented=f"the map has nothing plugged in at {where(place)}",
            seen=f"the link is up{_speed(state)}, {_who(port, picture)}",
            advice="follow the cord; write down what is there, or unplug it",
        )


def _unexplained(port: PortRef, state: Port, picture: Picture) -> bool:
    if state.oper != "up" or not is_socket(state):
        return False
    channel = picture.channel_at.get(port)
    if channel is not None and channel.open_end is None:
        return False
    if picture.faces_switch_by_observation(port):
        return True  # stations behind a switch that the map does not have are its own: the news is the link
    return not picture.stations(port) and not picture.maybe_at.get(picture.group(port))


def _speed(state: Port) -> str:
    return f" at {state.speed_mbps} Mbit/s" if state.speed_mbps else ""


def _who(port: PortRef, picture: Picture) -> str:
    uplink = picture.uplink(port)
    if uplink is not None:
        return f"and leads to {uplink.there or uplink.peer or 'a switch that does not tell its name'} ({uplink.source})"
    for neighbour in picture.neighbours.get(port, ()):
        return f"and {neighbour.system_name or neighbour.chassis_id} announces itself there"
    gap = picture.coverage.gap(port.switch, Table.FORWARDING)
    return f"and who is there cannot be told: {gap}" if gap else "and no station was heard there"
