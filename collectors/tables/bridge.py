"""BRIDGE-MIB (RFC 4188) and Q-BRIDGE-MIB (RFC 4363): which address is seen behind which port, in which VLAN."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from collectors.snapshot import Sighting
from collectors.tables.mib import Answers, Index
from collectors.tables.text import mac_of_index, text

BASE_OBJECTS = ("dot1dBasePortIfIndex",)
NEWER_BASE_OBJECTS = ("ieee8021BridgeBasePortIfIndex",)
VLAN_OBJECTS = ("dot1qVlanFdbId", "dot1qVlanStaticName", "dot1qVlanStaticRowStatus", "dot1qPvid")
VENDOR_VLAN_OBJECTS = (
    "vtpVlanState", "vtpVlanType", "vtpVlanName", "vmVlan",
    "jnxL2aldVlanName", "jnxL2aldVlanTag", "jnxL2aldVlanFdbId",
)  # fmt: skip
DOT1Q_OBJECTS = ("dot1qTpFdbPort", "dot1qTpFdbStatus")
NEWER_DOT1Q_OBJECTS = ("ieee8021QBridgeTpFdbPort", "ieee8021QBridgeTpFdbStatus")
DOT1D_OBJECTS = ("dot1dTpFdbPort", "dot1dTpFdbStatus")

_STATUS = {1: "other", 2: "invalid", 3: "learned", 4: "self", 5: "mgmt"}

HIGHEST_VLAN = 4094


@dataclass(frozen=True)
class BridgePorts:
    """Bridge port numbers to port names."""

    if_index: Mapping[int, int]
    names: Mapping[int, str]
    identity: bool

    def name(self, port: int | None) -> str | None:
        """The port of that bridge port number, or None when nothing says which.

        Port 0 means "not learned" (RFC 4188), even where an agent lists a base port 0. A number without a row is an
        ifIndex only where every row says that the two are the same (recorded: access-point tunnels).
        """
        if not port:
            return None
        if port in self.if_index:
            return self.names.get(self.if_index[port])
        return self.names.get(port) if self.identity else None

    def or_else(self, other: BridgePorts) -> BridgePorts:
        """This mapping where it has any rows, else another one."""
        return self if self.if_index else other


def bridge_ports(answers: Answers, names: Mapping[int, str]) -> BridgePorts:
    """`names` are those of the interfaces by ifIndex; an ifIndex of 0, or that has no interface, leads nowhere."""
    newer = answers.numbers("ieee8021BridgeBasePortIfIndex").items()  # index: component, port
    known = {index[1]: value for index, value in newer if len(index) == 2}
    known |= {index[0]: value for index, value in answers.numbers("dot1dBasePortIfIndex").items() if len(index) == 1}
    identity = bool(known) and all(port == if_index for port, if_index in known.items())
    return BridgePorts(known, names, identity)


@dataclass(frozen=True)
class Vlans:
    """VLAN names, and what leads from a filtering database to its VLAN."""

    names: dict[int, str]
    of_fdb: dict[int, set[int]]
    vendor: dict[int, int]
    any_table: bool

    def of(self, fdb: int) -> int | None:
        """The VLAN of a filtering database id, or None when nothing tells.

        An id is not a VLAN; but agents exist that index by VLAN and fill dot1qVlanFdbId with nonsense.
        """
        mapped = self.of_fdb.get(fdb, set())
        if len(mapped) == 1:
            return next(iter(mapped))
        if fdb in self.names or (not self.any_table and 1 <= fdb <= HIGHEST_VLAN):
            return fdb
        return self.vendor.get(fdb)


def vlans(answers: Answers) -> Vlans:
    """VLANs from the standard's tables, else from the vendor's."""
    current = {vlan: fdb for index, fdb in answers.numbers("dot1qVlanFdbId").items() if (vlan := _vlan_of(index))}
    of_fdb: dict[int, set[int]] = defaultdict(set)
    for vlan, fdb in current.items():
        of_fdb[fdb].add(vlan)
    static = [index[0] for name in VLAN_OBJECTS[1:3] for index in answers[name] if len(index) == 1]
    names = {vlan: "" for vlan in (*current, *static) if 1 <= vlan <= HIGHEST_VLAN}
    for index, name in answers.octets("dot1qVlanStaticName").items():
        if index[-1] in names:
            names[index[-1]] = text(name)
    any_table = bool(names)
    if not any_table:
        names = _vendor_names(answers)
    return Vlans(names, dict(of_fdb), _juniper_fdbs(answers), any_table)


def _vlan_of(index: Index) -> int:
    """The VLAN of a dot1qVlanCurrentTable index; recorded besides TimeMark.VLAN: VLAN alone, and VLAN.0."""
    if len(index) > 1 and index[-1] == 0:
        return index[0]
    return index[-1] if index else 0


def _vendor_names(answers: Answers) -> dict[int, str]:
    tags = answers.numbers("jnxL2aldVlanTag")
    named = {tags[index]: text(name) for index, name in answers.octets("jnxL2aldVlanName").items() if index in tags}
    named |= {index[-1]: text(name) for index, name in answers.octets("vtpVlanName").items() if index}
    return {vlan: name for vlan, name in named.items() if 1 <= vlan <= HIGHEST_VLAN}


def _juniper_fdbs(answers: Answers) -> dict[int, int]:
    tags = answers.numbers("jnxL2aldVlanTag")
    fdbs = answers.numbers("jnxL2aldVlanFdbId")
    return {fdb: tags[index] for index, fdb in fdbs.items() if 1 <= tags.get(index, 0) <= HIGHEST_VLAN}


def pvids(answers: Answers, ports: BridgePorts) -> dict[str, int]:
    """The untagged VLAN of each port. Some agents key the table by ifIndex instead of bridge port."""
    rows = _pvid_rows(answers)
    name_of = ports.names.get if pvids_by_if_index(answers, ports) else ports.name
    found = {name: vlan for key, vlan in rows.items() if (name := name_of(key))}
    for index, vlan in answers.numbers("vmVlan").items():
        name = ports.names.get(index[-1])
        if name and 1 <= vlan <= HIGHEST_VLAN:
            found.setdefault(name, vlan)
    return found


def _pvid_rows(answers: Answers) -> dict[int, int]:
    rows = {index[0]: vlan for index, vlan in answers.numbers("dot1qPvid").items() if len(index) == 1}
    return {key: vlan for key, vlan in rows.items() if key and 1 <= vlan <= HIGHEST_VLAN}


def pvids_by_if_index(answers: Answers, ports: BridgePorts) -> bool:
    """True when the table's keys are ifIndexes: not all of them bridge ports, but all of them interfaces."""
    keys = _pvid_rows(answers).keys()
    return not keys <= ports.if_index.keys() and keys <= ports.names.keys()


