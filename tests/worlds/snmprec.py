"""Writes what a switch knows as an `.snmprec` recording: `OID|TAG|VALUE` lines, sorted, for the real snmpsim.

Objects and enumerations are those of RFC 3418 (system), RFC 2863 (interfaces), RFC 4188 and 4363 (bridge), IEEE
802.1AB (LLDP, 2005 MIB with the 802.1 and MED extensions), RFC 3621 (power), RFC 3635 (Ethernet), RFC 4293
(addresses) and RFC 6933 (hardware).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from ipaddress import IPv4Address

from tests.worlds.model import Advert, Port, Switch, World, count_up
from tests.worlds.observe import View, switch_advert

Row = tuple[str, str, str]  # OID below the table's prefix, tag, value
Oid = tuple[int, ...]

# ASN.1 tags in decimal, as snmpsim writes them.
INTEGER, OCTETS, HEX, OID, IP, COUNTER, GAUGE, TICKS, COUNTER64 = "2", "4", "4x", "6", "64", "65", "66", "67", "70"

UPTIME = 8_640_000  # 1/100 s: one day
SINCE_CHANGE = 4_320_000  # 1/100 s after start-up at which every port took its present state
AGING_SECONDS = 300  # RFC 4188 dot1dTpAgingTime, default
WATTS_PER_BOX = 185  # what a 24-port supply gives

_CHASSIS_KIND = {"interfaceAlias": 2, "macAddress": 4, "networkAddress": 5, "interfaceName": 6, "local": 7}
_PORT_KIND = {"interfaceAlias": 1, "macAddress": 3, "networkAddress": 4, "interfaceName": 5, "local": 7}
_CAPABILITY_BIT = {"other": 0, "repeater": 1, "bridge": 2, "wlanAccessPoint": 3, "router": 4, "telephone": 5}
_CAPABILITY_BIT |= {"docsisCableDevice": 6, "stationOnly": 7}
_FDB_STATUS = {"other": 1, "invalid": 2, "learned": 3, "self": 4, "mgmt": 5}  # RFC 4188 dot1dTpFdbStatus
_MAU = {10: 11, 100: 16, 1000: 30, 10_000: 54}  # dot3MauType, full duplex on copper


def recording(world: World, switch: Switch, view: View) -> str:
    """The recording of one switch: its default SNMP context."""
    return _text(row for table in _TABLES for row in table(world, switch, view))


def _text(table: Iterable[Row]) -> str:
    rows: dict[Oid, str] = {}
    for oid, tag, value in table:
        key = tuple(map(int, oid.split(".")))
        if key in rows:
            raise ValueError(f"{oid} twice")
        rows[key] = f"{oid}|{tag}|{value}\n"
    return "".join(rows[key] for key in sorted(rows))


def recordings(world: World, views: dict[str, View]) -> dict[str, str]:
    """File name to text for every switch that answers, further contexts of VLANs included."""
    files: dict[str, str] = {}
    for switch in world.switches:
        if switch.answers:
            files[f"{switch.name}.snmprec"] = recording(world, switch, views[switch.name])
            for vlan, text in _contexts(switch, views[switch.name]).items():
                files[f"{switch.name}@{vlan}.snmprec"] = text
    return files


def _system(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    base = "1.3.6.1.2.1.1."
    yield base + "1.0", OCTETS, switch.dialect.descr
    yield base + "2.0", OID, switch.dialect.object_id
    yield base + "3.0", TICKS, str(UPTIME)
    yield base + "4.0", OCTETS, "it@saltmarsh.example"
    yield base + "5.0", OCTETS, switch.hostname
    yield base + "6.0", OCTETS, switch.location
    yield base + "7.0", INTEGER, "6" if switch.routes else "2"


def _interfaces(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    for port in switch.ports:
        up = port.name in view.up
        yield from _interface(
            _if_index(switch, port),
            name=port.name,
            descr=switch.dialect.descr_of(port.number),
            if_type=6,
            mac=switch.port_mac(port),
            admin=1 if port.admin_up else 2,
            oper=1 if up else 2,
            speed=view.up.get(port.name, 0),
            alias=port.alias,
            connector=True,
        )
    for index, name, if_type in switch.dialect.extra_interfaces:
        yield from _interface(
            index,
            name=name,
            descr=name,
            if_type=if_type,
            mac="" if if_type == 24 else switch.mac,
            admin=1,
            oper=2 if if_type == 6 else 1,
            speed=0 if if_type in (6, 24) else 1000,
            alias="",
            connector=if_type == 6,
        )


def _interface(
    index: int, *, name: str, descr: str, if_type: int, mac: str, admin: int, oper: int, speed: int, alias: str,
    connector: bool,
) -> Iterator[Row]:  # fmt: skip
    octets = 1_000_000 + index * 4099 % 1_000_000 if oper == 1 else 0
    for column, tag, value in (
        (1, INTEGER, str(index)),
        (2, OCTETS, descr),
        (3, INTEGER, str(if_type)),
        (4, INTEGER, "1500"),
        (5, GAUGE, str(min(speed * 1_000_000, 4_294_967_295))),
        _octets_column(6, mac.replace(":", "")),
        (7, INTEGER, str(admin)),
        (8, INTEGER, str(oper)),
        (9, TICKS, str(SINCE_CHANGE)),
        (10, COUNTER, str(octets)),
        (14, COUNTER, "0"),
        (16, COUNTER, str(octets // 2)),
        (20, COUNTER, "0"),
    ):
        yield f"1.3.6.1.2.1.2.2.1.{column}.{index}", tag, value
    for column, tag, value in (
        (1, OCTETS, name),
        (6, COUNTER64, str(octets)),
        (10, COUNTER64, str(octets // 2)),
        (15, GAUGE, str(speed)),
        (17, INTEGER, "1" if connector else "2"),
        (18, OCTETS, alias),
    ):
        yield f"1.3.6.1.2.1.31.1.1.1.{column}.{index}", tag, value


def _octets_column(column: int, digits: str) -> tuple[int, str, str]:
    """An OCTET STRING in hex; snmpsim wants the plain tag for an empty one."""
    return (column, HEX, digits) if digits else (column, OCTETS, "")


def _contexts(switch: Switch, view: View) -> dict[int, str]:
    """What an agent with a bridge per VLAN says in the context of each VLAN; the default context is that of VLAN 1."""
    if not (_per_vlan(switch) and switch.dialect.serves_contexts):
        return {}
    return {vlan: _text([*_bridge_ports(switch, vlan), *_dot1d_rows(switch, view, vlan)]) for vlan, _ in switch.vlans}


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
            number = _base_port(switch, port)
            yield f"1.3.6.1.2.1.17.1.4.1.1.{number}", INTEGER, str(number)
            yield f"1.3.6.1.2.1.17.1.4.1.2.{number}", INTEGER, str(_if_index(switch, port))


def _spanning_tree(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    for port in switch.ports:
        if _per_vlan(switch) and not port.carries(1):
            continue
        state = 1 if port.name not in view.up else 2 if port.blocked else 5
        number = _base_port(switch, port)
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
            rows[mac] = (_base_port(switch, switch.port(port)), 3)
    for mac, (number, status) in rows.items():
        index = _mac_arcs(mac)
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
    own = f"{fdb_ids[switch.management_vlan]}.{_mac_arcs(switch.mac)}"
    yield f"{base}2.1.2.{own}", INTEGER, "0"
    yield f"{base}2.1.3.{own}", INTEGER, "4"
    learned = ((vlan, mac, port, "learned") for (vlan, mac), port in view.learned.items())
    others = ((entry.vlan, entry.mac, entry.port, entry.status) for entry in switch.entries)
    for vlan, mac, port, status in (*learned, *others):
        index = f"{fdb_ids[vlan]}.{_mac_arcs(mac)}"
        yield f"{base}2.1.2.{index}", INTEGER, str(_base_port(switch, switch.port(port)))
        yield f"{base}2.1.3.{index}", INTEGER, str(_FDB_STATUS[status])


def _vlans(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    dialect = switch.dialect
    if dialect.vlan_table == "none":
        return
    base = "1.3.6.1.2.1.17.7.1.4."
    yield "1.3.6.1.2.1.17.7.1.1.4.0", GAUGE, str(len(switch.vlans))
    for ordinal, (vlan, name) in enumerate(switch.vlans, 1):
        egress = _port_list(_base_port(switch, p) for p in switch.ports if p.carries(vlan))
        untagged = _port_list(_base_port(switch, p) for p in switch.ports if p.vlan == vlan)
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
        yield f"{base}5.1.1.{_base_port(switch, port)}", GAUGE, str(port.vlan)


def _vlans_of_the_maker(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    """The maker's own VLAN table, of agents with a bridge per VLAN: state operational(1), type ethernet(1)."""
    if not _per_vlan(switch):
        return
    for vlan, name in switch.vlans:
        index = f"1.{vlan}"  # management domain first
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.2.{index}", INTEGER, "1"
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.3.{index}", INTEGER, "1"
        yield f"1.3.6.1.4.1.9.9.46.1.3.1.1.4.{index}", OCTETS, name


