"""Tells an event for people: what happened, how to undo it by hand, what looks the same, and what would decide."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from reconcile.causes.attach import Told
from reconcile.causes.cautions import before_unplugging
from reconcile.causes.movements import in_order
from reconcile.causes.names import Names, listed
from reconcile.causes.plain import plain_cause
from reconcile.causes.plan import Deed, Event, Move
from reconcile.causes.rumour import others_in_words
from reconcile.causes.tale import Tale
from reconcile.causes.telling_moves import moved
from reconcile.findings import Finding, Kind
from reconcile.locate.placement import Grade
from reconcile.result import Cause


def tell(told: Told, names: Names) -> Cause:
    """The cause that an event with its findings makes."""
    event = told.lead.event
    if event.deed in _MAIN_FINDING:
        return _plainly(told, names)
    tale = _TALES[event.deed](told, names)
    silent = told.lead.silent
    unheard = (
        f"{listed(names.who(d) for d in silent)} was not heard: that part is inferred, and a longer rotation through "
        "other silent ports would look the same",
    )
    return Cause(
        kind=tale.kind or event.deed.value,
        story=_sentence(tale.story),
        findings=_keys(told),
        cautions=_cautions(event, names),
        undo=tale.undo,
        sure=_sure(told),
        same_in_effect=(*tale.same, *others_in_words(told.lead, names), *(unheard if silent and _ring(event) else ())),
        decides=tale.decides,
    )


def _cautions(event: Event, names: Names) -> tuple[str, ...]:
    """None where ports only changed their names: nothing is re-plugged then."""
    if event.deed is Deed.RENUMBERED:
        return ()
    return before_unplugging(link=names.links(event), kinds=names.kinds(event))


def _sentence(text: str) -> str:
    """With a capital, unless it begins with a name: names are written as they are."""
    return f"T{text[1:]}" if text.startswith("the ") else text


def _sure(told: Told) -> bool:
    """A cause is no surer than the placements that its findings rest on; findings that rest on none have no grade."""
    return told.lead.sure and all(finding.grade in ("", Grade.CERTAIN) for finding in told.findings)


def _keys(told: Told) -> tuple[str, ...]:
    return tuple(dict.fromkeys(finding.key for finding in told.findings))


def _ring(event: Event) -> bool:
    return event.deed in (Deed.CROSSED, Deed.ROTATED)


_MAIN_FINDING = {
    Deed.GONE: (Kind.DEAD_PORT, Kind.OTHER_DEVICE),
    Deed.COME: (Kind.UNDOCUMENTED_DEVICE, Kind.UNEXPECTED_LINK),
    Deed.REPLACED: (Kind.OTHER_DEVICE,),
}
"""Deeds that are one finding seen from nearby: the finding's own words serve."""


def _plainly(told: Told, names: Names) -> Cause:
    wanted = _MAIN_FINDING[told.lead.event.deed]
    main: Finding = next((f for kind in wanted for f in told.findings if f.kind is kind), told.findings[0])
    cause = plain_cause(main)
    same = (*cause.same_in_effect, *others_in_words(told.lead, names))
    return cause.model_copy(update={"findings": _keys(told), "sure": _sure(told), "same_in_effect": same})


def _crossed(told: Told, names: Names) -> Tale:
    event = told.lead.event
    one, other = event.moves
    a, b = names.who(one.device), names.who(other.device)
    here, there = names.port(one.origin), names.port(other.origin)
    link = names.links(event)
    seems = "seem to be" if told.lead.silent else "are"
    return Tale(
        f"{a} and {b} {seems} crossed: {a} is on {names.port(one.target)}, {b} on {names.port(other.target)}.",
        _undo_ring(event.moves, names),
        _same_crossing(event.moves, names),
        f"read the label of the cord in {here}: {names.cord(one)} means that the crossing is not at the switch "
        f"but behind it, {names.cord(other)} (it belongs in {there}) that it is at the switch",
        kind="uplinks crossed" if link else "",
    )


def _same_crossing(moves: Sequence[Move], names: Names) -> tuple[str, ...]:
    """Places where hands could have exchanged the same things; a table or a link light tells none from another."""
    same = ["the cords are crossed at the switch"]
    jacks = [names.jack(m.origin) for m in moves]
    if all(jacks):
        same.append(f"the cords are crossed at the panel, jacks {listed(jacks)}")
    outlets = [names.outlet(m.origin) for m in moves]
    if all(outlets):
        same.append(f"the devices were exchanged at the outlets {listed(outlets)}")
    if all(jacks):
        same.append("the fixed cables or their labels are exchanged behind the panel")
    return tuple(same)


def _rotated(told: Told, names: Names) -> Tale:
    moves = told.lead.event.moves
    chain = "; ".join(f"{names.who(m.device)} is on {names.port(m.target)}" for m in moves)
    same = tuple(s.replace("crossed", "rotated") for s in _same_crossing(moves, names))
    return Tale(
        f"{len(moves)} cords changed places in a ring: {chain}.",
        _undo_ring(moves, names),
        same,
        f"read the labels of the cords in {listed(names.port(m.origin) for m in moves)}",
    )


