"""Compares what a report says with what a world expects of it."""

from __future__ import annotations

from collections import Counter
from typing import Any

from tests.worlds.expected import Found


def found_in(report: dict[str, Any]) -> list[Found]:
    """The findings of a report in its JSON form, as far as worlds say what they must be."""
    return sorted(
        Found(
            kind=finding["kind"],
            port=_port(finding["where"]),
            device=finding["device"],
            # A moved device is named by its name; its addresses are those of the map.
            macs=() if finding["device"] and finding["kind"] == "moved device" else tuple(sorted(finding["macs"])),
            moved_to=_port(finding["moved_to"]) if finding["moved_to"] else "",
        )
        for finding in report["findings"]
    )


def verdicts_in(report: dict[str, Any]) -> dict[str, int]:
    """How many documented channels have each verdict; verdicts that none has are left out."""
    return dict(Counter(verdict["verdict"] for verdict in report["verdicts"]))


def gaps_in(report: dict[str, Any]) -> list[str]:
    """The switches that could not be looked at, or not wholly."""
    return sorted({gap["switch"] for gap in report["gaps"]})


def counted(verdicts: dict[str, int]) -> dict[str, int]:
    """The same form for expected counts."""
    return {verdict: count for verdict, count in verdicts.items() if count}


def _port(place: dict[str, str]) -> str:
    return f"{place['switch']}:{place['port']}"
