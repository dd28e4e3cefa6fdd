"""How right and how complete a placement of a simulated network is, beside what could be known at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping

from collectors.names import int_to_mac
from reconcile.frames import Observed
from reconcile.locate.engine import MARGIN, examine, tell
from reconcile.locate.placement import Grade, Located, Placement, PortRef
from tests.reconcile.locate.bridges import Network, Truth
from tests.reconcile.locate.frames import port_ref
from tests.reconcile.locate.tables import Tables

_OPEN = (Grade.AMBIGUOUS, Grade.CERTAIN_UNLESS)


def placed(observed: Observed, margin: int = MARGIN) -> Located:
    """The placement with a margin of its own."""
    return tell(examine(observed, margin=margin))


def certain_links(located: Located) -> set[tuple[PortRef, PortRef]]:
    """Pairs of ports that are certainly on one wire."""
    groups = [wire.ends for wire in located.wires if wire.grade is Grade.CERTAIN]
    return {(a, b) for ends in groups for a in ends for b in ends if a < b}


def true_links(truth: Truth) -> set[tuple[PortRef, PortRef]]:
    """The same, as it is."""
    named = ((port_ref(*a), port_ref(*b)) for a, b in truth.links())
    return {(min(pair), max(pair)) for pair in named}


def score(
    network: Network,
    truth: Truth,
    tables: Tables,
    located: Located,
    leave_out: Collection[int] = (),
    unseen: Collection[int] = (),
) -> Counter[str]:
    """Counts of links and stations: found, wrong, and how many every port of their segment heard (`bound`).

    A claim "certain unless X" is kept where X is on that wire, wherever the station is (`excepted`). `unseen` moved and
    left no trace of it: told where they were, they count apart (`left unseen`).
    """
    links, real = certain_links(located), true_links(truth)
    counts = Counter(links=len(real), links_found=len(links & real), links_wrong=len(links - real))
    counts.update(_stations(network, truth, tables, located, set(leave_out), set(unseen)))
    return counts


def _stations(
    network: Network, truth: Truth, tables: Tables, located: Located, leave_out: set[int], unseen: set[int]
) -> Iterator[str]:
    segment_of = {port_ref(*port): segment for port, segment in truth.segment_of_port.items()}
    for x in range(network.stations):
        if x in leave_out:
            continue
        segment = int(truth.segment_of_station[x])
        ports = truth.members.get(segment, [])
        placement = located.placements.get(int_to_mac(int(tables.macs[x])))
        yield "stations"
        if ports and all(tables.station[a, x] == p for a, p in ports):
            yield "bound"
        if placement is None:
            yield "unheard" if (tables.station[:, x] < 0).all() else "lost"
            continue
        fault = ", left unseen" if x in unseen else ", wrong"
        if placement.at is None or segment_of.get(placement.at) == segment:
            yield placement.grade.value
        else:
            yield placement.grade.value + (", excepted" if _is_excepted(placement, truth, segment_of) else fault)
        if placement.grade in _OPEN and ports and segment not in map(segment_of.get, placement.candidates):
            yield "truth not among the candidates" + fault


def _is_excepted(placement: Placement, truth: Truth, segment_of: Mapping[PortRef, int]) -> bool:
    """Whether one of the switches that a claim excepts is on the wire that it speaks of."""
    on_wire = truth.members[segment_of[placement.at]] if placement.at in segment_of else []
    return not {port_ref(*port).switch for port in on_wire}.isdisjoint(placement.unless)


def line(counts: Counter[str]) -> str:
    """One row of the table of figures, in per cent."""

    def share(*keys: str, of: str = "stations") -> str:
        return f"{100 * sum(counts[k] for k in keys) / max(1, counts[of]):6.2f}"

    missed = "truth not among the candidates"
    return (
        f"links found {share('links_found', of='links')} wrong {counts['links_wrong']} | certain {share('certain')} "
        f"of at most {share('bound')}, wrong {counts['certain, wrong']}, left unseen {counts['certain, left unseen']} "
        f"| certain unless {share('certain unless')} wrong {counts['certain unless, wrong']}, "
        f"excepted {counts['certain unless, excepted']} "
        f"| probable {share('probable')} wrong {counts['probable, wrong'] + counts['probable, excepted']} "
        f"| ambiguous {share('ambiguous')}, truth missed {counts[missed + ', wrong']}, "
        f"left unseen {counts[missed + ', left unseen']}"
    )
