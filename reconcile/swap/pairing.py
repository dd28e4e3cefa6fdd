"""Which new port stands for which old one: a one-to-one assignment (scipy), with its certainty for each pair.

The points of `likeness` are the weights. Twice: first with what identifies alone, which gives anchors; from these the
rule of the naming follows (`orders`), and that rule helps the ports that nothing identifies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linear_sum_assignment

from reconcile.swap.likeness import BY_RULE, STRONG, Likeness, Traits, likeness
from reconcile.swap.model import IDLE, Certainty, PortPair
from reconcile.swap.orders import predict, strays

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Points = NDArray[np.float64]

SURE_MARGIN = 3.0
"""Points that the whole pairing loses without a pair, for that pair to be certain: less than any that identifies."""
OPEN_MARGIN = 0.5
"""Fewer points than this, and another pairing is as good."""
_NEVER = -1e6


def pair_ports(old: Sequence[Traits], new: Sequence[Traits], given: Mapping[str, str]) -> list[PortPair]:
    """A pair for every old port, in their order. `given` (old name to new name) is taken as it is."""
    free_old = [one for one in old if one.ref.port not in given]
    free_new = [one for one in new if one.ref.port not in set(given.values())]
    likes = [[likeness(one, other) for other in free_new] for one in free_old]
    strong = np.array([[like.strong for like in row] for row in likes]).reshape(len(free_old), len(free_new))
    found = {free_old[i].ref.port: free_new[j].ref.port for i, j in assign(strong).items() if strong[i, j] >= STRONG}
    anchors = found | dict(given)
    fixed = set(given) | {one.ref.port for one in free_old if one.peer}
    names = [t.ref.port for t in old], [t.ref.port for t in new]
    odd = strays(anchors) - fixed
    rule = predict(*names, {port: there for port, there in anchors.items() if port not in odd})
    odd &= _free(rule, anchors, odd)
    points = strong + np.array([[like.weak for like in row] for row in likes]).reshape(strong.shape)
    for i, one in enumerate(free_old):
        by_rule = np.array([rule.get(one.ref.port) == other.ref.port for other in free_new], dtype=float)
        if one.ref.port in odd:
            points[i] = by_rule * STRONG
        elif free_new:
            points[i] += by_rule * BY_RULE
    chosen = assign(points)
    lost = margins(points, chosen)
    pairs = {
        one.ref.port: _pair(one, free_new[chosen[i]], likes[i][chosen[i]], lost[i]) if i in chosen else _alone(one)
        for i, one in enumerate(free_old)
    }
    for port in odd:
        words = f"by the order that the others keep; what was on it is at port {found[port]}"
        pairs[port] = pairs[port].model_copy(update={"certainty": Certainty.PROBABLE, "because": words})
    return [pairs.get(one.ref.port) or _given(one, new, given) for one in old]


def _free(rule: Mapping[str, str], anchors: Mapping[str, str], odd: set[str]) -> set[str]:
    """Ports whose place by the rule is nobody else's by evidence: who is out of the row, and can be put into it.

    A link between switches may well have got another port on purpose; a device out of the row has been misplugged.
    """
    kept = {there for port, there in anchors.items() if port not in odd}
    return {port for port in odd if rule.get(port) and rule[port] not in kept}


def _given(old: Traits, new: Sequence[Traits], given: Mapping[str, str]) -> PortPair:
    there = next(other.ref for other in new if other.ref.port == given[old.ref.port])
    return PortPair(old=str(old.ref), new=str(there), certainty=Certainty.GIVEN, because="given")


def assign(points: Points) -> dict[int, int]:
    """Row to column, each at most once, so that the points are the most in all. Nobody has to be paired: a pair that
    gives nothing is no pair."""
    rows, columns = points.shape
    alone = np.zeros((rows, rows))
    chosen = linear_sum_assignment(np.hstack([points, alone]), maximize=True)
    return {int(i): int(j) for i, j in zip(*chosen, strict=True) if j < columns and points[i, j] > 0}


def margins(points: Points, chosen: Mapping[int, int]) -> dict[int, float]:
    """For each pair, the points that the best pairing without it falls short by."""
    best = sum(points[i, j] for i, j in chosen.items())
    found: dict[int, float] = {}
    for i, j in chosen.items():
        kept, points[i, j] = points[i, j], _NEVER
        found[i] = float(best - sum(points[a, b] for a, b in assign(points).items()))
        points[i, j] = kept
    return found


def _pair(old: Traits, new: Traits, like: Likeness, margin: float) -> PortPair:
    if like.strong >= STRONG and margin >= SURE_MARGIN:
        certainty = Certainty.CERTAIN
    elif margin >= OPEN_MARGIN:
        certainty = Certainty.PROBABLE
    else:
        certainty = Certainty.OPEN
    because = like.because or "by the order of the ports" + (f", {IDLE}" if not (old.up or new.up) else "")
    return PortPair(old=str(old.ref), new=str(new.ref), certainty=certainty, because=because)


def _alone(old: Traits) -> PortPair:
    words = "no port is left for it" if old.up else "nothing speaks for any port; it had no link"
    return PortPair(old=str(old.ref), new="", certainty=Certainty.OPEN, because=words)
