"""The snapshot that a faultless collector hands over for a world, made without any network."""

from __future__ import annotations

from collectors.snapshot import (
    Address,
    CollectedSwitch,
    FailedSwitch,
    Neighbour,
    Port,
    PowerGroup,
    Sighting,
    Snapshot,
    System,
    Table,
    TableReport,
    TableState,
)
from tests.worlds import snmprec
from tests.worlds.dialects import Dialect
from tests.worlds.model import Advert, Switch, World
from tests.worlds.observe import View, observe

_PARTIAL = "the forwarding table of VLAN 1 only"


def _partial(dialect: Dialect) -> bool:
    return dialect.forwarding == "dot1d per VLAN" and not dialect.serves_contexts


def snapshot_of(world: World) -> Snapshot:
    """What every switch of the world says, in the words of a snapshot. Switches that do not answer have failed."""
    views = observe(world)
    return Snapshot(
        site=world.record.site,
        started=world.taken,
        finished=world.taken,
        switches=[_collected(world, switch, views[switch.name]) for switch in world.switches if switch.answers],
        failed=[
            FailedSwitch(name=switch.name, started=world.taken, reason="no answer in 2 s", kind="no answer")
            for switch in world.switches
            if not switch.answers
        ],
    )


def _collected(world: World, switch: Switch, view: View) -> CollectedSwitch:
    speaks = switch.dialect.lldp and switch.dialect.serves_lldp
    sightings = _sightings(switch, view)
    neighbours = [_neighbour(port, advert) for port, adverts in view.heard.items() for advert in adverts if speaks]
    return CollectedSwitch(
        name=switch.name,
        address=switch.address,
        started=world.taken,
        system=System(
            descr=switch.dialect.descr,
            object_id=switch.dialect.object_id,
            name=switch.hostname,
            location=switch.location,
            uptime_ticks=snmprec.UPTIME,
        ),
        chassis_id=switch.mac if speaks else "",
        lldp_name=switch.hostname if speaks else "",
        own_macs=sorted({switch.mac} | {switch.port_mac(port) for port in switch.ports}),
        ports=[*_ports(switch, view), *_extra_interfaces(switch)],
        vlans=dict(switch.vlans) if _tells_vlans(switch.dialect) else {},
        sightings=sightings,
        neighbours=neighbours,
        addresses=_addresses(world, switch, view),
        power_groups=_power_groups(switch, view),
        aging_seconds=snmprec.AGING_SECONDS,
        topology_changes=3,
        tables=_reports(switch, len(sightings), len(neighbours)),
    )


def _ports(switch: Switch, view: View) -> list[Port]:
    return [
        Port(
            name=port.name,
            if_index=switch.dialect.if_index + port.number,
            if_type=6,
            descr=switch.dialect.descr_of(port.number),
            alias=port.alias,
            mac=switch.port_mac(port),
            admin="up" if port.admin_up else "down",
            oper="up" if port.name in view.up else "down",
            speed_mbps=view.up.get(port.name),
            duplex="full" if port.name in view.up else "unknown",
            last_change_ticks=snmprec.SINCE_CHANGE,
            connector=True,
            pvid=port.vlan if switch.dialect.vlan_table != "none" else None,
        )
        for port in switch.ports
    ]


def _extra_interfaces(switch: Switch) -> list[Port]:
    """Interfaces without a socket; a second one of the same name is told apart by its ifIndex."""
    ports: list[Port] = []
    for index, name, if_type in switch.dialect.extra_interfaces:
        unique = f"{name}#{index}" if name in {port.name for port in ports} else name
        oper = "down" if if_type == 6 else "up"
        ports.append(Port(name=unique, if_index=index, if_type=if_type, descr=name, admin="up", oper=oper))
    return ports


def _tells_vlans(dialect: Dialect) -> bool:
    return dialect.vlan_table != "none" or dialect.forwarding == "dot1d per VLAN"


def _sightings(switch: Switch, view: View) -> list[Sighting]:
    way = switch.dialect.forwarding
    if way == "none":
        return []
    tells_vlan = way != "dot1d" and not _partial(switch.dialect)
    table = "dot1q" if way in ("dot1q", "both") else "dot1d"
    rows = [
        Sighting(mac, vlan if tells_vlan else None, port, "learned", table)
        for (vlan, mac), port in view.learned.items()
        if vlan == 1 or not _partial(switch.dialect)
    ]
    own = Sighting(switch.mac, switch.management_vlan if tells_vlan else None, None, "self", table)
    others = [Sighting(e.mac, e.vlan, e.port, e.status, table) for e in switch.entries]
    return sorted({*rows, *others, own}, key=lambda row: (row.mac, row.vlan or 0))


def _neighbour(port: str, advert: Advert) -> Neighbour:
    return Neighbour(
        port=port,
        chassis_id=advert.chassis_id,
        chassis_id_kind=advert.chassis_kind,
        port_id=advert.port_id,
        port_id_kind=advert.port_kind,
        port_description=advert.port_description,
        system_name=advert.system_name,
        system_description=advert.system_description,
        capabilities=list(advert.capabilities),
        management_addresses=[advert.management_address] if advert.management_address else [],
        pvid=advert.pvid,
        maker=advert.maker,
        model=advert.model,
        serial=advert.serial,
    )


def _addresses(world: World, switch: Switch, view: View) -> list[Address]:
    if not switch.routes:
        return []
    heard = {mac for _, mac in view.learned}
    stations = [station for box in world.boxes for station in box.stations]
    return [Address(ip=station.ip, mac=station.mac) for station in stations if station.ip and station.mac in heard]


def _power_groups(switch: Switch, view: View) -> list[PowerGroup]:
    if not any(port.supplies_power for port in switch.ports):
        return []
    used = round(sum(view.draws.values()))
    return [PowerGroup(group=1, budget_watts=snmprec.WATTS_PER_BOX, used_watts=used, state="on", warn_percent=80)]


def _reports(switch: Switch, sightings: int, neighbours: int) -> dict[Table, TableReport]:
    """Coverage: what this agent lets a collector read, and what of it is known to be a part only."""
    read = TableReport(state=TableState.READ, source="snmp 2c")
    absent = TableReport(state=TableState.NOT_SERVED, reason="the switch does not have it", source="snmp 2c")
    dialect = switch.dialect
    partial = _PARTIAL if _partial(dialect) else ""
    forwarding = read.model_copy(update={"rows": sightings, "partial": partial})
    lldp = dialect.lldp and dialect.serves_lldp
    heard = TableReport(state=TableState.READ if neighbours else TableState.EMPTY, rows=neighbours, source="snmp 2c")
    return {
        Table.SYSTEM: read,
        Table.INTERFACES: read.model_copy(update={"rows": len(switch.ports) + len(dialect.extra_interfaces)}),
        Table.BRIDGE_PORTS: read.model_copy(update={"rows": len(switch.ports)}),
        Table.VLANS: read if _tells_vlans(dialect) else absent,
        Table.FORWARDING: absent if dialect.forwarding == "none" else forwarding,
        Table.LLDP_LOCAL: read if lldp else absent,
        Table.NEIGHBOURS: heard if lldp else absent,
    }
