"""Other stories that cost about as much, each in one clause."""

from __future__ import annotations

from collections.abc import Callable

from reconcile.causes.certainty import Explained
from reconcile.causes.names import Names
from reconcile.causes.plan import Deed, Event

_MOST = 3  # stories told; the rest are counted


def others_in_words(explained: Explained, names: Names) -> tuple[str, ...]:
    """The stories that would stand in the place of this one."""
    worth = (story for story in explained.others if not _same_again(explained.event, story))
    stories = tuple(dict.fromkeys(_in_words(story, names) for story in worth))
    if len(stories) > _MOST:
        return (*stories[: _MOST - 1], f"{len(stories) - _MOST + 1} more stories of this kind")
    return stories


def _same_again(event: Event, story: tuple[Event, ...]) -> bool:
    """True when the story only says in two halves that one is gone and another came."""
    return event.deed is Deed.REPLACED and all(other.deed in (Deed.GONE, Deed.COME) for other in story)


def _in_words(story: tuple[Event, ...], names: Names) -> str:
    shown = [brief(event, names) for event in story[:_MOST]]
    more = [f"{len(story) - _MOST} more events"] if len(story) > _MOST else []
    return "; and ".join((*shown, *more))


def brief(event: Event, names: Names) -> str:
    """One event in one clause."""
    return _BRIEF[event.deed](event, names)


def _moved(event: Event, names: Names) -> str:
    move = event.moves[0]
    silent = names.reading.heard.at[move.device] < 0
    return f"{names.who(move.device)} was moved to {names.port(move.target)}" + (" and keeps silent" if silent else "")


def _shifted(event: Event, names: Names) -> str:
    step = event.order.step if event.order else 0
    return f"{len(event.moves)} cords are shifted by {abs(step)}: those of {names.everybody(event.moves)}"


def _renumbered(event: Event, names: Names) -> str:
    order = event.order
    how = f" ({order.how})" if order else ""
    return f"the ports of {names.face(order.row) if order else 'a switch'} answer to other names{how}"


_BRIEF: dict[Deed, Callable[[Event, Names], str]] = {
    Deed.MOVED: _moved,
    Deed.CROSSED: lambda event, names: f"{names.everybody(event.moves)} are crossed",
    Deed.ROTATED: lambda event, names: f"{names.everybody(event.moves)} changed places in a ring",
    Deed.SHIFTED: _shifted,
    Deed.RENUMBERED: _renumbered,
    Deed.REPLUGGED: lambda event, names: f"{names.switch(event.moves[0].origin)} was re-plugged without order",
    Deed.REPLACED: lambda event, names: f"{names.everybody(event.moves)} was replaced",
    Deed.GONE: lambda event, names: f"{names.everybody(event.moves)} is switched off, unplugged or gone",
    Deed.COME: lambda event, names: f"something that the map does not have came to {names.port(event.newcomers[0])}",
}
