"""How the agents of switch families word the same facts: port names, index offsets, FdbIds, LLDP port ids.

Each peculiarity was seen in recordings of real switches (package snmpsim-data); the numbers beside them are of
those recordings, the switches here are invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FdbIds = Literal["vlan", "ordinal", "shifted", "vlan, mapped to 1"]
"""How dot1qFdbId relates to the VLAN.

`ordinal`: 1, 2, 3 in the order of the VLANs, told by dot1qVlanFdbId (hpe-procurve-516733-b21).
`shifted`: n << 16, told likewise (juniper-mx960). `vlan, mapped to 1`: the FdbId is the VLAN and dot1qVlanFdbId
wrongly says 1 for all (h3c-wx6103).
"""


@dataclass(frozen=True)
class Dialect:
    """One family of agents. `{n}` in names is the port's number, `{m}` the same counted from 0."""

    model: str
    descr: str  # sysDescr
    object_id: str  # sysObjectID
    port_name: str  # ifName
    port_descr: str  # ifDescr
    if_index: int  # ifIndex of port n is this + n
    base_port: int  # dot1dBasePort of port n is this + n
    fdb_ids: FdbIds = "vlan"
    forwarding: Literal["dot1q", "dot1d", "both", "dot1d per VLAN", "none"] = "dot1q"
    serves_contexts: bool = True  # False: of `dot1d per VLAN`, only VLAN 1 can be asked for
    vlan_table: Literal["current", "static", "none"] = "current"
    time_mark: int = 0  # of dot1qVlanCurrent and lldpRem rows
    lldp: bool = True  # speaks LLDP and serves LLDP-MIB
    serves_lldp: bool = True  # False: speaks it, and the view hides the tables
    lldp_port_number: Literal["ifIndex", "base port"] = "ifIndex"
    lldp_port_id: Literal["interfaceName", "local", "macAddress"] = "interfaceName"
    extra_interfaces: tuple[tuple[int, str, int], ...] = ()  # ifIndex, name, ifType: VLAN interfaces, loopbacks

    def name_of(self, number: int) -> str:
        """ifName of a port."""
        return self.port_name.format(n=number, m=number - 1)

    def descr_of(self, number: int) -> str:
        """ifDescr of a port."""
        return self.port_descr.format(n=number, m=number - 1)

    def fdb_id(self, vlan: int, ordinal: int) -> int:
        """dot1qFdbId of the `ordinal`-th VLAN (from 1) of the switch."""
        return {"ordinal": ordinal, "shifted": ordinal << 16}.get(self.fdb_ids, vlan)

    def mapped_fdb_id(self, vlan: int, ordinal: int) -> int:
        """What dot1qVlanFdbId says it is."""
        return 1 if self.fdb_ids == "vlan, mapped to 1" else self.fdb_id(vlan, ordinal)


STACKED = Dialect(
    model="N1524P",
    descr="Networking N1524P, 6.7.1.31, Linux 4.14.174",
    object_id="1.3.6.1.4.1.674.10895.3065",
    port_name="Gi1/0/{n}",
    port_descr="GigabitEthernet1/0/{n}",
    if_index=10100,  # cisco-c3750: bridge port n is ifIndex 10100 + n
    base_port=0,
    lldp_port_number="base port",
    extra_interfaces=((1, "Vl1", 53), (2, "Vl99", 53)),  # collide with bridge ports 1 and 2, as in cisco-c3560
)

SLOTTED = Dialect(
    model="EX2300-C-12P",
    descr="Juniper Networks, Inc. ex2300-c-12p Ethernet Switch, kernel JUNOS 21.4R3",
    object_id="1.3.6.1.4.1.2636.1.1.1.4.132.1",
    port_name="ge-0/0/{m}",
    port_descr="ge-0/0/{m}",
    if_index=505,
    base_port=489,
    fdb_ids="shifted",
    time_mark=1280,  # LLDP and VLAN rows of real agents seldom carry 0
    lldp_port_id="local",  # the ifIndex as text, name only in the description (juniper-mx960-13-3r9-13)
    extra_interfaces=((5, "me0", 6), (16, "lo0", 24)),
)

NUMBERED = Dialect(
    model="2530-24G-PoEP",
    descr="HP J9773A 2530-24G-PoEP Switch, revision YA.16.11.0012, ROM YA.15.20",
    object_id="1.3.6.1.4.1.11.2.3.7.11.139",
    port_name="{n}",
    port_descr="{n}",
    if_index=0,
    base_port=0,
    fdb_ids="ordinal",
    forwarding="both",
    lldp_port_id="local",
    extra_interfaces=((72, "DEFAULT_VLAN", 53), (4170, "lo0", 24), (4179, "lo0", 24)),  # one name twice, as in hpe
)

PLAIN_ETHERNET = Dialect(
    model="DCS-7010T-48",
    descr="Arista Networks EOS version 4.28.3M running on an Arista Networks DCS-7010T-48",
    object_id="1.3.6.1.4.1.30065.1.3011.7010.427.48",
    port_name="Ethernet{n}",
    port_descr="Ethernet{n}",
    if_index=0,
    base_port=0,
    extra_interfaces=((999001, "Management1", 6), (5000001, "Loopback0", 24), (2000099, "Vlan99", 136)),
)

OFFSET = Dialect(
    model="S5130S-28P-EI",
    descr="H3C Comware Platform Software, Software Version 7.1.070, H3C S5130S-28P-EI",
    object_id="1.3.6.1.4.1.25506.1.2131",
    port_name="GigabitEthernet1/0/{n}",
    port_descr="GigabitEthernet1/0/{n}",
    if_index=5,  # ifIndex 1 exists too, so the bridge port taken as ifIndex gives a wrong name silently
    base_port=0,
    fdb_ids="vlan, mapped to 1",
    vlan_table="current",
    time_mark=117070,
    lldp_port_id="macAddress",
    extra_interfaces=((1, "InLoopBack0", 24), (2, "NULL0", 1), (3, "Vlan-interface1", 136)),
)

PER_CONTEXT = Dialect(
    model="WS-C3560G-24PS",
    descr="Cisco IOS Software, C3560 Software (C3560-IPBASEK9-M), Version 12.2(55)SE12, RELEASE SOFTWARE (fc2)",
    object_id="1.3.6.1.4.1.9.1.615",
    port_name="Gi0/{n}",
    port_descr="GigabitEthernet0/{n}",
    if_index=10100,
    base_port=0,
    forwarding="dot1d per VLAN",  # the default context shows VLAN 1; the others answer to community@VLAN
    vlan_table="none",
    lldp_port_number="base port",  # cisco-c3560: neither ifIndex nor a listed bridge port
    extra_interfaces=((1, "Vl1", 53), (10, "Vl10", 53)),
)
