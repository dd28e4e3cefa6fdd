"""What became of one thing that was there: back, left to do, or not to be told yet."""

from __future__ import annotations

from dataclasses import dataclass

from reconcile.locate.placement import PortRef
from reconcile.swap.model import Left, Unsure


@dataclass(frozen=True)
class Outcome:
    """Exactly one of: back (neither `left` nor `doubt`), left to do, in doubt. `ports` are where it was."""

    subject: str
    left: Left | None = None
    doubt: Unsure | None = None
    ports: frozenset[PortRef] = frozenset()
    voices: frozenset[str] = frozenset()

    @classmethod
    def back(cls, subject: str) -> Outcome:
        """It is where it belongs."""
        return cls(subject)

    @classmethod
    def of(cls, left: Left) -> Outcome:
        """Something is left to do."""
        return cls(left.subject, left=left)

    @classmethod
    def unsure(cls, doubt: Unsure) -> Outcome:
        """Nothing can be said yet."""
        return cls(doubt.subject, doubt=doubt)

    @property
    def is_back(self) -> bool:
        """True when nothing is left to say of it."""
        return self.left is None and self.doubt is None

    @property
    def rank(self) -> int:
        """The lower, the more was told: of two ends of a link, that end counts which tells more."""
        return 0 if self.is_back else 1 if self.left and self.left.now_at else 2 if self.doubt else 3


def near(port: PortRef) -> str:
    """Where a person has to look."""
    return f"at {port.switch} port {port.port}"
