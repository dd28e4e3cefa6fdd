"""The rows that a finding rests on, put beside it: port state, neighbours, forwarding table rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

import pandas as pd

from collectors.names import int_to_mac, mac_to_int
from collectors.snapshot import Port
from reconcile.findings import Evidence, Finding
from reconcile.locate.placement import PortRef
from reconcile.picture import Picture

MOST_ROWS = 12
"""Forwarding rows kept per finding: a station is heard by every switch on the way, and nobody reads a thousand."""


def with_evidence(findings: Sequence[Finding], picture: Picture, sightings: pd.DataFrame) -> list[Finding]:
    """The same findings, each with its rows. One pass over the sightings, however many findings there are."""
    heard = _heard({mac for f in findings for mac in f.macs}, sightings)
    return [f.model_copy(update={"evidence": (*f.evidence, *_rows(f, picture, heard))}) for f in findings]


def _heard(macs: set[str], sightings: pd.DataFrame) -> dict[str, list[Evidence]]:
    wanted = sightings[sightings["mac"].isin([mac_to_int(mac) for mac in macs])]
    rows: dict[str, list[Evidence]] = defaultdict(list)
    for switch, port, vlan, number, status in zip(
        wanted["switch"], wanted["port"], wanted["vlan"], wanted["mac"], wanted["status"], strict=True
    ):
        mac = int_to_mac(int(number))
        in_vlan = "" if pd.isna(vlan) else f" in VLAN {vlan}"
        named = "" if pd.isna(port) else str(port)
        rows[mac].append(Evidence(str(switch), named, "forwarding", f"{mac} {status}{in_vlan}"))
    return rows


def _rows(finding: Finding, picture: Picture, heard: dict[str, list[Evidence]]) -> Iterable[Evidence]:
    places = [finding.where, *([finding.moved_to] if finding.moved_to else [])]
    for ref in (PortRef(p.switch, p.port) for p in places):
        if ref not in picture.ports:
            continue
        yield Evidence(ref.switch, ref.port, "interfaces", _state(picture.ports[ref]))
        for neighbour in picture.neighbours.get(ref, ()):
            name = neighbour.system_name or neighbour.chassis_id
            yield Evidence(ref.switch, ref.port, neighbour.protocol, f"neighbour {name} port {neighbour.port_id}")
    rows = [row for mac in finding.macs for row in heard.get(mac, ())]
    at = {(p.switch, p.port) for p in places}
    yield from sorted(rows, key=lambda row: ((row.switch, row.port) not in at, row))[:MOST_ROWS]


def _state(port: Port) -> str:
    speed = f", {port.speed_mbps} Mbit/s" if port.speed_mbps and port.oper == "up" else ""
    shut = ", administratively down" if port.admin == "down" else ""
    return f"link {port.oper or 'state not told'}{speed}{shut}"
