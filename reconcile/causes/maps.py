"""Orders in which the ports of a switch may be counted: by rows or columns, from the other end, in pairs, ...

Common ways of numbering a front panel, from memory of the trade: sockets stand in two rows and are counted down and
across or along each row; makers start at 0 or 1, at the left or at the right.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from reconcile.causes.plan import NOWHERE, Ints

_GROUPS = (4, 6, 8, 12, 16, 24, 48)  # sockets that one moulding or module holds


@lru_cache(maxsize=64)
def order_maps(ports: int) -> tuple[tuple[str, ...], Ints]:
    """Names and maps for a row of so many ports: column `i` of a map is the new place of port `i` (both from 0).

    The first map is 'the same order'. A port that a map leads off the end has -1.
    """
    found: dict[bytes, tuple[str, Ints]] = {}
    for name, order in _candidates(ports):
        found.setdefault(order.tobytes(), (name, order))
    names, orders = zip(*found.values(), strict=True)
    return names, np.array(orders, dtype=np.int64)


def _candidates(ports: int) -> list[tuple[str, Ints]]:
    places = np.arange(ports)
    maps: list[tuple[str, Ints]] = [("in the same order", places)]
    for step in _steps(ports):
        for sign, word in ((1, "higher"), (-1, "lower")):
            moved = places + sign * step
            on_face = (moved >= 0) & (moved < ports)
            maps.append((f"counted {step} {word}", np.where(on_face, moved, NOWHERE)))
    for group in (ports, *(g for g in _GROUPS if g < ports and ports % g == 0)):
        within = "" if group == ports else f" within each {group}"
        maps += [(name + within, _grouped(order, ports, group)) for name, order in _turns(group)]
    return maps + [(f"turned round by {step}", (places + step) % ports) for step in _steps(ports)]


def _steps(ports: int) -> list[int]:
    """Every step on a face of usual size; on a large one those within two members, then whole members."""
    return [step for step in range(1, ports) if step <= 96 or step % 24 == 0]


def _turns(group: int) -> list[tuple[str, Ints]]:
    places = np.arange(group)
    turns = [("counted from the other end", places[::-1])]
    if group % 2 == 0:
        half = group // 2
        turns += [
            ("with each pair exchanged", places ^ 1),
            ("with the halves exchanged", (places + half) % group),
            ("counted along each row instead of down and across", places // 2 + places % 2 * half),
            ("counted down and across instead of along each row", places % half * 2 + places // half),
        ]
    return turns


def _grouped(order: Ints, ports: int, group: int) -> Ints:
    starts = np.arange(0, ports, group)
    return (starts[:, None] + order[None, :]).ravel()
