"""The whole check: what was there, what of it is back, and what is left to do, most disruptive first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from collectors.snapshot import Snapshot
from reconcile.coverage import coverage_gaps
from reconcile.locate.placement import PortRef
from reconcile.result import CoverageGap
from reconcile.swap.correspondence import Correspondence
from reconcile.swap.links import judge_links
from reconcile.swap.look import Look
from reconcile.swap.model import Left, SwapCheck, Trouble, Weight
from reconcile.swap.orders import FEWEST, describe
from reconcile.swap.outcome import Outcome
from reconcile.swap.quality import worse
from reconcile.swap.things import judge_things
from reconcile.swap.watch import links_in, things_in

_WEIGHTS = list(Weight)
_TROUBLES = list(Trouble)


class Judged(NamedTuple):
    """Outcomes of all that was there, and who came extra."""

    outcomes: list[Outcome]
    extra: list[Left]


def judge(before: Look, after: Look, ports: Correspondence) -> Judged:
    """Links first, then everybody else."""
    links, more_links = judge_links(before, after, ports)
    things, more_things = judge_things(before, after, ports)
    return Judged([*links, *things], [*more_links, *more_things])


def check_swap(before: Look, after: Look, ports: Correspondence, *, map_changed: bool = False) -> SwapCheck:
    """Compares two looks at one site through the correspondence of their ports."""
    outcomes, extra = judge(before, after, ports)
    left = [outcome.left for outcome in outcomes if outcome.left]
    back = {port for outcome in outcomes if outcome.is_back for port in outcome.ports}
    subjects = [(link.subject, link.here, Weight.LINK) for link in links_in(before) if link.here in back]
    subjects += [(thing.subject, thing.at, thing.weight) for thing in things_in(before) if thing.at in back]
    left += [*worse(subjects, before, after, ports), *extra]
    return SwapCheck(
        site=after.picture.snapshot.site or after.picture.patch_map.site,
        before=before.picture.snapshot.finished,
        after=after.picture.snapshot.finished,
        map_changed=map_changed,
        watched=len(outcomes),
        back=sum(outcome.is_back for outcome in outcomes),
        left=tuple(sorted(left, key=_order)),
        unsure=tuple(sorted((o.doubt for o in outcomes if o.doubt), key=lambda d: _WEIGHTS.index(d.weight))),
        switches=ports.switches,
        gaps=tuple(_gaps(before.picture.snapshot, after.picture.snapshot, ports)),
        notes=tuple(_blocks(left, before, after)),
    )


def _order(left: Left) -> tuple[int, int]:
    return _WEIGHTS.index(left.weight), _TROUBLES.index(left.trouble)


def _gaps(before: Snapshot, after: Snapshot, ports: Correspondence) -> Iterator[CoverageGap]:
    """What could not be looked at now; and switches that were silent at the start, of which nothing is known."""
    gone = {old for old, new in ports.rename.items() if old != new}
    yield from (gap for gap in coverage_gaps(after, ()) if gap.switch not in gone)
    for failed in before.failed:
        yield CoverageGap(
            switch=failed.name, state="not seen at the start", reason="what was on it before is not known",
            hint="look at its ports by hand",
        )  # fmt: skip


def _blocks(left: Iterable[Left], before: Look, after: Look) -> Iterator[str]:
    """Devices of one switch that all went the same way: a block of cords plugged in one port further is one mistake."""
    moved: dict[str, list[tuple[str, str]]] = {}
    for one in left:
        belongs, now = _port(one.belongs_at, after), _port(one.now_at, after)
        if one.trouble is Trouble.MOVED and belongs and now and belongs.switch == now.switch:
            moved.setdefault(now.switch, []).append((belongs.port, now.port))
    for switch, pairs in moved.items():
        names = [ref.port for ref in after.sockets[switch]]
        for words in describe(pairs, names, names, fewest=FEWEST):
            if not words.endswith("no rule"):
                yield f"{switch}: {words}"


def _port(text: str, seen: Look) -> PortRef | None:
    return next((ref for ref in seen.picture.ports if str(ref) == text), None) if text else None
