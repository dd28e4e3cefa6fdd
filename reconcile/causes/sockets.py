"""Ports as rows of sockets: which line card a port name puts it on, its number there, and its place on the face."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from collectors.snapshot import Port
from reconcile.locate.placement import PortRef
from reconcile.ports import is_socket

_NAME = re.compile(r"(.*?)(\d{1,9})(\D*)", re.DOTALL)  # of a longer number the end counts: it goes into a column
_DIGITS = re.compile(r"\d+")


class Socket(NamedTuple):
    """Where a port name puts a port: `Gi2/0/7` is number 7 of card `Gi2/0/`, one of the cards of shape `Gi#/#/`."""

    card: str
    number: int
    shape: str


@lru_cache(maxsize=65536)  # a campus has many ports and few names
def socket_of(name: str) -> Socket:
    """The last number of the name counts the sockets of a card; a name without one is a card of its own."""
    found = _NAME.fullmatch(name)
    if found is None:
        return Socket(name, 0, name)
    prefix, number, suffix = found.groups()
    card = f"{prefix.casefold()}*{suffix.casefold()}"
    return Socket(card, int(number), _DIGITS.sub("#", card))


@lru_cache(maxsize=65536)
def is_socket_name(name: str, if_type: int | None) -> bool:
    """True for an interface that a cord can be plugged into."""
    return is_socket(Port.model_construct(name=name, if_type=if_type, descr=""))


class Places(NamedTuple):
    """Columns of `Plan` that follow from port names alone."""

    switch: list[int]
    face: list[int]
    rank: list[int]
    block: list[int]
    number: list[int]


def places_of(ports: Sequence[PortRef], absent: frozenset[PortRef]) -> Places:
    """Numbers every port. Ports that the map has and the switch does not (`absent`) are a face of their own."""
    switches, faces, blocks = _Numbers(), _Numbers(), _Numbers()
    sockets = [socket_of(ref.port) for ref in ports]
    face = [faces[ref.switch, ref in absent] for ref in ports]
    return Places(
        switch=[switches[ref.switch] for ref in ports],
        face=face,
        rank=_ranks(face, sockets),
        block=[blocks[f, socket.card] for f, socket in zip(face, sockets, strict=True)],
        number=[socket.number for socket in sockets],
    )


class _Numbers(dict[tuple[object, ...] | str, int]):
    """Numbers things in the order in which they are first asked for."""

    def __missing__(self, key: tuple[object, ...] | str) -> int:
        self[key] = len(self)
        return self[key]


def _ranks(face: Sequence[int], sockets: Sequence[Socket]) -> list[int]:
    """The place of each port on the main rows of its face: the cards of the shape that most of its ports have."""
    members: dict[int, list[int]] = defaultdict(list)
    for i, f in enumerate(face):
        members[f].append(i)
    rank = [-1] * len(face)
    for ports in members.values():
        shape = _main_shape(sockets[i].shape for i in ports)
        row = sorted((i for i in ports if sockets[i].shape == shape), key=lambda i: _order(sockets[i]))
        for place, i in enumerate(row):
            rank[i] = place
    return rank


def _main_shape(shapes: Iterable[str]) -> str:
    counts: Mapping[str, int] = Counter(shapes)
    return max(sorted(counts), key=lambda shape: counts[shape])


def _order(socket: Socket) -> tuple[list[int], int]:
    """Cards by the numbers in their names, as numbers, then sockets."""
    return [int(n) for n in _DIGITS.findall(socket.card)], socket.number
