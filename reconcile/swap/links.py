"""Are the links between switches back: at the matching ports, elsewhere, or not at all; and which came extra."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from collectors.snapshot import Table
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import fold
from reconcile.swap.correspondence import Correspondence
from reconcile.swap.look import Look
from reconcile.swap.model import Left, Trouble, Unsure, Weight
from reconcile.swap.outcome import Outcome, near
from reconcile.swap.watch import LinkThere, links_in

_LAST = "links between switches first of all: one at a time, and mind that none closes a loop"


def judge_links(before: Look, after: Look, ports: Correspondence) -> tuple[list[Outcome], list[Left]]:
    """An outcome for every link that was there, told once for its two ends; and the links that came extra."""
    was, now = links_in(before), links_in(after)
    expected = [_expected(link, ports) for link in was]
    free = [link for link in now if not any(_fits(link, wanted, after) for wanted in expected)]
    told: dict[frozenset[PortRef], Outcome] = {}
    taken: set[PortRef] = set()
    for link, wanted in zip(was, expected, strict=True):
        outcome = _judge(link, wanted, now, free, taken, after)
        known = told.get(link.key)
        if known is None or outcome.rank < known.rank:  # what one end proves holds for both
            told[link.key] = outcome
    return [replace(told[key], ports=key) for key in told], list(_extra(free, taken))


def _expected(link: LinkThere, ports: Correspondence) -> LinkThere | None:
    here = ports.new(link.here)
    there = ports.new(link.there) if link.there else None
    return LinkThere(here, there, ports.name(link.peer)) if here else None


def _fits(link: LinkThere, wanted: LinkThere | None, after: Look) -> bool:
    """True when an observed link is the one that is wanted, as far as both ends are told."""
    if wanted is None or not after.picture.same_place(link.here, wanted.here):
        return False
    if link.there and wanted.there:
        return after.picture.same_place(link.there, wanted.there)
    return not (link.peer and wanted.peer) or fold(link.peer) == fold(wanted.peer)


def _judge(
    link: LinkThere, wanted: LinkThere | None, now: list[LinkThere], free: list[LinkThere], taken: set[PortRef],
    after: Look,
) -> Outcome:  # fmt: skip
    if wanted and any(_fits(found, wanted, after) and found.here == wanted.here for found in now):
        return Outcome.back(link.subject)
    belongs = str(wanted.here) if wanted else ""
    expected = f"link {wanted.here} - {wanted.there or wanted.peer}" if wanted else link.subject
    elsewhere = next((f for f in free if f.here not in taken and _same_pair(f, link, wanted)), None)
    if elsewhere:
        taken |= elsewhere.key
        return Outcome.of(
            Left(
                trouble=Trouble.MOVED, weight=Weight.LINK, subject=link.subject, was_at=str(link.here),
                belongs_at=belongs, now_at=str(elsewhere.here),
                says=f"it is now {elsewhere.subject.removeprefix('link ')}",
                do=f"re-plug it so that it is the {expected}; {_LAST}",
            )
        )  # fmt: skip
    because = _untold(wanted, after)
    if because:
        return Outcome.unsure(
            Unsure(subject=link.subject, weight=Weight.LINK, was_at=str(link.here), belongs_at=belongs, because=because)
        )
    return Outcome.of(
        Left(
            trouble=Trouble.MISSING, weight=Weight.LINK, subject=link.subject, was_at=str(link.here),
            belongs_at=belongs, says=_missing(wanted, now), do=f"plug in the {expected}; {_LAST}",
        )
    )  # fmt: skip


def _same_pair(found: LinkThere, link: LinkThere, wanted: LinkThere | None) -> bool:
    """A link between the same two switches, at other ports."""
    switch = wanted.here.switch if wanted else link.here.switch
    peer = wanted.peer if wanted else link.peer
    return found.here.switch == switch and bool(peer) and fold(found.peer) == fold(peer)


def _untold(wanted: LinkThere | None, after: Look) -> str:
    """Why nothing can be said of the port; empty when it can."""
    if wanted is None:
        return ""
    coverage = after.picture.coverage
    gap = coverage.gap(wanted.here.switch, Table.INTERFACES)
    if gap or not after.link_up(wanted.here):
        return gap
    if after.uplink(wanted.here) or after.picture.stations(wanted.here):
        return ""
    return coverage.gap(wanted.here.switch, Table.NEIGHBOURS) or "the link is up; no neighbour has told its name yet"


def _missing(wanted: LinkThere | None, now: Iterable[LinkThere]) -> str:
    if wanted is None:
        return "no port stands for the one that it was in"
    other = next((link for link in now if link.here == wanted.here), None)
    if other:
        return f"{wanted.here} leads to {other.there or other.peer or 'another switch'}"
    return f"{wanted.here} faces no switch"


def _extra(free: Iterable[LinkThere], taken: set[PortRef]) -> Iterator[Left]:
    told: set[frozenset[PortRef]] = set()
    for link in free:
        if link.key & taken or link.key in told:
            continue
        told.add(link.key)
        yield Left(
            trouble=Trouble.EXTRA, weight=Weight.LINK, subject=link.subject, now_at=str(link.here),
            says=f"{link.here} leads to {link.there or link.peer or 'a switch'}, which was not so before",
            do=f"{near(link.here)}: find out who plugged it in; a further link can close a loop",
        )  # fmt: skip
