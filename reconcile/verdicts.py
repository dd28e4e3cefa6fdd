"""What observation says about every documented channel. Rules turn these judgements into findings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum, auto

from collectors.names import parse_mac
from collectors.snapshot import Port, Table
from reconcile.channels import Channel
from reconcile.findings import ChannelVerdict, Verdict
from reconcile.locate.placement import Grade, Placement, PortRef, Uplink
from reconcile.patchmap.model import Device, End, fold
from reconcile.picture import Picture


class Saw(Enum):
    """What was seen of the far end of a channel."""

    AS_DOCUMENTED = auto()
    ELSEWHERE = auto()  # the device is at another port
    OTHERS = auto()  # somebody else is at its port, and the device is nowhere
    LINK_ELSEWHERE = auto()  # a link between switches leads elsewhere
    SHUT = auto()
    NO_LINK = auto()
    NOBODY = auto()  # link up, nothing that tells who
    NOT_DOCUMENTED = auto()  # the map names nobody, and somebody is there
    GAP = auto()  # could not look


_VERDICT = {
    Saw.AS_DOCUMENTED: Verdict.CONFIRMED,
    Saw.ELSEWHERE: Verdict.CONTRADICTED,
    Saw.OTHERS: Verdict.CONTRADICTED,
    Saw.LINK_ELSEWHERE: Verdict.CONTRADICTED,
    Saw.NOT_DOCUMENTED: Verdict.CONTRADICTED,
    # No link is silence: the device may be off. Only somebody seen elsewhere contradicts the map.
    Saw.SHUT: Verdict.SILENT,
    Saw.NO_LINK: Verdict.SILENT,
    Saw.NOBODY: Verdict.SILENT,
    Saw.GAP: Verdict.UNCHECKED,
}


@dataclass(frozen=True, slots=True)
class Judgement:
    """One channel, what was seen, and what that rests on.

    `port` is the observed port; None when its switch did not answer or has no such port. `stations` are the
    placements that matter: of the device itself, or of who else is there.
    """

    channel: Channel
    saw: Saw
    because: str
    port: PortRef | None = None
    stations: tuple[Placement, ...] = ()
    uplink: Uplink | None = None

    def verdict(self, picture: Picture) -> ChannelVerdict:
        """The public form."""
        return ChannelVerdict(
            channel=self.channel.key,
            verdict=_VERDICT[self.saw],
            because=self.because,
            device=self.channel.device.name if self.channel.device else "",
            where=picture.place(self.port, self.channel),
        )


def judge_all(picture: Picture) -> list[Judgement]:
    """A judgement for every resolved channel, in the order of the map."""
    return [judge(channel, picture) for channel in picture.channels.resolved]


def judge(channel: Channel, picture: Picture) -> Judgement:
    """What was seen of one channel."""
    if channel.device is not None:
        return _judge_device(channel, channel.device, picture)
    if channel.far_port is not None and channel.port is not None:
        return _judge_link(channel, channel.port, channel.far_port, picture)
    return _judge_open_end(channel, picture)


def _judge_device(channel: Channel, device: Device, picture: Picture) -> Judgement:
    port = picture.port_of(channel.port or channel.behind)
    placed = [picture.located.placements[m] for m in device.macs if m in picture.located.placements]
    here = [p for p in placed if port and p.at and picture.same_place(p.at, port)]
    if here:
        return Judgement(channel, Saw.AS_DOCUMENTED, f"{here[0].mac} is there ({here[0].grade})", port, tuple(here))
    named = port and next(_speaks_for(device, port, picture), None)
    if named:
        return Judgement(channel, Saw.AS_DOCUMENTED, f"it announces itself there as {named}", port)
    said = [_announced(m, picture.announced_at[m]) for m in device.macs if m in picture.announced_at]
    elsewhere = [p for p in said if not _at_own_socket(p, device, picture)]
    if elsewhere:
        return Judgement(channel, Saw.ELSEWHERE, f"it announces itself at {elsewhere[0].at}", port, tuple(elsewhere))
    open_grades = (Grade.AMBIGUOUS, Grade.CERTAIN_UNLESS)
    perhaps = [p for p in placed if port and p.grade in open_grades and port in p.candidates]
    gap = picture.coverage.gap(port.switch, Table.FORWARDING) if port else ""
    if perhaps and gap:
        return Judgement(channel, Saw.GAP, gap, port)
    if perhaps:
        count = len(perhaps[0].candidates)
        return Judgement(channel, Saw.NOBODY, f"{perhaps[0].mac} is at one of {count} ports, this one among them", port)
    told = [p for p in placed if p.at or port]  # some candidates, and a home that was not read, tell nothing
    gone = [p for p in told if not (_direction_only(p, picture) or _at_own_socket(p, device, picture))]
    if gone:
        return Judgement(channel, Saw.ELSEWHERE, f"{gone[0].mac} is at {_at(gone[0])}", port, tuple(gone))
    return _judge_port(channel, port, picture) or _judge_strangers(channel, device, port, picture)


def _speaks_for(device: Device, port: PortRef, picture: Picture) -> Iterator[str]:
    """Names under which a neighbour on the port is this device."""
    for neighbour in picture.neighbours.get(port, ()):
        if fold(neighbour.system_name.split(".")[0]) in {fold(device.name), fold(device.name.split(".")[0])}:
            yield neighbour.system_name
        for identifier in (neighbour.chassis_id, neighbour.port_id):
            if (parse_mac(identifier) or "") in device.macs:
                yield identifier


def _announced(mac: str, port: PortRef) -> Placement:
    return Placement(mac, port, Grade.CERTAIN, (port,), "it announces itself there")


def _at_own_socket(placement: Placement, device: Device, picture: Picture) -> bool:
    """True when the station is where the map has another socket of the same device."""
    homes = [picture.port_of(c.port or c.behind) for c in picture.channels.of_device(device.name)]
    at = placement.at
    return at is not None and any(home is not None and picture.same_place(home, at) for home in homes)


def _direction_only(placement: Placement, picture: Picture) -> bool:
    """True when the station may have been heard only on ports that lead to other switches. Its own switch may not
    have been read, or may have forgotten it sooner than the others did (at once, when its cable was pulled): neither
    says that it is not where the map has it."""
    return placement.at is None and any(picture.faces_switch(port) for port in placement.candidates)


def _judge_port(channel: Channel, port: PortRef | None, picture: Picture) -> Judgement | None:
    """A judgement from the state of the port alone, or None when the link is up."""
    end = channel.port or channel.behind
    if end is None:
        return Judgement(channel, Saw.GAP, "the documented path reaches no switch port")
    switch = picture.switch_of(end)
    if port is None:
        gap = picture.coverage.gap(switch, Table.INTERFACES)
        return Judgement(channel, Saw.GAP, gap or f"{switch} has no port {end.position}")
    state = picture.ports[port]
    if channel.port is None and state.oper != "up":
        return Judgement(channel, Saw.NOBODY, f"there is no link at {port}, which it is behind", port)
    if state.admin == "down":
        return Judgement(channel, Saw.SHUT, "the port is administratively down", port)
    if state.oper in (None, "unknown", "testing"):
        return Judgement(channel, Saw.GAP, f"{switch} does not tell the state of this port", port)
    if state.oper not in ("up", "dormant"):
        return Judgement(channel, Saw.NO_LINK, no_link_words(state), port)
    return None


def _judge_strangers(channel: Channel, device: Device, port: PortRef | None, picture: Picture) -> Judgement:
    assert port is not None  # _judge_port has met the other case
    if not device.macs:
        return Judgement(channel, Saw.NOBODY, "the link is up; no address is documented to tell the device by", port)
    others = tuple(p for p in picture.stations(port) if not _documented_here(p, port, picture))
    if others and channel.port and not device.carries:
        return Judgement(channel, Saw.OTHERS, f"{others[0].mac} is there instead", port, others)
    gap = picture.coverage.gap(port.switch, Table.FORWARDING)
    if gap:
        return Judgement(channel, Saw.GAP, f"the link is up; {gap}", port)
    return Judgement(channel, Saw.NOBODY, "the link is up; its address was not heard", port)


def _documented_here(placement: Placement, port: PortRef, picture: Picture) -> bool:
    device = picture.device_of.get(placement.mac)
    home = picture.channels.by_device.get(fold(device.name)) if device else None
    at_home = picture.port_of(home.port or home.behind) if home else None
    return at_home is not None and picture.same_place(at_home, port)


def _judge_link(channel: Channel, here: End, there: End, picture: Picture) -> Judgement:
    port, far = picture.port_of(here), picture.port_of(there)
    for mine, other, other_end in ((port, far, there), (far, port, here)):
        uplink = picture.uplink(mine) if mine else None
        if uplink is None:
            continue
        told = _leads_to(uplink, other, other_end, picture)
        if told is True:
            peer = str(uplink.there or uplink.peer)
            return Judgement(channel, Saw.AS_DOCUMENTED, f"{peer} is on the other side ({uplink.source})", port)
        if told is False:
            words = f"{uplink.here} leads to {uplink.there or uplink.peer} ({uplink.source})"
            return Judgement(channel, Saw.LINK_ELSEWHERE, words, port, uplink=uplink)
    judged = _judge_port(channel, port, picture)
    if judged is not None:
        return judged
    assert port is not None
    placed = tuple(p for p in picture.stations(port) if p.grade is Grade.CERTAIN)
    if placed and not picture.faces_switch_by_observation(port):
        return Judgement(channel, Saw.LINK_ELSEWHERE, f"{placed[0].mac} is there, no switch", port, placed)
    gap = picture.coverage.gap(port.switch, Table.NEIGHBOURS)
    if gap:
        return Judgement(channel, Saw.GAP, f"the link is up; {gap}", port)
    return Judgement(channel, Saw.NOBODY, "the link is up; no neighbour told its name", port)


def _leads_to(uplink: Uplink, port: PortRef | None, end: End, picture: Picture) -> bool | None:
    """True or False when the observed link does or does not lead to the documented end; None when it cannot tell."""
    switch = picture.switch_of(end)
    if uplink.there is not None:
        if port is not None:
            return picture.same_place(uplink.there, port)
        return None if uplink.there.switch == switch else False
    if fold(uplink.peer) == fold(switch):
        return True
    # A peer that calls itself something else may well be the documented switch, when that one was not asked.
    return False if switch in picture.coverage.answered and uplink.peer else None


def _judge_open_end(channel: Channel, picture: Picture) -> Judgement:
    port = picture.port_of(channel.port)
    judged = _judge_port(channel, port, picture)
    if judged is not None:
        if judged.saw in (Saw.SHUT, Saw.NO_LINK):
            return Judgement(channel, Saw.NOBODY, "nothing is documented at its end, and there is no link", port)
        return judged
    assert port is not None
    stations = picture.stations(port)
    return Judgement(
        channel, Saw.NOT_DOCUMENTED, "nothing is documented at its end, and the link is up", port, stations
    )


def no_link_words(port: Port) -> str:
    """What the port says of its link, for people."""
    if port.oper == "notPresent":
        return "no link: the pluggable module is missing"
    return "no link"


def _at(placement: Placement) -> str:
    if placement.at is not None:
        return f"{placement.at} ({placement.grade})"
    return "one of " + ", ".join(map(str, placement.candidates))