def sightings(answers: Answers, ports: BridgePorts, vlans: Vlans) -> list[Sighting]:
    """All forwarding tables, those per VLAN first; an address that is in one is not repeated without its VLAN."""
    found = [
        Sighting(mac, vlans.of(index[-7]), ports.name(port), status, "dot1q")
        for objects, arcs in ((DOT1Q_OBJECTS, 7), (NEWER_DOT1Q_OBJECTS, 8))  # the newer index begins with a component
        for index, mac, port, status in _fdb_rows(answers, objects, arcs)
    ]
    if answers.serves(*NEWER_DOT1Q_OBJECTS):
        found = list(dict.fromkeys(found))  # agents serve the same rows in both MIBs
    known = {sighting.mac for sighting in found}
    return found + [row for row in plain_sightings(answers, ports, None) if row.mac not in known]


def plain_sightings(answers: Answers, ports: BridgePorts, vlan: int | None) -> Iterator[Sighting]:
    """The forwarding table of BRIDGE-MIB."""
    for _, mac, port, status in _fdb_rows(answers, DOT1D_OBJECTS, 6):
        yield Sighting(mac, vlan, ports.name(port), status, "dot1d")


def _fdb_rows(answers: Answers, objects: tuple[str, str], arcs: int) -> Iterator[tuple[Index, str, int | None, str]]:
    """Rows joined by index. Tables change while they are read: a row with a port but no status is taken as
    learned, one with neither says nothing. The address comes from the index; its own column can be damaged.
    """
    ports, states = (answers.numbers(name) for name in objects)
    for index in dict.fromkeys((*answers[objects[0]], *answers[objects[1]])):
        mac = mac_of_index(index) if len(index) == arcs else None
        port, state = ports.get(index), states.get(index)
        if mac and (state or port):
            yield index, mac, port, _STATUS.get(state, "other") if state else "learned"


def fdb_ids(answers: Answers) -> set[int]:
    """The filtering databases that have rows."""
    return {index[-7] for name in (*DOT1Q_OBJECTS, *NEWER_DOT1Q_OBJECTS) for index in answers[name] if len(index) >= 7}


_TABLES = (DOT1Q_OBJECTS, NEWER_DOT1Q_OBJECTS, DOT1D_OBJECTS)


def torn_rows(answers: Answers) -> int:
    """Rows of which one of the two columns is missing."""
    return sum(len(answers[port].keys() ^ answers[status].keys()) for port, status in _TABLES)


def shows_one_vlan_only(answers: Answers) -> bool:
    """True for an agent family that keeps a bridge per VLAN: its VLAN table is the vendor's and lists several, and
    the standard's per-VLAN forwarding table is absent (the usual context then shows VLAN 1).
    """
    return not answers.serves(*DOT1Q_OBJECTS, *NEWER_DOT1Q_OBJECTS) and len(ethernet_vlans(answers)) > 1


def ethernet_vlans(answers: Answers) -> list[int]:
    """Operational Ethernet VLANs of the vendor's table, and those of access ports; not the ones for other media."""
    types = answers.numbers("vtpVlanType")
    listed = {
        index[-1] for index, state in answers.numbers("vtpVlanState").items() if state == types.get(index, 1) == 1
    }
    found = listed | set(answers.numbers("vmVlan").values())
    return sorted(vlan for vlan in found if 1 <= vlan <= HIGHEST_VLAN and vlan not in _RESERVED)


_RESERVED = range(1002, 1006)
"""VLANs that the vendor keeps for FDDI and token ring."""
