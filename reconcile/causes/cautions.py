"""What to mind before hands touch cords: phrases for `Cause.cautions`. Common practice of the trade, from memory.

They replace no local code and no licensed practice: where those ask for more, those hold.
"""

from __future__ import annotations

# Words in a documented device kind that usually mean power over the data cord.
_POWERED = ("phone", "camera", "access point", "wireless", "reader", "intercom", "clock", "sensor")


def before_unplugging(*, link: bool = False, kinds: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Sentences to read first: `link` when a link between switches is touched, `kinds` of the devices touched."""
    cautions = []
    if link:
        cautions.append(
            "leave this for last and for a quiet hour: other ports depend on this link; if it comes up elsewhere, "
            "make sure that it closes no loop"
        )
    powered = [kind for kind in kinds if any(word in kind.casefold() for word in _POWERED)]
    if powered:
        cautions.append(
            f"the {powered[0]} may draw its power from the cord (PoE): it restarts, and its port must deliver power; "
            "local electrical codes and licensed practice come first"
        )
    return tuple(cautions)
