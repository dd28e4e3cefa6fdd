"""A link that is slower than both ends and the channel allow.

Negotiation runs on the pairs that 100BASE-TX uses (IEEE 802.3, clause 28), so two gigabit ends agree on a gigabit
over a cable that has lost another pair; hardware that notices steps down to 100 Mbit/s.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.snapshot import Port
from reconcile.findings import Finding, Kind, Severity, finding_key
from reconcile.limits.copper import Fit, judge_speed
from reconcile.limits.link import Can, can_do, far_end_can, far_port
from reconcile.limits.parts import grade_of
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture
from reconcile.ports import is_socket
from reconcile.rules.words import where
from reconcile.verdicts import Judgement


def slow_link(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per link: only where both ends are known to be capable of more."""
    told: set[PortRef | None] = set()
    for port, state in picture.ports.items():
        if state.oper != "up" or not state.speed_mbps or not is_socket(state) or port in told:
            continue
        here, there = can_do(port, state, picture.before), far_end_can(port, picture)
        if here is None or there is None or min(here.speed_mbps, there.speed_mbps) <= state.speed_mbps:
            continue
        able = min(here.speed_mbps, there.speed_mbps)
        channel = _channel_words(port, able, picture)
        if channel is not None:
            told.add(far_port(port, picture))
            yield _finding(port, state, (here, there), channel, picture)


def _channel_words(port: PortRef, able: int, picture: Picture) -> str | None:
    """What the map says of the channel at that speed; None when the channel itself does not allow it."""
    channel = picture.channel_at.get(port)
    grade = grade_of(channel, picture.channels.index) if channel is not None else None
    if grade is None:
        return "the category of the channel is not documented"
    if judge_speed(able, grade, 0.0, picture.limits).fit is Fit.FAIL:
        return None
    return f"the channel is documented as Category {grade}, which carries it"


def _finding(port: PortRef, state: Port, ends: tuple[Can, Can], channel: str, picture: Picture) -> Finding:
    place = picture.place(port)
    able = min(end.speed_mbps for end in ends)
    device = picture.channel_at[port].device if port in picture.channel_at else None
    return Finding(
        key=finding_key(Kind.SLOW_LINK, str(port)),
        kind=Kind.SLOW_LINK,
        severity=Severity.MEDIUM,
        where=place,
        documented=f"both ends of the link at {where(place)} can do {able} Mbit/s: "
        f"{ends[0].because}; {ends[1].because}; {channel}",
        seen=f"the link runs at {state.speed_mbps} Mbit/s{_forced(state)}",
        advice=_advice(state, able),
        device=device.name if device else "",
    )


def _forced(state: Port) -> str:
    return ", and the port does not negotiate" if state.auto_negotiation is False else ""


def _advice(state: Port, able: int) -> str:
    if state.auto_negotiation is False:
        return "let the port negotiate, then compare again"
    pairs = "100BASE-TX needs two pairs, 1000BASE-T all four: suspect pair 4-5 or 7-8; " if able >= 1000 else ""
    return (
        f"{pairs}change the cords one at a time. It may also be a device that sleeps, a port forced to this speed, "
        "a cord with two pairs, or an old device"
    )