def _undo_ring(moves: Sequence[Move], names: Names) -> tuple[str, ...]:
    """One cord waits in the hand, the others move up, it goes last."""
    wanted = [(names.cord(m), m.target, m.origin) for m in moves if m.target >= 0 and m.origin >= 0]
    steps = []
    for what, now, back in in_order(wanted):
        if back is None and now is not None:
            steps.append(f"pull {what} from {names.port(now)} and hold it")
        elif now is None and back is not None:
            steps.append(f"plug {what} into {names.port(back)}")
        elif now is not None and back is not None:
            steps.append(f"move {what} from {names.port(now)} to {names.port(back)}")
    return tuple(steps)


def _shifted(told: Told, names: Names) -> Tale:
    event = told.lead.event
    order = event.order
    assert order is not None  # a shift always has its order
    if order.along == "panel":
        return _shifted_at_panel(event, order.step, names)
    homes = [m.origin for m in event.moves]
    ends = f"from {names.short(min(homes))} to {names.short(max(homes))}"
    way = f"{abs(order.step)} {'higher' if order.step > 0 else 'lower'} than documented"
    cord, now = names.cord(event.moves[0]), names.port(event.moves[0].target)
    return Tale(
        f"{len(homes)} cords of {names.switch(homes[0])}, {ends}, sit {way}.",
        _undo_ring(event.moves, names),
        ("the cords are off by as much at the panel", "the ports of the switch count otherwise than documented"),
        f"read the label of the cord in {now}: {cord} means that the cords were shifted at the switch",
    )


def _shifted_at_panel(event: Event, step: int, names: Names) -> Tale:
    """A device `step` jacks before the jack of a cord is what this cord now reaches."""
    jack = names.reading.plan.jack
    # Whoever is reached by another cord has lost his own: it left its jack as well.
    moved = {port for m in event.moves for port in (m.origin, m.target) if port >= 0}
    cords = sorted(moved, key=lambda port: int(jack[port]), reverse=step > 0)
    side, back, first = ("before", "up", "highest") if step > 0 else ("after", "down", "lowest")
    by = abs(step)
    return Tale(
        f"{len(cords)} cords at the panel, documented in jacks {names.jack(min(cords, key=lambda p: int(jack[p])))} to "
        f"{names.jack(max(cords, key=lambda p: int(jack[p])))}, are {by} off: each is in the jack {by} {side} its own.",
        (
            f"at the panel, move each of these cords {by} {back}, the {first} first: "
            f"{listed((names.cord_in(port) for port in cords), 24)}",
        ),
        ("the fixed cables of these jacks are off by as much behind the panel",),
        f"read the label of the cord in {names.jack(event.moves[0].origin)}",
    )


def _renumbered(told: Told, names: Names) -> Tale:
    event = told.lead.event
    order = event.order
    assert order is not None  # a renumbering always has its order
    here = names.face(order.row)
    there = names.face(order.onto)
    pairs = listed((f"{names.short(m.origin)} is now {names.port(m.target)}" for m in event.moves if m.target >= 0), 4)
    undo = (
        f"nothing to re-plug: write the new port names into the map ({pairs})",
        "then check two or three cords by hand, one of them at the end of the row",
    )
    decides = f"follow one cord from the socket that is printed as {names.short(event.moves[0].origin)} on the box"
    if here == there:
        one_by_one = ("all cords were moved in this order",)
        return Tale(f"The ports of {here} answer to other names: {order.how} ({pairs}).", undo, one_by_one, decides)
    exchanged = any(e.event.deed is Deed.RENUMBERED for e in told.others)
    what = f"{here} and {there} stand in each other's place" if exchanged else f"{there} stands in the place of {here}"
    same = ("their names or addresses are exchanged in the site's settings", "all cords were moved over in this order")
    return Tale(f"{what}: the devices of one are on the other, {order.how}.", undo, same, "read the label on the box")


def _replugged(told: Told, names: Names) -> Tale:
    event = told.lead.event
    switch = names.switch(event.moves[0].origin)
    heard = [m for m in event.moves if m.device not in told.lead.silent]
    list_of = "; ".join(f"{names.who(m.device)} {names.short(m.target)}" for m in heard)
    return Tale(
        f"{len(heard)} devices of {switch} sit on other ports of it without any order: somebody re-plugged it without "
        "a list.",
        (
            f"take what was seen as the new record of {switch} instead of undoing it: {list_of}",
            "find the devices that were not heard by their labels, then check again",
        ),
        ("many single cords were moved one by one",),
        "ask who worked at this rack, and when",
    )


_TALES: dict[Deed, Callable[[Told, Names], Tale]] = {
    Deed.MOVED: moved,
    Deed.CROSSED: _crossed,
    Deed.ROTATED: _rotated,
    Deed.SHIFTED: _shifted,
    Deed.RENUMBERED: _renumbered,
    Deed.REPLUGGED: _replugged,
}
