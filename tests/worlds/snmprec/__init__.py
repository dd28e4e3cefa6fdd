"""Writes what a switch knows as an `.snmprec` recording: `OID|TAG|VALUE` lines, sorted, for the real snmpsim."""

from __future__ import annotations

from tests.worlds.model import Switch, World
from tests.worlds.observe import View
from tests.worlds.snmprec import bridge, interfaces, lldp
from tests.worlds.snmprec.rows import AGING_SECONDS, SINCE_CHANGE, UPTIME, WATTS_PER_BOX, text_of

__all__ = ["AGING_SECONDS", "SINCE_CHANGE", "UPTIME", "WATTS_PER_BOX", "recording", "recordings"]


def recording(world: World, switch: Switch, view: View) -> str:
    """The recording of one switch: its default SNMP context."""
    tables = (*interfaces.TABLES, *bridge.TABLES, *lldp.TABLES)
    return text_of(row for table in tables for row in table(world, switch, view))


def recordings(world: World, views: dict[str, View]) -> dict[str, str]:
    """File name to text for every switch that answers, further contexts of VLANs included."""
    files: dict[str, str] = {}
    for switch in world.switches:
        if switch.answers:
            files[f"{switch.name}.snmprec"] = recording(world, switch, views[switch.name])
            for vlan, text in bridge.contexts(switch, views[switch.name]).items():
                files[f"{switch.name}@{vlan}.snmprec"] = text
    return files
