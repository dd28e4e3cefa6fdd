"""A link that is slower than in its own past, or than both ends and the channel allow.

Negotiation runs on the pairs that 100BASE-TX uses (IEEE 802.3, clause 28), so two gigabit ends agree on a gigabit
over a cable that has lost another pair; hardware that notices steps down to 100 Mbit/s.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from collectors.snapshot import Port
from reconcile.findings import Evidence, Finding, Kind, Severity, finding_key
from reconcile.limits.copper import Fit, judge_speed
from reconcile.limits.link import can_do, far_end_can, far_port
from reconcile.limits.parts import grade_of
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture
from reconcile.ports import is_socket
from reconcile.rules.words import where
from reconcile.verdicts import Judgement


def slow_link(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per link: slower than in its own past, or where both ends are known to be capable of more."""
    told: set[PortRef | None] = set()
    for port, state in picture.ports.items():
        if state.oper != "up" or not state.speed_mbps or not is_socket(state) or port in told:
            continue
        finding = _than_before(port, state, picture) or _than_possible(port, state, picture)
        if finding is not None:
            told.add(far_port(port, picture))
            yield finding


def _than_before(port: PortRef, state: Port, picture: Picture) -> Finding | None:
    """Slower than earlier runs saw it at this part of the day. Another device on the port may do no more."""
    ran = picture.recalled.paces.faster.get(port)
    if ran is None:
        return None
    far = far_port(port, picture)
    here = {placement.mac for placement in picture.stations(port)}
    if far is not None:
        can = can_do(far, picture)
        if can is not None and state.speed_mbps and can.speed_mbps <= state.speed_mbps:
            return None
    elif here and ran.macs and not here & ran.macs:
        return None
    same = far is not None or bool(here & ran.macs)
    documented = f"the link at {where(picture.place(port))} ran at {ran}, so that its ends and its cable can"
    advice = _advice(state, ran.speed_mbps)
    if not same:
        advice = f"see whether the same device is on it; {advice}"
    evidence = (Evidence(port.switch, port.port, "history", f"since {ran.since.astimezone():%Y-%m-%d}: {ran}"),)
    return _finding(port, state, documented, advice, Severity.MEDIUM if same else Severity.LOW, picture, evidence)


def _than_possible(port: PortRef, state: Port, picture: Picture) -> Finding | None:
    """Slower than both ends are known to manage and than the channel allows."""
    here, there = can_do(port, picture), far_end_can(port, picture)
    if here is None or there is None:
        return None
    able = min(here.speed_mbps, there.speed_mbps)
    channel = _channel_words(port, able, picture) if able > (state.speed_mbps or 0) else None
    if channel is None:
        return None
    documented = (
        f"both ends of the link at {where(picture.place(port))} can do {able} Mbit/s: "
        f"{here.because}; {there.because}; {channel}"
    )
    return _finding(port, state, documented, _advice(state, able), Severity.MEDIUM, picture)


def _channel_words(port: PortRef, able: int, picture: Picture) -> str | None:
    """What the map says of the channel at that speed; None when the channel itself does not allow it."""
    channel = picture.channel_at.get(port)
    grade = grade_of(channel, picture.channels.index) if channel is not None else None
    if grade is None:
        return "the category of the channel is not documented"
    if judge_speed(able, grade, 0.0, picture.limits).fit is Fit.FAIL:
        return None
    return f"the channel is documented as Category {grade}, which carries it"


def _finding(
    port: PortRef,
    state: Port,
    documented: str,
    advice: str,
    severity: Severity,
    picture: Picture,
    evidence: tuple[Evidence, ...] = (),
) -> Finding:
    device = picture.channel_at[port].device if port in picture.channel_at else None
    return Finding(
        key=finding_key(Kind.SLOW_LINK, str(port)),
        kind=Kind.SLOW_LINK,
        severity=severity,
        where=picture.place(port),
        documented=documented,
        seen=f"the link runs at {state.speed_mbps} Mbit/s{_forced(state)}",
        advice=advice,
        device=device.name if device else "",
        evidence=evidence,
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
