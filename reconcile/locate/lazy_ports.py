"""Ports that are named when somebody asks: of a large site there may be thousands that fit each station."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from typing import overload

from reconcile.locate.placement import PortRef


class LazyPorts(Sequence[PortRef]):
    """Equal to the tuple of the ports that `name` gives, which is called once at most."""

    def __init__(self, name: Callable[[], Iterable[PortRef]]) -> None:
        self._name = name

    @cached_property
    def _refs(self) -> tuple[PortRef, ...]:
        return tuple(dict.fromkeys(self._name()))

    def __len__(self) -> int:
        return len(self._refs)

    @overload
    def __getitem__(self, index: int) -> PortRef: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[PortRef, ...]: ...
    def __getitem__(self, index: int | slice) -> PortRef | tuple[PortRef, ...]:
        return self._refs[index]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._refs == tuple(other)

    def __hash__(self) -> int:
        return hash(self._refs)

    def __repr__(self) -> str:
        return repr(self._refs)
