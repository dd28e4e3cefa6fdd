"""What a counter did between two readings (RFC 2863 section 3.1.5, RFC 3635): a rise, or why nothing can be said.

A difference is valid only within one life of the agent. ifCounterDiscontinuityTime is not collected; a restart shows
in sysUpTime, a counter that somebody cleared in its fall.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from collectors.snapshot import CollectedSwitch, Port, Snapshot
from reconcile.locate.placement import PortRef

COUNTER32 = 2**32
_TICKS = 2**32
_CLOCK_SLACK = 120.0
"""Seconds by which two clocks may disagree before a difference of sysUpTime is taken for a restart: reading a slow
switch takes that long. A thousandth of the time that passed comes on top, for clocks that drift."""


class Rise(NamedTuple):
    """One port between two readings. `errors` are differences by counter name; `bits` received, None when unknown."""

    port: PortRef
    errors: dict[str, int]
    seconds: float
    bits: int | None
    unknown: tuple[str, ...] = ()


def difference(before: int, now: int, size: int = COUNTER32) -> int | None:
    """How much a counter rose; None when it fell otherwise than by one wrap, so that nobody knows.

    A fall counts as a wrap only from the upper half of the range by less than half of it: a small count that became
    smaller was cleared.
    """
    if now >= before:
        return now - before
    wrapped = now - before + size
    return wrapped if before < size and before >= size // 2 and wrapped < size // 2 else None


def restarted(before: CollectedSwitch, now: CollectedSwitch) -> str:
    """Why counters of two readings must not be compared, or ''.

    sysUpTime must have grown by the time that passed; it wraps around after 497 days (RFC 3418, TimeTicks).
    """
    passed = (now.started - before.started).total_seconds()
    if passed <= 0:
        return "the other snapshot is not older"
    old, new = before.system.uptime_ticks, now.system.uptime_ticks
    if old is None or new is None:
        return "the switch does not tell for how long it has been up"
    expected = (old + passed * 100) % _TICKS
    apart = abs(new - expected) / 100
    if min(apart, _TICKS / 100 - apart) > _CLOCK_SLACK + passed * 0.001:
        return "the switch, or its agent, restarted in between"
    return ""


ERRORS = ("fcs_errors", "alignment_errors", "late_collisions")


def rises(before: Snapshot, now: Snapshot) -> Iterator[Rise]:
    """Every port whose error counters can be compared, by name; a port that was renamed is another port."""
    earlier = {switch.name: switch for switch in before.switches}
    for switch in now.switches:
        old = earlier.get(switch.name)
        if old is None or restarted(old, switch):
            continue
        ports = {port.name: port for port in old.ports}
        seconds = (switch.started - old.started).total_seconds()
        for port in switch.ports:
            if port.name in ports and ports[port.name].if_index == port.if_index:
                yield _rise(PortRef(switch.name, port.name), ports[port.name], port, seconds)


def not_comparable(before: Snapshot, now: Snapshot) -> dict[str, str]:
    """Switches whose counters cannot be compared, with the reason."""
    earlier = {switch.name: switch for switch in before.switches}
    found = {}
    for switch in now.switches:
        old = earlier.get(switch.name)
        why = restarted(old, switch) if old else "it is not in the snapshot before"
        if why:
            found[switch.name] = why
    return found


def _rise(ref: PortRef, before: Port, now: Port, seconds: float) -> Rise:
    errors, unknown = {}, []
    for name in ERRORS:
        if name in before.counters and name in now.counters:
            found = difference(before.counters[name], now.counters[name])
            if found is None:
                unknown.append(name)
            else:
                errors[name] = found
    octets = None
    if "in_octets" in before.counters and "in_octets" in now.counters:
        # Size 0: a fall is never taken for a wrap, since a 32-bit octet counter wraps in 34 s at 1 Gbit/s. Wraps that
        # hide in a rise make the traffic look less and the errors more: rather an alarm too many than one too few.
        octets = difference(before.counters["in_octets"], now.counters["in_octets"], size=0)
    return Rise(ref, errors, seconds, None if octets is None else 8 * octets, tuple(unknown))
