"""The words of one event, before findings and cautions are added."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tale:
    """`same`: what looks the same from the switches; `decides`: the observation that would tell; `kind`: the public
    kind where it is not that of the deed."""

    story: str
    undo: tuple[str, ...]
    same: tuple[str, ...] = ()
    decides: str = ""
    kind: str = ""
