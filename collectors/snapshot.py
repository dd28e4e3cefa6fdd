"""The one thing that collectors hand over: what every switch said at one time, and what could not be read and why.

Text from switches and neighbours is kept as it was said (bounded in length, control characters included): it is
hostile input, and each output escapes it in its own way.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Sequence
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, WrapSerializer, WrapValidator

SCHEMA_VERSION = 1

MAX_TEXT = 1024
"""Characters kept of any string that a switch or its neighbour says; LLDP and ifAlias allow at most 255."""

Mac = Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{2}:){5}[0-9a-f]{2}$")]


class TableState(StrEnum):
    """How reading one table of one switch ended."""

    READ = "read"
    EMPTY = "empty"
    NOT_SERVED = "not served"
    REFUSED = "refused"
    TIMED_OUT = "timed out"
    CUT_SHORT = "cut short"


class Table(StrEnum):
    """Families of facts, whatever the protocol that supplied them."""

    SYSTEM = "system"
    INTERFACES = "interfaces"
    BRIDGE_PORTS = "bridge ports"
    VLANS = "vlans"
    FORWARDING = "forwarding"
    LLDP_LOCAL = "lldp local"
    NEIGHBOURS = "neighbours"
    ETHERNET = "ethernet"  # duplex and error counters, MAU type
    POWER = "power"
    ADDRESSES = "addresses"  # ARP and IPv6 neighbour tables
    AGGREGATION = "aggregation"
    SPANNING_TREE = "spanning tree"
    HARDWARE = "hardware"  # ENTITY-MIB: serial number and model


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid")


class TableReport(_Model):
    """What became of one table. `reason` is for people; empty only when there is nothing to explain."""

    state: TableState
    rows: int = Field(0, ge=0, description="rows handed over")
    reason: str = ""
    partial: str = Field("", description="why a table that was read is known not to be the whole truth, else empty")
    source: str = Field("", description="'snmp 2c', 'ssh cisco_ios: show mac address-table', ...")
    seconds: float = Field(0.0, ge=0, description="wall time spent on it")

    @property
    def whole(self) -> bool:
        """True when absence from this table means something."""
        return self.state in (TableState.READ, TableState.EMPTY) and not self.partial


class System(_Model):
    """SNMPv2-MIB system group, RFC 3418."""

    descr: str = ""
    object_id: str = ""
    name: str = ""
    location: str = ""
    uptime_ticks: int | None = Field(None, description="sysUpTime, 1/100 s; age of the agent, not of the box")


class Port(_Model):
    """One interface (IF-MIB, RFC 2863). `name` is unique within its switch."""

    name: str = Field(description="ifName, else ifDescr; a second interface of that name gets '#<ifIndex>'")
    if_index: int | None = None
    if_type: int | None = Field(None, description="IANAifType")
    descr: str = ""
    alias: str = ""
    mac: Mac | None = None
    admin: Literal["up", "down", "testing"] | None = None
    oper: Literal["up", "down", "testing", "unknown", "dormant", "notPresent", "lowerLayerDown"] | None = None
    speed_mbps: int | None = Field(None, ge=0, description="Mbit/s; null when the switch does not say")
    duplex: Literal["full", "half", "unknown"] | None = None
    last_change_ticks: int | None = Field(None, description="ifLastChange, 1/100 s of sysUpTime")
    connector: bool | None = Field(None, description="ifConnectorPresent: a hint only, many agents lie")
    pvid: int | None = Field(None, description="untagged VLAN")
    aggregate: str | None = Field(None, description="the link aggregation port that this port is a member of")
    spanning_tree: Literal["disabled", "blocking", "listening", "learning", "forwarding", "broken"] | None = None
    counters: dict[str, int] = Field(
        default_factory=dict, description="in_octets, out_octets, in_errors, fcs_errors, late_collisions, ..."
    )
    mau_type: int | None = Field(None, description="dot3MauType, last arc (IANA-MAU-MIB)")
    auto_negotiation: bool | None = None
    power: Power | None = None

    def seconds_in_state(self, uptime_ticks: int | None) -> float | None:
        """Seconds since the port came into its state, at a sysUpTime; None when nobody knows.

        0 stands for "before the agent started" (RFC 2863). A time a little ahead of sysUpTime is a change while the
        switch was being read, one far ahead is from before sysUpTime wrapped around after 497 days (RFC 2579).
        """
        if not self.last_change_ticks or uptime_ticks is None:
            return None
        ahead = self.last_change_ticks - uptime_ticks
        return 0.0 if 0 < ahead <= _LONGEST_READING else (-ahead % 2**32) / 100


_LONGEST_READING = 6 * 3600 * 100
"""1/100 s; recorded: changes that stand 3073 s ahead of sysUpTime, because the reading took that long."""


class Power(_Model):
    """Power over Ethernet on one port (POWER-ETHERNET-MIB, RFC 3621)."""

    enabled: bool | None = None
    state: Literal["disabled", "searching", "deliveringPower", "fault", "test", "otherFault"] | None = None
    power_class: int | None = Field(None, ge=0, le=8, description="0 to 8; only known while power is delivered")
    priority: Literal["critical", "high", "low"] | None = None
    watts: float | None = Field(None, ge=0)
    group: int | None = None


class PowerGroup(_Model):
    """One power supply of a switch or stack member (pethMainPseTable). Watts."""

    group: int
    budget_watts: float | None = None
    used_watts: float | None = None
    state: Literal["on", "off", "faulty"] | None = None
    warn_percent: int | None = None


class Sighting(NamedTuple):
    """One row of a forwarding table. A NamedTuple, not a model: campuses have millions."""

    mac: Mac
    vlan: Annotated[int, Field(ge=0, lt=1 << 31)] | None = None  # 802.1Q VLAN; None when the table does not tell
    port: str | None = None  # a Port.name; None when the switch named no port that we could resolve
    status: str = "learned"  # learned, self, mgmt, other, invalid (RFC 4188 dot1dTpFdbStatus)
    table: str = ""  # dot1q, dot1d, or the command that printed the row
    at: float | None = None  # seconds after the snapshot started


class CheckedRows(Sequence[Sighting]):
    """Sightings that were checked when they were read: `collectors.sightings` keeps them as columns."""

    @abstractmethod
    def where(self, mac: str | None = None, port: str | None = None) -> list[Sighting]:
        """The rows about one address, or of one port."""


def _kept(rows: Any, check: Callable[[Any], list[Sighting]]) -> Sequence[Sighting]:
    if isinstance(rows, CheckedRows):
        return rows
    from collectors.sightings import packed  # late: that file needs this one

    return packed(check(rows))


def _told(rows: Sequence[Sighting], tell: Callable[[Any], Any]) -> Any:
    return tell(list(rows))


if TYPE_CHECKING:
    Sightings = Sequence[Sighting]
else:
    Sightings = Annotated[list[Sighting], WrapValidator(_kept), WrapSerializer(_told)]


class Neighbour(_Model):
    """One neighbour that a port advertises to us (LLDP, IEEE 802.1AB; or the like)."""

    port: str | None = Field(description="our port, a Port.name; null when it could not be matched")
    protocol: Literal["lldp", "cdp"] = "lldp"
    chassis_id: str = Field("", description="a MAC as aa:bb:.., an address, or text")
    chassis_id_kind: str = Field("", description="LLDP subtype name: macAddress, networkAddress, local, ...")
    port_id: str = ""
    port_id_kind: str = ""
    port_description: str = ""
    system_name: str = ""
    system_description: str = ""
    capabilities: list[str] | None = Field(None, description="enabled capabilities; null when not told")
    management_addresses: list[str] = Field(default_factory=list)
    pvid: int | None = None
    mau_type: int | None = None
    maker: str = ""
    model: str = ""
    serial: str = ""
    repeats: bool = Field(False, description="another row at this port tells of the same neighbour (a copied table)")
    raw: dict[str, str] = Field(default_factory=dict, description="hex octets of each text that was not UTF-8")
    at: float | None = Field(None, description="seconds after the snapshot started")


class Address(_Model):
    """One row of an ARP or IPv6 neighbour table (IP-MIB, RFC 4293)."""

    ip: str
    mac: Mac
    port: str | None = None


class Hardware(_Model):
    """One chassis or module (ENTITY-MIB, RFC 6933)."""

    kind: str = ""
    name: str = ""
    descr: str = ""
    model: str = ""
    serial: str = ""
    position: int | None = None


class CollectedSwitch(_Model):
    """What one switch said. `name` is the site's name for it; what it calls itself is in `system`."""

    name: str
    address: str = ""
    started: datetime
    seconds: float = 0.0
    system: System = Field(default_factory=System)
    chassis_id: str = Field("", description="lldpLocChassisId")
    lldp_name: str = Field("", description="lldpLocSysName")
    own_macs: list[Mac] = Field(default_factory=list, description="every address that is the switch itself")
    ports: list[Port] = Field(default_factory=list)
    vlans: dict[int, str] = Field(default_factory=dict)
    sightings: Sightings = Field(default_factory=list)
    neighbours: list[Neighbour] = Field(default_factory=list)
    addresses: list[Address] = Field(default_factory=list)
    hardware: list[Hardware] = Field(default_factory=list)
    power_groups: list[PowerGroup] = Field(default_factory=list)
    aging_seconds: int | None = Field(None, description="dot1dTpAgingTime")
    topology_changes: int | None = Field(None, description="dot1dStpTopChanges")
    topology_change_ticks: int | None = Field(None, description="dot1dStpTimeSinceTopologyChange, 1/100 s")
    tables: dict[Table, TableReport] = Field(default_factory=dict)
    oddities: list[str] = Field(default_factory=list, description="what was odd and how it was met, for people")

    def report(self, table: Table) -> TableReport:
        """The report on one table; a table that nobody tried to read is 'not served'."""
        return self.tables.get(table) or TableReport(state=TableState.NOT_SERVED, reason="was not asked for")

    def rows(self, mac: str | None = None, port: str | None = None) -> list[Sighting]:
        """The sightings of one address, or on one port: the way to ask for a few of very many."""
        if isinstance(self.sightings, CheckedRows):
            return self.sightings.where(mac, port)
        return [x for x in self.sightings if mac in (None, x.mac) and port in (None, x.port)]


class FailedSwitch(_Model):
    """A switch that could not be asked: one row with its reason."""

    name: str
    address: str = ""
    started: datetime
    seconds: float = 0.0
    reason: str
    kind: Literal["unreachable", "no answer", "refused", "bad answer", "secret", "not finished"]
    hint: str = ""


class Snapshot(_Model):
    """What all switches of a site said in one run."""

    schema_version: int = Field(SCHEMA_VERSION, ge=1, le=SCHEMA_VERSION)
    site: str = ""
    made_by: str = Field("", description="program and version")
    started: datetime
    finished: datetime
    switches: list[CollectedSwitch] = Field(default_factory=list)
    failed: list[FailedSwitch] = Field(default_factory=list)
    unfinished: str = Field("", description="why the run ended early, if it did")


Port.model_rebuild()
