"""Spanning tree in BRIDGE-MIB (RFC 4188): port states, and how often the tree changed."""

from __future__ import annotations

from typing import Literal, get_args

from collectors.tables.bridge import BridgePorts
from collectors.tables.mib import Answers

OBJECTS = ("dot1dStpPortState",)
SCALARS = ("dot1dStpTimeSinceTopologyChange", "dot1dStpTopChanges")

State = Literal["disabled", "blocking", "listening", "learning", "forwarding", "broken"]
_STATES: dict[int, State] = dict(enumerate(get_args(State), 1))


def port_states(answers: Answers, ports: BridgePorts) -> dict[str, State]:
    """State by port name."""
    found: dict[str, State] = {}
    for index, state in answers.numbers("dot1dStpPortState").items():
        name = ports.name(index[0]) if len(index) == 1 else None
        if name and state in _STATES:
            found[name] = _STATES[state]
    return found
