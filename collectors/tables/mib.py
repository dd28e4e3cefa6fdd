"""The MIB objects that are read, by name, and answers as columns of these names.

Every OID was resolved from the published module named beside it; vendors' objects from their published modules.
"""

from __future__ import annotations

from collections.abc import Mapping

Oid = tuple[int, ...]
Index = tuple[int, ...]
Value = int | bytes | Oid | None
Column = Mapping[Index, Value]

_NOTHING: Column = {}


def _below(root: str, **arcs: int | str) -> dict[str, Oid]:
    """Objects below one root: `name=5` is root.5, `name="1.3"` is root.1.3."""
    return {name: tuple(int(arc) for arc in f"{root}.{tail}".split(".")) for name, tail in arcs.items()}


OBJECTS: dict[str, Oid] = {
    # SNMPv2-MIB, RFC 3418
    **_below("1.3.6.1.2.1.1", sysDescr=1, sysObjectID=2, sysUpTime=3, sysName=5, sysLocation=6),
    # IF-MIB, RFC 2863
    **_below(
        "1.3.6.1.2.1.2.2.1",
        ifDescr=2, ifType=3, ifSpeed=5, ifPhysAddress=6, ifAdminStatus=7, ifOperStatus=8, ifLastChange=9,
        ifInOctets=10, ifInErrors=14, ifOutOctets=16, ifOutErrors=20,
    ),
    **_below(
        "1.3.6.1.2.1.31.1.1.1",
        ifName=1, ifHCInOctets=6, ifHCOutOctets=10, ifHighSpeed=15, ifConnectorPresent=17, ifAlias=18,
    ),
    **_below("1.3.6.1.2.1.31.1.2.1", ifStackStatus=3),
    # BRIDGE-MIB, RFC 4188
    **_below("1.3.6.1.2.1.17.1", dot1dBaseBridgeAddress=1, dot1dBaseNumPorts=2, dot1dBasePortIfIndex="4.1.2"),
    **_below(
        "1.3.6.1.2.1.17.2",
        dot1dStpTimeSinceTopologyChange=3, dot1dStpTopChanges=4, dot1dStpPortState="15.1.3",
    ),
    **_below(
        "1.3.6.1.2.1.17.4",
        dot1dTpLearnedEntryDiscards=1, dot1dTpAgingTime=2, dot1dTpFdbPort="3.1.2", dot1dTpFdbStatus="3.1.3",
    ),
    # Q-BRIDGE-MIB, RFC 4363
    **_below(
        "1.3.6.1.2.1.17.7.1",
        dot1qTpFdbPort="2.2.1.2", dot1qTpFdbStatus="2.2.1.3", dot1qVlanFdbId="4.2.1.3",
        dot1qVlanStaticName="4.3.1.1", dot1qVlanStaticRowStatus="4.3.1.5", dot1qPvid="4.5.1.1",
    ),
    # IEEE8021-BRIDGE-MIB and IEEE8021-Q-BRIDGE-MIB, IEEE 802.1Q-2011 and later
    **_below("1.3.111.2.802.1.1.2.1.1.4.1", ieee8021BridgeBasePortIfIndex=3),
    **_below("1.3.111.2.802.1.1.4.1.2.2.1", ieee8021QBridgeTpFdbPort=2, ieee8021QBridgeTpFdbStatus=3),
    # LLDP-MIB, IEEE 802.1AB-2005 clause 12.1, with its extensions of annexes F and G and of TIA-1057
    **_below(
        "1.0.8802.1.1.2.1",
        lldpStatsRemTablesInserts="2.2", lldpStatsRemTablesDrops="2.4",
        lldpLocChassisIdSubtype="3.1", lldpLocChassisId="3.2", lldpLocSysName="3.3",
        lldpLocPortIdSubtype="3.7.1.2", lldpLocPortId="3.7.1.3", lldpLocPortDesc="3.7.1.4",
        lldpRemChassisIdSubtype="4.1.1.4", lldpRemChassisId="4.1.1.5", lldpRemPortIdSubtype="4.1.1.6",
        lldpRemPortId="4.1.1.7", lldpRemPortDesc="4.1.1.8", lldpRemSysName="4.1.1.9", lldpRemSysDesc="4.1.1.10",
        lldpRemSysCapEnabled="4.1.1.12", lldpRemManAddrIfSubtype="4.2.1.3",
        lldpXdot1RemPortVlanId="5.32962.1.3.1.1.1", lldpXdot3RemPortOperMauType="5.4623.1.3.1.1.4",
        lldpXMedRemSerialNum="5.4795.1.3.3.1.4", lldpXMedRemMfgName="5.4795.1.3.3.1.5",
        lldpXMedRemModelName="5.4795.1.3.3.1.6",
    ),
    # LLDP-V2-MIB, IEEE 802.1AB-2016
    **_below(
        "1.3.111.2.802.1.1.13.1.4",
        lldpV2RemChassisIdSubtype="1.1.5", lldpV2RemChassisId="1.1.6", lldpV2RemPortIdSubtype="1.1.7",
        lldpV2RemPortId="1.1.8", lldpV2RemPortDesc="1.1.9", lldpV2RemSysName="1.1.10", lldpV2RemSysDesc="1.1.11",
        lldpV2RemSysCapEnabled="1.1.13", lldpV2RemManAddrIfSubtype="2.1.3",
    ),
    # CISCO-CDP-MIB, CISCO-VTP-MIB, CISCO-VLAN-MEMBERSHIP-MIB
    **_below(
        "1.3.6.1.4.1.9.9.23.1.2.1.1",
        cdpCacheAddressType=3, cdpCacheAddress=4, cdpCacheVersion=5, cdpCacheDeviceId=6, cdpCacheDevicePort=7,
        cdpCachePlatform=8, cdpCacheCapabilities=9, cdpCacheNativeVLAN=11, cdpCacheSysName=17,
    ),
    **_below("1.3.6.1.4.1.9.9.46.1.3.1.1", vtpVlanState=2, vtpVlanType=3, vtpVlanName=4),
    **_below("1.3.6.1.4.1.9.9.68.1.2.2.1", vmVlan=2),
    # JUNIPER-L2ALD-MIB
    **_below("1.3.6.1.4.1.2636.3.48.1.3.1.1", jnxL2aldVlanName=2, jnxL2aldVlanTag=3, jnxL2aldVlanFdbId=5),
    # EtherLike-MIB, RFC 3635; MAU-MIB, RFC 4836
    **_below(
        "1.3.6.1.2.1.10.7.2.1",
        dot3StatsAlignmentErrors=2, dot3StatsFCSErrors=3, dot3StatsLateCollisions=8, dot3StatsExcessiveCollisions=9,
        dot3StatsSymbolErrors=18, dot3StatsDuplexStatus=19,
    ),
    **_below("1.3.6.1.2.1.26", ifMauType="2.1.1.3", ifMauAutoNegAdminStatus="5.1.1.1"),
    # POWER-ETHERNET-MIB, RFC 3621
    **_below(
        "1.3.6.1.2.1.105.1.1.1",
        pethPsePortAdminEnable=3, pethPsePortDetectionStatus=6, pethPsePortPowerPriority=7,
        pethPsePortPowerClassifications=10,
    ),
    **_below(
        "1.3.6.1.2.1.105.1.3.1.1",
        pethMainPsePower=2, pethMainPseOperStatus=3, pethMainPseConsumptionPower=4, pethMainPseUsageThreshold=5,
    ),
    # IP-MIB, RFC 4293, with the table that it deprecates
    **_below("1.3.6.1.2.1.4.22.1", ipNetToMediaPhysAddress=2, ipNetToMediaType=4),
    **_below("1.3.6.1.2.1.4.35.1", ipNetToPhysicalPhysAddress=4, ipNetToPhysicalType=6, ipNetToPhysicalState=7),
    # IEEE8023-LAG-MIB
    **_below("1.2.840.10006.300.43.1.2.1.1", dot3adAggPortAttachedAggID=13),
    # ENTITY-MIB, RFC 6933
    **_below(
        "1.3.6.1.2.1.47.1.1.1.1",
        entPhysicalDescr=2, entPhysicalClass=5, entPhysicalParentRelPos=6, entPhysicalName=7,
        entPhysicalSerialNum=11, entPhysicalModelName=13,
    ),
}  # fmt: skip


class Answers(dict[str, Column]):
    """Columns by the name of their object. A column that was not read, or is not served, is empty."""

    def __missing__(self, name: str) -> Column:
        if name not in OBJECTS:
            raise KeyError(name)
        return _NOTHING

    def numbers(self, name: str) -> dict[Index, int]:
        """Rows that hold a number; whatever else an agent put there is left out."""
        return {index: value for index, value in self[name].items() if isinstance(value, int)}

    def octets(self, name: str) -> dict[Index, bytes]:
        """Rows that hold octets."""
        return {index: value for index, value in self[name].items() if isinstance(value, bytes)}

    def number(self, name: str) -> int | None:
        """A scalar that is a number."""
        value = self[name].get((0,))
        return value if isinstance(value, int) else None

    def octet_string(self, name: str) -> bytes:
        """A scalar that is octets, else none."""
        value = self[name].get((0,))
        return value if isinstance(value, bytes) else b""

    def serves(self, *names: str) -> bool:
        """True when any of these objects has a row."""
        return any(self[name] for name in names)
