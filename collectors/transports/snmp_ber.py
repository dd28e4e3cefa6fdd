"""SNMP messages as octets: the few shapes of ASN.1 BER that SNMP uses, written and read without ceremony.

A general ASN.1 library spends ten times as long per binding. What this reader does not expect, it does not guess
at: it raises `Unusual`, and `snmp_pysnmp` has a try with pysnmp's own decoder.

Sources: RFC 3417 section 8 (BER subset), RFC 3416 section 3 (PDUs), RFC 2578 section 7.1 (application types).
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

Oid = tuple[int, ...]
Value = int | bytes | Oid | None
"""Numbers of any SNMP type; octets of OCTET STRING, IpAddress and Opaque; object identifiers; None for NULL."""

GET, GET_NEXT, RESPONSE, GET_BULK, REPORT = 0xA0, 0xA1, 0xA2, 0xA5, 0xA8

INTEGER, OCTETS, NULL, OBJECT_ID, SEQUENCE = 0x02, 0x04, 0x05, 0x06, 0x30
_IP_ADDRESS, _COUNTER32, _GAUGE32, _TIME_TICKS, _OPAQUE = 0x40, 0x41, 0x42, 0x43, 0x44
_COUNTER64, _UINTEGER32 = 0x46, 0x47
_UNSIGNED = frozenset({_COUNTER32, _GAUGE32, _TIME_TICKS, _COUNTER64, _UINTEGER32})
_OCTETS = frozenset({OCTETS, _IP_ADDRESS, _OPAQUE})
NO_SUCH_OBJECT, NO_SUCH_INSTANCE, END_OF_MIB_VIEW = 0x80, 0x81, 0x82
FIRST_EXCEPTION = 0x80
"""Tags from here on stand in a value's place and say that there is none (RFC 3416 section 3)."""

_MAX_OID_OCTETS = 128 * 5
"""An OID has at most 128 sub-identifiers of 32 bits, seven to an octet (RFC 2578 section 3.5)."""


class Unusual(ValueError):
    """Octets that are not of the shapes known here."""


class Binding(NamedTuple):
    """One name and value as they came: content octets of the OID, tag and content octets of the value."""

    name: bytes
    tag: int
    content: bytes


class Pdu(NamedTuple):
    """One PDU. For a response `status` is error-status and `position` error-index."""

    kind: int
    request_id: int
    status: int
    position: int
    bindings: list[Binding]


def tlv(tag: int, content: bytes) -> bytes:
    """Tag, length and content."""
    size = len(content)
    if size < 0x80:
        return bytes((tag, size)) + content
    digits = size.to_bytes((size.bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(digits))) + digits + content


