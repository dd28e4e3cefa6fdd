"""FCS, alignment or late-collision errors that rose since the snapshot before (RFC 3635)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reconcile.findings import Evidence, Finding, Kind, Severity, finding_key
from reconcile.limits.counters import Rise, rises
from reconcile.picture import Picture
from reconcile.rules.words import where
from reconcile.verdicts import Judgement

_NAMES = {"fcs_errors": "FCS errors", "alignment_errors": "alignment errors", "late_collisions": "late collisions"}


def rising_errors(picture: Picture, judgements: Sequence[Judgement]) -> Iterator[Finding]:
    """One finding per port. Damaged frames within what Ethernet itself allows are none: every wire has a few."""
    if picture.before is None:
        return
    for rise in rises(picture.before, picture.snapshot):
        if worth_telling(rise, picture):
            yield _finding(rise, picture)


def worth_telling(rise: Rise, picture: Picture) -> bool:
    """Any late collision, since none belongs on a sound link; damaged frames beyond the tolerated error rate."""
    if rise.errors.get("late_collisions"):
        return True
    damaged = _damaged(rise)
    tolerated = picture.limits["bits per tolerated bit error"].value
    return damaged > 0 and (rise.bits is None or damaged > max(1.0, rise.bits / tolerated))


def _damaged(rise: Rise) -> int:
    return rise.errors.get("fcs_errors", 0) + rise.errors.get("alignment_errors", 0)


def _finding(rise: Rise, picture: Picture) -> Finding:
    place = picture.place(rise.port)
    counts = [f"{count} more {_NAMES[name]}" for name, count in rise.errors.items() if count]
    hours = rise.seconds / 3600
    rate = f"{sum(rise.errors.values()) / hours:.3g} an hour" if hours else "at once"
    device = picture.channel_at[rise.port].device if rise.port in picture.channel_at else None
    late = bool(rise.errors.get("late_collisions"))
    sure = late or rise.bits is not None
    return Finding(
        key=finding_key(Kind.RISING_ERRORS, str(rise.port)),
        kind=Kind.RISING_ERRORS,
        severity=Severity.MEDIUM if sure else Severity.LOW,
        where=place,
        documented=f"no frame should arrive damaged at {where(place)}",
        seen=f"{', '.join(counts)} since the snapshot before, {rate}",
        advice=_advice(late),
        device=device.name if device else "",
        evidence=(Evidence(rise.port.switch, rise.port.port, "ethernet", f"{', '.join(counts)} in {hours:.1f} h"),),
    )


def _advice(late: bool) -> str:
    if late:
        return (
            "late collisions are counted on half duplex only: compare duplex and negotiation of both ends, and the "
            "length of the channel"
        )
    return "frames with a bad check sequence and a link that stays up: try another cord, look for tight bends"
