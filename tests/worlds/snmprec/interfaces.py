"""The rest: system (RFC 3418), interfaces (RFC 2863), Ethernet (RFC 3635), power (RFC 3621), addresses, hardware."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Address

from tests.worlds.model import Switch, World, count_up
from tests.worlds.observe import View
from tests.worlds.snmprec.rows import (
    COUNTER,
    COUNTER64,
    GAUGE,
    HEX,
    INTEGER,
    IP,
    OCTETS,
    OID,
    SINCE_CHANGE,
    TICKS,
    UPTIME,
    WATTS_PER_BOX,
    Row,
    Table,
    if_index,
)

_MAU = {10: 11, 100: 16, 1000: 30, 10_000: 54}  # dot3MauType, full duplex on copper


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
            if_index(switch, port),
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
        index = if_index(switch, port)
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


TABLES: tuple[Table, ...] = (_system, _interfaces, _power, _ethernet, _addresses, _hardware)