def _lldp_local(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    if not (switch.dialect.lldp and switch.dialect.serves_lldp):
        return
    base = "1.0.8802.1.1.2.1.3."
    yield base + "1.0", INTEGER, str(_CHASSIS_KIND["macAddress"])
    yield base + "2.0", HEX, switch.mac.replace(":", "")
    yield base + "3.0", OCTETS, switch.hostname
    yield base + "4.0", OCTETS, switch.dialect.descr
    for port in switch.ports:
        advert = switch_advert(switch, port)
        number = _lldp_number(switch, port)
        yield f"{base}7.1.2.{number}", INTEGER, str(_PORT_KIND[advert.port_kind])
        yield f"{base}7.1.3.{number}", *_identifier(advert.port_kind, advert.port_id)
        yield f"{base}7.1.4.{number}", OCTETS, advert.port_description


def _lldp_remote(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    if not (switch.dialect.lldp and switch.dialect.serves_lldp):
        return
    remote = 0
    for port in switch.ports:
        for advert in view.heard.get(port.name, ()):
            remote += 1
            index = f"{switch.dialect.time_mark}.{_lldp_number(switch, port)}.{remote}"
            yield from _neighbour(index, advert)


def _neighbour(index: str, advert: Advert) -> Iterator[Row]:
    base = "1.0.8802.1.1.2.1.4.1.1."
    bits = _bits(_CAPABILITY_BIT[word] for word in advert.capabilities)
    yield f"{base}4.{index}", INTEGER, str(_CHASSIS_KIND[advert.chassis_kind])
    yield f"{base}5.{index}", *_identifier(advert.chassis_kind, advert.chassis_id)
    yield f"{base}6.{index}", INTEGER, str(_PORT_KIND[advert.port_kind])
    yield f"{base}7.{index}", *_identifier(advert.port_kind, advert.port_id)
    yield f"{base}8.{index}", OCTETS, advert.port_description
    yield f"{base}9.{index}", OCTETS, advert.system_name
    yield f"{base}10.{index}", OCTETS, advert.system_description
    yield f"{base}11.{index}", HEX, bits
    yield f"{base}12.{index}", HEX, bits
    if advert.management_address:
        # index: subtype ipV4(1), length 4, the address; the columns say where it is: ifIndex(2)
        address = f"{index}.1.4.{advert.management_address}"
        yield f"1.0.8802.1.1.2.1.4.2.1.3.{address}", INTEGER, "2"
        yield f"1.0.8802.1.1.2.1.4.2.1.4.{address}", INTEGER, "1"
        yield f"1.0.8802.1.1.2.1.4.2.1.5.{address}", OID, "0.0"
    if advert.pvid is not None:
        yield f"1.0.8802.1.1.2.1.5.32962.1.3.1.1.1.{index}", INTEGER, str(advert.pvid)
    for column, text in ((4, advert.serial), (5, advert.maker), (6, advert.model)):  # MED inventory
        if text:
            yield f"1.0.8802.1.1.2.1.5.4795.1.3.3.1.{column}.{index}", OCTETS, text


def _power(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    """pethPsePortTable and pethMainPseTable; group 1 as on a fixed box (RFC 3621)."""
    supplying = [port for port in switch.ports if port.supplies_power]
    if not supplying:
        return
    base = "1.3.6.1.2.1.105.1.1.1."
    for port in supplying:
        watts = view.draws.get(port.name, 0.0)
        yield f"{base}3.1.{port.number}", INTEGER, "1"
        yield f"{base}6.1.{port.number}", INTEGER, "3" if watts else "2"  # deliveringPower, searching
        yield f"{base}7.1.{port.number}", INTEGER, "3"  # low
        yield f"{base}10.1.{port.number}", INTEGER, str(_power_class(watts) + 1)  # coded as class + 1
    main = "1.3.6.1.2.1.105.1.3.1.1."
    yield main + "2.1", GAUGE, str(WATTS_PER_BOX)
    yield main + "3.1", INTEGER, "1"
    yield main + "4.1", GAUGE, str(round(sum(view.draws.values())))
    yield main + "5.1", INTEGER, "80"


def _power_class(watts: float) -> int:
    """The class whose power at the supply covers the draw: 1: 4 W, 2: 7 W, 3: 15.4 W, 4: 30 W (IEEE 802.3)."""
    return next((number for number, most in ((1, 4.0), (2, 7.0), (3, 15.4)) if watts <= most), 4)


def _ethernet(_world: World, switch: Switch, view: View) -> Iterator[Row]:
    """dot3StatsTable and ifMauTable: error counters and duplex of every port."""
    base = "1.3.6.1.2.1.10.7.2.1."
    for port in switch.ports:
        index = _if_index(switch, port)
        for column in (2, 3, 8):  # alignment errors, FCS errors, late collisions
            yield f"{base}{column}.{index}", COUNTER, "0"
        yield f"{base}19.{index}", INTEGER, "3" if port.name in view.up else "1"
        if port.name in view.up:
            mau = f"1.3.6.1.2.1.26.4.{_MAU[view.up[port.name]]}"
            yield f"1.3.6.1.2.1.26.2.1.1.3.{index}.1", OID, mau


def _addresses(world: World, switch: Switch, view: View) -> Iterator[Row]:
    """ipNetToMediaTable of a switch that routes: every address that it has heard of."""
    if not switch.routes:
        return
    interface = next((index for index, _, if_type in switch.dialect.extra_interfaces if if_type in (53, 135, 136)), 1)
    heard = {mac for _, mac in view.learned}
    known = {s.ip: s.mac for box in world.boxes for s in box.stations if s.ip and s.mac in heard}
    for ip, mac in known.items():
        index = f"{interface}.{ip}"
        yield f"1.3.6.1.2.1.4.22.1.1.{index}", INTEGER, str(interface)
        yield f"1.3.6.1.2.1.4.22.1.2.{index}", HEX, mac.replace(":", "")
        yield f"1.3.6.1.2.1.4.22.1.3.{index}", IP, str(IPv4Address(ip))
        yield f"1.3.6.1.2.1.4.22.1.4.{index}", INTEGER, "3"  # dynamic


def _hardware(_world: World, switch: Switch, _view: View) -> Iterator[Row]:
    base = "1.3.6.1.2.1.47.1.1.1.1."
    serial = "SM" + count_up(switch.mac, 7).replace(":", "").upper()[-8:]
    for column, tag, value in (
        (2, OCTETS, switch.dialect.model),
        (4, INTEGER, "0"),
        (5, INTEGER, "3"),  # chassis
        (6, INTEGER, "-1"),
        (7, OCTETS, "chassis"),
        (11, OCTETS, serial),
        (13, OCTETS, switch.dialect.model),
    ):
        yield f"{base}{column}.1", tag, value


_TABLES: tuple[Callable[[World, Switch, View], Iterator[Row]], ...] = (
    _system,
    _interfaces,
    _bridge,
    _spanning_tree,
    _forwarding_dot1d,
    _forwarding_dot1q,
    _vlans,
    _vlans_of_the_maker,
    _lldp_local,
    _lldp_remote,
    _power,
    _ethernet,
    _addresses,
    _hardware,
)


def _if_index(switch: Switch, port: Port) -> int:
    return switch.dialect.if_index + port.number


def _base_port(switch: Switch, port: Port) -> int:
    return switch.dialect.base_port + port.number


def _lldp_number(switch: Switch, port: Port) -> int:
    by_index = switch.dialect.lldp_port_number == "ifIndex"
    return _if_index(switch, port) if by_index else _base_port(switch, port)


def _identifier(kind: str, value: str) -> tuple[str, str]:
    if kind == "macAddress":
        return HEX, value.replace(":", "")
    if kind == "networkAddress":  # one octet of IANA address family, then the address
        return HEX, "01" + IPv4Address(value).packed.hex()
    return OCTETS, value


def _mac_arcs(mac: str) -> str:
    return ".".join(str(int(octet, 16)) for octet in mac.split(":"))


def _port_list(numbers: Iterable[int]) -> str:
    """RFC 4363 PortList in hex: octet 1 holds ports 1 to 8, the lowest in the most significant bit."""
    listed = set(numbers)
    octets = bytearray((max(listed, default=1) + 7) // 8)
    for number in listed:
        octets[(number - 1) // 8] |= 0x80 >> (number - 1) % 8
    return octets.hex()


def _bits(numbers: Iterable[int]) -> str:
    """SNMP BITS in hex: bit 0 is the most significant bit of the first octet."""
    octets = bytearray(2)
    for number in numbers:
        octets[number // 8] |= 0x80 >> number % 8
    return octets.hex()
