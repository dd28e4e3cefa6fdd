"""Which observed port each documented port name means, and under which name each documented switch was asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from collectors.snapshot import Snapshot
from reconcile.channels import Channels
from reconcile.locate.placement import PortRef
from reconcile.patchmap.model import End, fold
from reconcile.ports import Match, PortBook


@dataclass(frozen=True, slots=True)
class Matching:
    """`ports` has the observed port by the folded key of a documented `End`; `not_found` what else a documented name
    met on a switch that answered; `asked_as` the asked name by the folded documented one."""

    ports: Mapping[tuple[str, str], PortRef]
    not_found: Mapping[tuple[str, str], Match]
    asked_as: Mapping[str, str]

    def port_of(self, end: End | None) -> PortRef | None:
        """The observed port that a documented end names, if its switch answered and has it."""
        return None if end is None else self.ports.get(end.key)

    def switch_of(self, end: End) -> str:
        """The name under which the switch of a documented end was asked, else its documented name."""
        return self.asked_as.get(fold(end.name), end.name)


def match_ports(channels: Channels, snapshot: Snapshot) -> Matching:
    """Looks up every documented switch port once."""
    names = [s.name for s in snapshot.switches] + [f.name for f in snapshot.failed]
    asked_as = {fold(name): name for name in names}
    books = {s.name: PortBook(s.ports) for s in snapshot.switches if s.ports}
    ports: dict[tuple[str, str], PortRef] = {}
    not_found: dict[tuple[str, str], Match] = {}
    for end in (end for c in channels.resolved for end in (c.port, c.far_port, c.behind) if end is not None):
        switch = asked_as.get(fold(end.name), end.name)
        if switch not in books or end.key in ports or end.key in not_found:
            continue
        match = books[switch].find(end.position)
        if match.port is None:
            not_found[end.key] = match
        else:
            ports[end.key] = PortRef(switch, match.port)
    return Matching(ports, not_found, asked_as)


def documented_links(channels: Channels, matching: Matching) -> list[tuple[PortRef, PortRef]]:
    """The links between switches that the map has, by observed names; ends on switches not read keep theirs."""
    links = []
    for channel in channels.resolved:
        if channel.port is not None and channel.far_port is not None:
            here, there = (
                matching.port_of(end) or PortRef(matching.switch_of(end), end.position)
                for end in (channel.port, channel.far_port)
            )
            links.append((here, there))
    return links
