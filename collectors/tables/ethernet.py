"""EtherLike-MIB (RFC 3635) and MAU-MIB (RFC 4836): duplex, error counters, medium."""

from __future__ import annotations

from typing import Any, Literal

from collectors.tables.mib import Answers, Index

OBJECTS = (
    "dot3StatsDuplexStatus", "dot3StatsAlignmentErrors", "dot3StatsFCSErrors", "dot3StatsLateCollisions",
    "dot3StatsExcessiveCollisions", "dot3StatsSymbolErrors",
)  # fmt: skip
MAU_OBJECTS = ("ifMauType", "ifMauAutoNegAdminStatus")

_DUPLEX: dict[int, Literal["unknown", "half", "full"]] = {1: "unknown", 2: "half", 3: "full"}
_COUNTERS = {
    "alignment_errors": "dot3StatsAlignmentErrors",
    "fcs_errors": "dot3StatsFCSErrors",
    "late_collisions": "dot3StatsLateCollisions",
    "excessive_collisions": "dot3StatsExcessiveCollisions",
    "symbol_errors": "dot3StatsSymbolErrors",
}


def ethernet(answers: Answers) -> dict[int, dict[str, Any]]:
    """Port fields by ifIndex: duplex, counters, mau_type, auto_negotiation, as far as the switch tells.

    The index is ifIndex; recorded besides: ifIndex.0.
    """
    found: dict[int, dict[str, Any]] = {}
    for index, duplex in answers.numbers("dot3StatsDuplexStatus").items():
        if duplex in _DUPLEX:
            _of(found, index)["duplex"] = _DUPLEX[duplex]
    for name, column in _COUNTERS.items():
        for index, count in answers.numbers(column).items():
            _of(found, index).setdefault("counters", {})[name] = count
    for index, mau in answers["ifMauType"].items():
        if (number := _last_arc(mau)) and "mau_type" not in found.get(index[0], {}):  # the first MAU of a port
            _of(found, index)["mau_type"] = number
    for index, enabled in answers.numbers("ifMauAutoNegAdminStatus").items():
        _of(found, index).setdefault("auto_negotiation", enabled == 1)
    return found


def _of(found: dict[int, dict[str, Any]], index: Index) -> dict[str, Any]:
    return found.setdefault(index[0] if index else 0, {})


def _last_arc(value: Any) -> int:
    """dot3MauType is an object identifier whose last arc tells the type (IANA-MAU-MIB); zeroDotZero is none."""
    return value[-1] if isinstance(value, tuple) and len(value) > 2 else 0
