"""Are the devices back: at the matching port, elsewhere, or not at all; and who came extra."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from collectors.names import parse_mac
from collectors.snapshot import Table
from reconcile.channels import StepKind
from reconcile.locate.placement import PortRef
from reconcile.swap.correspondence import Correspondence
from reconcile.swap.look import Look
from reconcile.swap.model import Left, Trouble, Unsure, Weight
from reconcile.swap.outcome import Outcome, near
from reconcile.swap.watch import ThingThere, things_in


def judge_things(before: Look, after: Look, ports: Correspondence) -> tuple[list[Outcome], list[Left]]:
    """An outcome for everybody who was there, and those who came extra."""
    was = things_in(before)
    outcomes = [
        replace(_judge(thing, before, after, ports), ports=frozenset({thing.at}), voices=thing.voices) for thing in was
    ]
    return outcomes, list(_extra(was, before, after, ports))


def _judge(thing: ThingThere, before: Look, after: Look, ports: Correspondence) -> Outcome:
    belongs = ports.new(thing.at)
    heard = {port for voice in thing.voices for port in after.heard_at.get(voice, ())}
    # A table may remember for minutes who was on a port that has no link any more.
    heard = {port for port in heard if not _unplugged(port, after)}
    if belongs is not None and any(after.picture.same_place(port, belongs) for port in heard):
        return Outcome.back(thing.subject)
    # Seen from afar only, on ports that lead to other switches, it is nowhere that anybody could re-plug it.
    places = sorted(port for port in heard if after.uplink(port) is None)
    if places:
        return Outcome.of(_left(thing, belongs, Trouble.MOVED, f"it is at {places[0]}", before, str(places[0])))
    if belongs is None:
        words = "no port stands for the one that it was in, and it was heard nowhere"
        return Outcome.of(_left(thing, None, Trouble.MISSING, words, before))
    doubt = _doubt(thing, belongs, after)
    if doubt:
        weight, was_at = thing.weight, str(thing.at)
        return Outcome.unsure(
            Unsure(subject=thing.subject, weight=weight, was_at=was_at, belongs_at=str(belongs), because=doubt)
        )
    if not thing.voices and after.link_up(belongs):
        return Outcome.back(thing.subject)  # it was mute before, too: a link is all there is to see
    return Outcome.of(_left(thing, belongs, Trouble.MISSING, _missing(belongs, after), before))


def _unplugged(port: PortRef, after: Look) -> bool:
    state = after.picture.ports.get(port)
    return state is not None and state.oper in ("down", "lowerLayerDown", "notPresent")


def _doubt(thing: ThingThere, belongs: PortRef, after: Look) -> str:
    """Why silence says nothing here; empty when it does, or when the link tells enough."""
    picture = after.picture
    gap = picture.coverage.gap(belongs.switch, Table.INTERFACES)
    if gap:
        return gap
    if not after.link_up(belongs) or not thing.voices:
        return ""
    if any(belongs in after.perhaps_at.get(voice, ()) for voice in thing.voices):
        return f"it is at one of several ports, {belongs} among them"
    if after.voices_at(belongs):
        return ""
    gap = picture.coverage.gap(belongs.switch, Table.FORWARDING)
    return f"{belongs} has link; {gap or 'it has not been heard there yet'}"


def _missing(belongs: PortRef, after: Look) -> str:
    state = after.picture.ports.get(belongs)
    if state is None:
        return f"{belongs.switch} has no port {belongs.port} any more"
    if state.admin == "down":
        return f"{belongs} is administratively down"
    if not after.link_up(belongs):
        return f"{belongs} has no link"
    if after.uplink(belongs):
        return f"{belongs} faces a switch now"
    return f"{min(after.voices_at(belongs))} is at {belongs} instead"


def _left(
    thing: ThingThere, belongs: PortRef | None, trouble: Trouble, says: str, before: Look, now_at: str = ""
) -> Left:
    return Left(
        trouble=trouble, weight=thing.weight, subject=thing.subject, was_at=str(thing.at),
        belongs_at=str(belongs) if belongs else "", now_at=now_at, says=says, macs=thing.macs,
        do=_do(thing.at, belongs, trouble, before, now_at),
    )  # fmt: skip


def _do(was_at: PortRef, belongs: PortRef | None, trouble: Trouble, before: Look, now_at: str) -> str:
    """The hand movement, with the cord and the jack that the map had at the old port."""
    channel = before.picture.channel_at.get(was_at)
    steps = channel.steps if channel else ()
    cord = next((step.label for step in steps if step.kind is StepKind.CORD and step.label), "")
    jack = next((step.label for step in steps if step.kind is StepKind.JACK), "")
    what = (f"cord {cord}" if cord else "the cord") + (f" (jack {jack})" if jack else "")
    if belongs is None:
        return f"choose a port for {what}, and write it into the file of --ports"
    if trouble is Trouble.MOVED:
        return f"move {what} from {now_at} to {belongs}"
    return f"look {near(belongs)}: {what} belongs there"


def _extra(was: Sequence[ThingThere], before: Look, after: Look, ports: Correspondence) -> Iterator[Left]:
    """Links where none was, and strangers on ports of single devices. Who moved here is told where it belongs."""
    known = {voice for thing in was for voice in thing.voices} | set(before.heard_at) | set(before.perhaps_at)
    old_of = {new: port for row in before.sockets.values() for port in row if (new := ports.new(port))}
    carrying = {thing.at for thing in was if thing.weight is Weight.CARRIER}
    for thing in things_in(after):
        if thing.voices & known:
            continue
        old = old_of.get(thing.at)
        was_up = old is not None and before.link_up(old)
        if was_up and (not thing.voices or old in carrying):
            continue  # guests were to be expected there
        yield Left(
            trouble=Trouble.EXTRA, weight=thing.weight, subject=thing.subject, now_at=str(thing.at), macs=thing.macs,
            says=f"{_who(thing)} at {thing.at}, where " + ("somebody else was" if was_up else "there was no link"),
            do=f"look {near(thing.at)}: write it into the map, or unplug it",
        )  # fmt: skip


def _who(thing: ThingThere) -> str:
    heard = sorted(voice for voice in thing.voices if parse_mac(voice))
    return f"{heard[0]} is" if len(heard) == 1 else f"{len(heard)} stations are" if heard else "a link is up"
