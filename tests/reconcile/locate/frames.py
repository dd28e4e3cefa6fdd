"""The simulated tables in the form in which the placement gets them from a real snapshot."""

from __future__ import annotations

import numpy as np
import pandas as pd

from collectors.names import int_to_mac
from reconcile.frames import (
    NEIGHBOUR_COLUMNS,
    OWN_COLUMNS,
    PORT_COLUMNS,
    SWITCH_COLUMNS,
    Coverage,
    Observed,
)
from reconcile.locate.placement import PortRef
from tests.reconcile.locate.bridges import Network
from tests.reconcile.locate.tables import Tables


def switch_name(number: int) -> str:
    """The site's name of a simulated switch."""
    return f"sw{number}"


def port_ref(switch: int, port: int) -> PortRef:
    """A simulated port as the placement names it."""
    return PortRef(switch_name(switch), str(port))


def observed(network: Network, tables: Tables) -> Observed:
    """One snapshot of a simulated network, every switch asked, every port that exists up."""
    names = [switch_name(a) for a in range(network.switches)]
    ports = [(names[a], str(p)) for a in range(network.switches) for p in range(int(network.port_count[a]))]
    heard = [
        (
            names[a],
            str(p),
            "lldp",
            int_to_mac(int(tables.switch_macs[b])),
            str(q),
            "interfaceName",
            "",
            names[b],
            "bridge",
        )
        for (a, p), (b, q) in tables.adverts
    ]
    n = len(ports)
    blank = {"if_index": pd.NA, "if_type": 6, "mac": pd.NA, "admin": "up", "oper": "up", "speed_mbps": pd.NA}
    more = {"duplex": "", "aggregate": "", "spanning_tree": "forwarding", "pvid": pd.NA}
    port_frame = pd.DataFrame(
        {"switch": [s for s, _ in ports], "port": [p for _, p in ports]}
        | {name: [value] * n for name, value in (blank | more).items()}
    )
    switch_frame = pd.DataFrame(
        {
            "switch": names,
            "chassis_id": [int_to_mac(int(m)) for m in tables.switch_macs],
            "lldp_name": "",
            "system_name": names,
            "aging_seconds": 300,
        }
    )
    return Observed(
        switches=switch_frame.astype(SWITCH_COLUMNS),
        ports=port_frame.astype(PORT_COLUMNS),
        sightings=sightings(network, tables),
        neighbours=pd.DataFrame.from_records(heard, columns=list(NEIGHBOUR_COLUMNS)).astype(NEIGHBOUR_COLUMNS),
        own_macs=pd.DataFrame({"switch": names, "mac": tables.switch_macs}).astype(OWN_COLUMNS),
        coverage=Coverage(failed={}, partial={}, answered=frozenset(names)),
    )


def sightings(network: Network, tables: Tables) -> pd.DataFrame:
    """The rows of all forwarding tables, switch by switch."""
    macs = np.concatenate([tables.switch_macs, tables.macs])
    vlans = np.concatenate([np.ones(network.switches, np.int32), tables.vlan_of])
    table = np.hstack([tables.switch, tables.station])
    switch, column = np.nonzero(table >= 0)
    port = table[switch, column].astype(np.int64)
    mac, vlan = macs[column], vlans[column]
    if tables.again:
        a, x, p = (np.array(v) for v in zip(*tables.again, strict=True))
        switch, port = np.concatenate([switch, a]), np.concatenate([port, p])
        mac, vlan = np.concatenate([mac, tables.macs[x]]), np.concatenate([vlan, tables.vlan_of[x] + 1])
    most = int(network.port_count.max())
    return pd.DataFrame(
        {
            "switch": pd.Categorical.from_codes(
                switch.tolist() if not len(switch) else switch, [switch_name(a) for a in range(network.switches)]
            ),
            "port": pd.Categorical.from_codes(port, [str(p) for p in range(most)]),
            "vlan": pd.array(vlan, dtype="Int32"),
            "mac": mac,
            "status": pd.Categorical.from_codes(np.zeros(len(mac), np.int8), ["learned"]),
            "at": np.full(len(mac), np.nan, np.float32),
        }
    )
