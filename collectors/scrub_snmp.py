"""What may leave in a recording of SNMP rows: per object, what its value is and what its index holds.

Objects are those of `tables.mib`. One that is not listed here and holds text is replaced whole: whoever adds an
object and forgets this file loses a text, and gives nothing away.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from collectors.scrub import Scrubber

Index = tuple[int, ...]

_OCTET_STRING, _IP_ADDRESS, _OPAQUE = 0x04, 0x40, 0x44  # RFC 2578 section 7.1


class Variable(NamedTuple):
    """One variable as it came: object and instance of its OID, tag and content octets of its value (BER)."""

    name: str
    instance: Index
    tag: int
    content: bytes


_WORDS: dict[str, str] = {
    **dict.fromkeys(("sysName", "lldpLocSysName", "lldpRemSysName", "lldpV2RemSysName"), "name"),
    **dict.fromkeys(("cdpCacheDeviceId", "cdpCacheSysName"), "name"),
    **dict.fromkeys(("entPhysicalSerialNum", "lldpXMedRemSerialNum"), "serial"),
    **dict.fromkeys(("dot1qVlanStaticName", "vtpVlanName", "jnxL2aldVlanName"), "vlan"),
    "sysLocation": "place",
    "ifAlias": "alias",
}
"""Short texts that are replaced whole, with the word that stands for them."""

_PORTS = {
    "ifDescr", "ifName", "lldpLocPortDesc", "lldpRemPortDesc", "lldpV2RemPortDesc", "cdpCacheDevicePort",
    "entPhysicalName",
}  # fmt: skip
_PROSE = {
    "sysDescr", "lldpRemSysDesc", "lldpV2RemSysDesc", "cdpCacheVersion", "cdpCachePlatform", "entPhysicalDescr",
    "entPhysicalModelName", "lldpXMedRemMfgName", "lldpXMedRemModelName",
}  # fmt: skip
_BITS = {"lldpRemSysCapEnabled", "lldpV2RemSysCapEnabled", "cdpCacheCapabilities"}
_MACS = {"ifPhysAddress", "dot1dBaseBridgeAddress", "ipNetToMediaPhysAddress", "ipNetToPhysicalPhysAddress"}

_MAC, _ADDRESS, _PORT_NAME = "mac", "address", "port"
_CHASSIS_KINDS = {4: _MAC, 5: _ADDRESS, 6: _PORT_NAME}
_PORT_KINDS = {3: _MAC, 4: _ADDRESS, 5: _PORT_NAME, 7: _PORT_NAME}
_IDENTIFIERS: dict[str, Mapping[int, str]] = {
    **dict.fromkeys(("lldpLocChassisId", "lldpRemChassisId", "lldpV2RemChassisId"), _CHASSIS_KINDS),
    **dict.fromkeys(("lldpLocPortId", "lldpRemPortId", "lldpV2RemPortId"), _PORT_KINDS),
}
"""Identifiers of IEEE 802.1AB by the value of `<object>Subtype`; a kind that is not listed is a name."""


class Rewriter:
    """Scrubs the variables of one recording: all are learned first, then given out one by one."""

    def __init__(self, scrubber: Scrubber, variables: Iterable[Variable]) -> None:
        self._scrubber = scrubber
        self._variables = list(variables)
        self._subtypes = {
            (variable.name.removesuffix("Subtype"), variable.instance): int.from_bytes(variable.content, "big")
            for variable in self._variables
            if variable.name.endswith("Subtype")
        }
        self.left_out = 0
        """Rows whose index should hold an address and does not: they cannot be scrubbed."""
        for variable in self._variables:
            if variable.tag == _OCTET_STRING and (variable.name in _WORDS or variable.name in _IDENTIFIERS):
                self._value(variable)

    def variables(self) -> Iterator[Variable]:
        """Every variable, scrubbed."""
        for variable in self._variables:
            index = _index_of(variable.name, variable.instance, self._scrubber)
            if index is None:
                self.left_out += 1
            else:
                yield variable._replace(instance=index, content=self._value(variable))

    def _value(self, variable: Variable) -> bytes:
        name, content, scrubber = variable.name, variable.content, self._scrubber
        if variable.tag == _IP_ADDRESS or name == "cdpCacheAddress":
            return _address(content, scrubber)
        if variable.tag not in (_OCTET_STRING, _OPAQUE) or not content or (name in _BITS and len(content) <= 4):
            return content
        if name in _MACS and len(content) == 6:
            return scrubber.octets(content)
        if name in _IDENTIFIERS:
            kind = _IDENTIFIERS[name].get(self._subtypes.get((name, variable.instance), 0), "")
            return _identifier(content, kind, scrubber)
        if name in _WORDS:
            return _text(content, lambda text: scrubber.word(_WORDS[name], text), scrubber)
        if name in _PORTS:
            return _text(content, scrubber.port, scrubber)
        if name in _PROSE:
            return _text(content, scrubber.text, scrubber)
        return _text(content, lambda text: scrubber.word("text", text), scrubber)


def _identifier(content: bytes, kind: str, scrubber: Scrubber) -> bytes:
    if kind == _ADDRESS and content[0] in (1, 2):  # IANA address family number before the address
        return content[:1] + _address(content[1:], scrubber)
    if kind == _MAC and len(content) == 6:
        return scrubber.octets(content)
    if kind == _PORT_NAME:
        return _text(content, scrubber.port, scrubber)
    return _text(content, lambda text: scrubber.word("name", text), scrubber)


def _text(content: bytes, scrub: Callable[[str], str], scrubber: Scrubber) -> bytes:
    """Text by `scrub`, other octets as octets. Text is UTF-8, else any octets without control characters."""
    for codec in ("utf-8", "latin-1"):
        try:
            text = content.decode(codec)
        except UnicodeDecodeError:
            continue
        core = text.strip("\0")
        if core and all(char.isprintable() or char in "\t\r\n\xa0" for char in core):
            return scrub(text).encode(codec, "replace")
    return scrubber.octets(content) if content.strip(b"\0") else content


def _address(content: bytes, scrubber: Scrubber) -> bytes:
    if len(content) not in (4, 16):
        return scrubber.octets(content)
    return ipaddress.ip_address(scrubber.address(str(ipaddress.ip_address(content)))).packed


def _index_of(name: str, index: Index, scrubber: Scrubber) -> Index | None:
    """The index with the address in it replaced; None when the index of such a table holds none."""
    at = _ADDRESS_AT.get(name)
    if at is None:
        return index
    kind, start = at
    if kind == _MAC:
        return _swapped(index, start, 6, scrubber.octets)
    if kind == "IPv4":
        return _swapped(index, start, 4, lambda octets: _address(octets, scrubber))
    # Length-prefixed; some agents forget the length (recorded), and their rows are told by what is left.
    family, rest = index[start - 1 : start], index[start:]
    if not family or not rest:
        return None
    if rest[0] == len(rest) - 1:
        start += 1
    length = len(index) - start
    if family[0] in (1, 2) and length not in (4, 16):
        return None
    return _swapped(index, start, length, lambda octets: _address(octets, scrubber))


def _swapped(index: Index, start: int, length: int, swap: Callable[[bytes], bytes]) -> Index | None:
    octets = index[start : start + length]
    if len(octets) != length or len(index) != start + length or max(octets, default=0) > 255:
        return None
    return index[:start] + tuple(swap(bytes(octets)))


_ADDRESS_AT: dict[str, tuple[str, int]] = {
    **dict.fromkeys(("dot1dTpFdbPort", "dot1dTpFdbStatus"), (_MAC, 0)),
    **dict.fromkeys(("dot1qTpFdbPort", "dot1qTpFdbStatus"), (_MAC, 1)),
    **dict.fromkeys(("ieee8021QBridgeTpFdbPort", "ieee8021QBridgeTpFdbStatus"), (_MAC, 2)),
    **dict.fromkeys(("ipNetToMediaPhysAddress", "ipNetToMediaType"), ("IPv4", 1)),
    **dict.fromkeys(("ipNetToPhysicalPhysAddress", "ipNetToPhysicalType", "ipNetToPhysicalState"), (_ADDRESS, 2)),
    "lldpRemManAddrIfSubtype": (_ADDRESS, 4),
    "lldpV2RemManAddrIfSubtype": (_ADDRESS, 5),
}
"""Objects whose index holds an address: of what kind, and from which arc on."""