def integer(number: int) -> bytes:
    """An INTEGER, in as few octets as its sign allows."""
    return tlv(INTEGER, number.to_bytes(number.bit_length() // 8 + 1, "big", signed=True))


@lru_cache(maxsize=4096)
def oid_octets(oid: Oid) -> bytes:
    """The content octets of an object identifier; its first two arcs share one number."""
    octets = bytearray()
    for arc in (oid[0] * 40 + oid[1], *oid[2:]):
        groups = [arc & 0x7F]
        while arc := arc >> 7:
            groups.append(0x80 | arc & 0x7F)
        octets += bytes(reversed(groups))
    return bytes(octets)


def arcs(octets: bytes) -> Oid:
    """Sub-identifiers of content octets, first pair not split: what stands behind a column's own OID."""
    if octets.isascii():  # every arc below 128, as in most rows
        return tuple(octets)
    numbers = []
    number = 0
    for octet in octets:
        number = number << 7 | octet & 0x7F
        if octet < 0x80:
            numbers.append(number)
            number = 0
    return tuple(numbers)


def oid_arcs(octets: bytes) -> Oid:
    """The object identifier of content octets."""
    numbers = arcs(octets)
    if not numbers:
        return ()
    first = min(numbers[0] // 40, 2)
    return (first, numbers[0] - 40 * first, *numbers[1:])


def value_of(tag: int, content: bytes) -> Value:
    """What a binding says. Unsigned types are read without sign: some agents leave the leading zero octet out."""
    if tag in _OCTETS:
        return content
    if tag == INTEGER:
        return int.from_bytes(content, "big", signed=True)
    if tag in _UNSIGNED:
        return int.from_bytes(content, "big")
    return oid_arcs(content[:_MAX_OID_OCTETS]) if tag == OBJECT_ID else None


def request(kind: int, request_id: int, names: list[bytes], non_repeaters: int = 0, repetitions: int = 0) -> bytes:
    """A GET, GETNEXT or GETBULK for these names; the last two numbers are for GETBULK."""
    asked = b"".join(tlv(SEQUENCE, tlv(OBJECT_ID, name) + b"\x05\x00") for name in names)
    return tlv(kind, integer(request_id) + integer(non_repeaters) + integer(repetitions) + tlv(SEQUENCE, asked))


def header(data: bytes, at: int, tag: int) -> tuple[int, int]:
    """Where the content of the element at `at` starts and ends. Raises Unusual when it is not of that tag."""
    if data[at] != tag:
        raise Unusual(f"tag {data[at]:#x} where {tag:#x} belongs")
    return extent(data, at)


def extent(data: bytes, at: int) -> tuple[int, int]:
    """Where the content of the element at `at` starts and ends, whatever its tag."""
    size = data[at + 1]
    start = at + 2
    if size & 0x80:
        digits = size & 0x7F
        if not 1 <= digits <= 4:  # indefinite, or longer than any datagram
            raise Unusual("a length of unknown form")
        size = int.from_bytes(data[start : start + digits], "big")
        start += digits
    if start + size > len(data):
        raise Unusual("a length beyond the end")
    return start, start + size


def read_integer(data: bytes, at: int) -> tuple[int, int]:
    """The INTEGER at `at`, and where the next element starts."""
    start, end = header(data, at, INTEGER)
    if not 1 <= end - start <= 9:
        raise Unusual("an integer of no octets or too many")
    return int.from_bytes(data[start:end], "big", signed=True), end


def read_octets(data: bytes, at: int) -> tuple[bytes, int]:
    """The OCTET STRING at `at`, and where the next element starts."""
    start, end = header(data, at, OCTETS)
    return data[start:end], end


def read_pdu(data: bytes, at: int) -> Pdu:
    """The PDU at `at`. Raises Unusual for whatever is not one of the usual shapes."""
    try:
        kind = data[at]
        if not 0xA0 <= kind <= REPORT:
            raise Unusual(f"no PDU has tag {kind:#x}")
        start, end = extent(data, at)
        request_id, start = read_integer(data, start)
        status, start = read_integer(data, start)
        position, start = read_integer(data, start)
        start, last = header(data, start, SEQUENCE)
        if last != end:
            raise Unusual("something behind the bindings")
        return Pdu(kind, request_id, status, position, _bindings(data, start, end))
    except IndexError:
        raise Unusual("ends in the middle") from None


def _bindings(data: bytes, at: int, end: int) -> list[Binding]:
    """The inner loop of everything: some ten thousand bindings of a campus switch pass through here."""
    found: list[Binding] = []
    while at < end:
        if data[at] != SEQUENCE:
            raise Unusual("a binding that is no sequence")
        size = data[at + 1]
        if size < 0x80:
            at += 2
            stop = at + size
        else:
            at, stop = extent(data, at)
        size = data[at + 1]
        if data[at] != OBJECT_ID or not 0 < size < 0x80:
            start, at = header(data, at, OBJECT_ID)
            name = data[start:at]
            if len(name) > _MAX_OID_OCTETS:
                raise Unusual("an object identifier of too many arcs")
        else:
            name = data[at + 2 : at + 2 + size]
            at += 2 + size
        if not name or name[-1] & 0x80:
            raise Unusual("an object identifier without an end")
        tag = data[at]
        size = data[at + 1]
        if size < 0x80:
            at += 2
        else:
            at, _ = extent(data, at)
            size = stop - at
        if at + size != stop or stop > end:
            raise Unusual("a value that does not fill its binding")
        if (size > 9 and tag in _NUMBERS) or tag not in _KNOWN:
            raise Unusual(f"a value of tag {tag:#x} and {size} octets")
        found.append(Binding(name, tag, data[at:stop]))
        at = stop
    return found


_NUMBERS = _UNSIGNED | {INTEGER}
_KNOWN = _NUMBERS | _OCTETS | {NULL, OBJECT_ID, NO_SUCH_OBJECT, NO_SUCH_INSTANCE, END_OF_MIB_VIEW}
