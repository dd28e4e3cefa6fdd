"""BRIDGE-MIB (RFC 4188) and Q-BRIDGE-MIB (RFC 4363): bridge ports, spanning tree, forwarding tables, VLANs."""

from __future__ import annotations

from collections.abc import Iterator

from tests.worlds.model import Switch, World
from tests.worlds.observe import View
from tests.worlds.snmprec.rows import (
    AGING_SECONDS,
    COUNTER,
    GAUGE,
    HEX,
    INTEGER,
    OCTETS,
    SINCE_CHANGE,
    TICKS,
    UPTIME,
    Row,
    Table,
    base_port,
    if_index,
    mac_arcs,
    port_list,
    text_of,
)

_FDB_STATUS = {"other": 1, "invalid": 2, "learned": 3, "self": 4, "mgmt": 5}  # RFC 4188 dot1dTpFdbStatus


def contexts(switch: Switch, view: View) -> dict[int, str]:
    """What an agent with a bridge per VLAN says in the context of each VLAN; the default context is that of VLAN 1."""
    if not (_per_vlan(switch) and switch.dialect.serves_contexts):
        return {}
    return {vlan: text_of([*_bridge_ports(switch, vlan), *_dot1d_rows(switch, view, vlan)]) for vlan, _ in switch.vlans}


def _per_vlan(switch: Switch) -> bool:
    return switch.dialect.forwarding == "dot1d per VLAN"


def _bridge(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    base = "1.3.6.1.2.1.17."
    yield base + "1.1.0", HEX, switch.mac.replace(":", "")
    yield base + "1.2.0", INTEGER, str(len(switch.ports))
    yield base + "1.3.0", INTEGER, "2"
    yield from _bridge_ports(switch, 1 if _per_vlan(switch) else None)
    yield base + "2.3.0", TICKS, str(UPTIME - SINCE_CHANGE)
    yield base + "2.4.0", COUNTER, "3"
    yield base + "4.1.0", COUNTER, "0"
    yield base + "4.2.0", INTEGER, str(AGING_SECONDS)


def _bridge_ports(switch: Switch, vlan: int | None) -> Iterator[Row]:
    """dot1dBasePortTable; for a bridge per VLAN the ports of that VLAN alone (cisco-unmarked-0)."""
    for port in switch.ports:
        if vlan is None or port.carries(vlan):
            number = base_port(switch, port)
            yield f"1.3.6.1.2.1.17.1.4.1.1.{number}", INTEGER, str(number)
            yield f"1.3.6.1.2.1.17.1.4.1.2.{number}", INTEGER, str(if_index(switch, port))


def _spanning_tree(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    for port in switch.ports:
        if _per_vlan(switch) and not port.carries(1):
            continue
        state = 1 if port.name not in view.up else 2 if port.blocked else 5
        number = base_port(switch, port)
        yield f"1.3.6.1.2.1.17.2.15.1.1.{number}", INTEGER, str(number)
        yield f"1.3.6.1.2.1.17.2.15.1.3.{number}", INTEGER, str(state)


def _forwarding_dot1d(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    """dot1dTpFdbTable: no VLAN in it, so agents with a bridge per VLAN show VLAN 1 here."""
    if switch.dialect.forwarding in ("dot1d", "both", "dot1d per VLAN"):
        yield from _dot1d_rows(switch, view, 1 if _per_vlan(switch) else None)


def _dot1d_rows(switch: Switch, view: View, only: int | None) -> Iterator[Row]:
    own = {switch.mac: (0, 4)} if only in (None, switch.management_vlan) else {}
    rows: dict[str, tuple[int, int]] = own
    for (vlan, mac), port in view.learned.items():
        if only in (None, vlan):
            rows[mac] = (base_port(switch, switch.port(port)), 3)
    for mac, (number, status) in rows.items():
        index = mac_arcs(mac)
        yield f"1.3.6.1.2.1.17.4.3.1.1.{index}", HEX, mac.replace(":", "")
        yield f"1.3.6.1.2.1.17.4.3.1.2.{index}", INTEGER, str(number)
        yield f"1.3.6.1.2.1.17.4.3.1.3.{index}", INTEGER, str(status)


def _forwarding_dot1q(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    """dot1qFdbTable and dot1qTpFdbTable, indexed by FdbId; the switch's own address on port 0 with status self."""
    if switch.dialect.forwarding not in ("dot1q", "both"):
        return
    fdb_ids = {vlan: switch.dialect.fdb_id(vlan, n) for n, (vlan, _) in enumerate(switch.vlans, 1)}
    base = "1.3.6.1.2.1.17.7.1.2."
    for vlan, fdb_id in fdb_ids.items():
        yield f"{base}1.1.2.{fdb_id}", COUNTER, str(sum(v == vlan for v, _ in view.learned))
    own = f"{fdb_ids[switch.management_vlan]}.{mac_arcs(switch.mac)}"
    yield f"{base}2.1.2.{own}", INTEGER, "0"
    yield f"{base}2.1.3.{own}", INTEGER, "4"
    learned = ((vlan, mac, port, "learned") for (vlan, mac), port in view.learned.items())
    others = ((entry.vlan, entry.mac, entry.port, entry.status) for entry in switch.entries)
    for vlan, mac, port, status in (*learned, *others):
        index = f"{fdb_ids[vlan]}.{mac_arcs(mac)}"
        yield f"{base}2.1.2.{index}", INTEGER, str(base_port(switch, switch.port(port)))
        yield f"{base}2.1.3.{index}", INTEGER, str(_FDB_STATUS[status])


def _vlans(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    dialect = switch.dialect
    if dialect.vlan_table == "none":
        return
    base = "1.3.6.1.2.1.17.7.1.4."
    yield "1.3.6.1.2.1.17.7.1.1.4.0", GAUGE, str(len(switch.vlans))
    for ordinal, (vlan, name) in enumerate(switch.vlans, 1):
        egress = port_list(base_port(switch, p) for p in switch.ports if p.carries(vlan))
        untagged = port_list(base_port(switch, p) for p in switch.ports if p.vlan == vlan)
        if dialect.vlan_table == "current":
            index = f"{dialect.time_mark}.{vlan}"
            yield f"{base}2.1.3.{index}", GAUGE, str(dialect.mapped_fdb_id(vlan, ordinal))
            yield f"{base}2.1.4.{index}", HEX, egress
            yield f"{base}2.1.5.{index}", HEX, untagged
            yield f"{base}2.1.6.{index}", INTEGER, "2"
        yield f"{base}3.1.1.{vlan}", OCTETS, name
        yield f"{base}3.1.2.{vlan}", HEX, egress
        yield f"{base}3.1.4.{vlan}", HEX, untagged
        yield f"{base}3.1.5.{vlan}", INTEGER, "1"
    for port in switch.ports:
        yield f"{base}5.1.1.{base_port(switch, port)}", GAUGE, str(port.vlan)


def _vlans_of_the_maker(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    """The maker's own VLAN table, of agents with a bridge per VLAN: state operational(1), type ethernet(1)."""
    if not _per_vlan(switch):
        return
    for vlan, name in switch.vlans:
        index = f"1.{vlan}"  # management domain first
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.2.{index}", INTEGER, "1"
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.3.{index}", INTEGER, "1"
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.4.{index}", OCTETS, name


TABLES: tuple[Table, ...] = (_bridge, _spanning_tree, _forwarding_dot1d, _forwarding_dot1q, _vlans, _vlans_of_the_maker)
