"""What one look at a snapshot has concluded, as the steps that tell it need it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from reconcile.locate.facts import Facts
    from reconcile.locate.links import Links
    from reconcile.locate.network_names import NetworkNames
    from reconcile.locate.networks import Network, Wires
    from reconcile.locate.placement import PortRef


@dataclass(frozen=True, slots=True)
class Examined:
    """A snapshot, or the part of it that some VLANs are, and everything that was concluded from it."""

    facts: Facts
    links: Links
    networks: list[Network]
    documented: Wires
    unasked: dict[tuple[int, int], PortRef]  # port -> the documented port of a switch that was not asked
    names: list[NetworkNames]  # of each network
