"""Where every station is really attached, from observations alone. Pure: frames in, typed results out.

To read in this order: `engine` (the whole way); `facts`, `portbook`, `identity`, `links` (what the rows say, as
numbers); `networks` and `inference` (one proof) with `witnesses` (who may testify), `closure` (which way each switch
sees each other one: the theorems), `exact` (a few switches: every topology tried), `wires` (the tree), `loose`
(switches that nothing places), `stations` and `moved` (where everybody is), `astray` (what one tree does not explain);
`judgement`, `results`, `wiring` (what is said of it, in which grade), `why` (the rows that prove it). `vlan_trees`
takes VLANs apart whose trees differ.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

    from reconcile.frames import Observed
    from reconcile.locate.placement import Located, PortRef

__all__ = ["locate", "proof"]


def locate(observed: Observed, documented_links: Collection[tuple[PortRef, PortRef]] = ()) -> Located:
    """Where every sighted station is attached, and which ports face other switches.

    `documented_links` are pairs of ports that the patch map joins. They are no evidence: they serve only where
    observation leaves a tie, and the result says so.
    """
    from reconcile.locate.engine import examine, tell  # late: the result types alone need neither numpy nor pandas

    return tell(examine(observed, documented_links))


def proof(observed: Observed, mac: str, documented_links: Collection[tuple[PortRef, PortRef]] = ()) -> list[str]:
    """The rows that prove where a station is, a sentence each; `mac` as `collectors.names.parse_mac` gives it.

    Not called `why`: importing the module of that name would take its place in this package.
    """
    from reconcile.locate.engine import examine
    from reconcile.locate.why import why

    return why(examine(observed, documented_links), mac)
