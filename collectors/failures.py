"""From an error to the row of the switch that it happened at."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Literal

from collectors.access import SwitchAccess
from collectors.errors import BadAnswer, CollectError, NoAnswer, Refused, SecretError, Unreachable
from collectors.snapshot import FailedSwitch

Kind = Literal["unreachable", "no answer", "refused", "bad answer", "secret", "not finished"]

_KINDS: tuple[tuple[type[CollectError], Kind], ...] = (
    (SecretError, "secret"),
    (Unreachable, "unreachable"),
    (NoAnswer, "no answer"),
    (Refused, "refused"),
    (BadAnswer, "bad answer"),
)


def failed_by(access: SwitchAccess, started: datetime, error: CollectError) -> FailedSwitch:
    """The row for a switch that raised `error`."""
    kind: Kind = next((kind for type_, kind in _KINDS if isinstance(error, type_)), "bad answer")
    where = f"{error.where}: " if error.where not in (access.name, access.address) else ""
    return failed_as(access, started, kind, where + error.problem, error.hint)


def failed_as(access: SwitchAccess, started: datetime, kind: Kind, reason: str, hint: str = "") -> FailedSwitch:
    """The row for a switch that could not be asked, for a reason told in words."""
    seconds = max(0.0, (datetime.now(UTC) - started).total_seconds())
    return FailedSwitch(
        name=access.name, address=access.address, started=started, seconds=seconds, reason=reason, kind=kind, hint=hint
    )
