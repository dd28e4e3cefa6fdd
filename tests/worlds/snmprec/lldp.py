"""LLDP-MIB (IEEE 802.1AB-2005) with the 802.1 and LLDP-MED extensions: what a switch says and hears."""

from __future__ import annotations

from collections.abc import Iterator
from ipaddress import IPv4Address

from tests.worlds.model import Advert, Port, Switch, World
from tests.worlds.observe import View, switch_advert
from tests.worlds.snmprec.rows import HEX, INTEGER, OCTETS, OID, Row, Table, base_port, bits, if_index

_CHASSIS_KIND = {"interfaceAlias": 2, "macAddress": 4, "networkAddress": 5, "interfaceName": 6, "local": 7}
_PORT_KIND = {"interfaceAlias": 1, "macAddress": 3, "networkAddress": 4, "interfaceName": 5, "local": 7}
_CAPABILITY_BIT = {"other": 0, "repeater": 1, "bridge": 2, "wlanAccessPoint": 3, "router": 4, "telephone": 5}
_CAPABILITY_BIT |= {"docsisCableDevice": 6, "stationOnly": 7}


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
    capabilities = bits(_CAPABILITY_BIT[word] for word in advert.capabilities)
    yield f"{base}4.{index}", INTEGER, str(_CHASSIS_KIND[advert.chassis_kind])
    yield f"{base}5.{index}", *_identifier(advert.chassis_kind, advert.chassis_id)
    yield f"{base}6.{index}", INTEGER, str(_PORT_KIND[advert.port_kind])
    yield f"{base}7.{index}", *_identifier(advert.port_kind, advert.port_id)
    yield f"{base}8.{index}", OCTETS, advert.port_description
    yield f"{base}9.{index}", OCTETS, advert.system_name
    yield f"{base}10.{index}", OCTETS, advert.system_description
    yield f"{base}11.{index}", HEX, capabilities
    yield f"{base}12.{index}", HEX, capabilities
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


def _lldp_number(switch: Switch, port: Port) -> int:
    by_index = switch.dialect.lldp_port_number == "ifIndex"
    return if_index(switch, port) if by_index else base_port(switch, port)


def _identifier(kind: str, value: str) -> tuple[str, str]:
    if kind == "macAddress":
        return HEX, value.replace(":", "")
    if kind == "networkAddress":  # one octet of IANA address family, then the address
        return HEX, "01" + IPv4Address(value).packed.hex()
    return OCTETS, value


TABLES: tuple[Table, ...] = (_lldp_local, _lldp_remote)
