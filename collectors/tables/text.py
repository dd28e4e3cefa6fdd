"""What octets mean that agents send as text, addresses and bits. Never raises: it is all hostile input."""

from __future__ import annotations

from ipaddress import IPv4Address, IPv6Address

from collectors.names import mac_from_octets, parse_mac
from collectors.snapshot import MAX_TEXT


def text(octets: bytes) -> str:
    """Octets as text: padding dropped, UTF-8, else GB 18030, else Latin-1; bounded by MAX_TEXT characters."""
    kept = octets[: 4 * MAX_TEXT].rstrip(b"\0 \t\r\n")
    for encoding in ("utf-8", "gb18030"):
        try:
            return kept.decode(encoding)[:MAX_TEXT]
        except UnicodeDecodeError:
            continue
    return kept.decode("latin-1")[:MAX_TEXT]


def many(count: int, one: str, more: str = "") -> str:
    """`1 port`, `2 ports`: a number with its noun, for reasons and oddities."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def is_utf8(octets: bytes) -> bool:
    """True when the text needed no guess."""
    try:
        octets.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def mac(octets: bytes) -> str | None:
    """A MAC of six octets, or one written out in ASCII, as some agents do."""
    found = mac_from_octets(octets)
    if found is None and 12 <= len(octets) <= 17 and octets.isascii():
        found = parse_mac(octets.decode("ascii"))
    return found


def mac_of_index(index: tuple[int, ...]) -> str | None:
    """The MAC that the last six arcs of an index spell."""
    tail = index[-6:]
    if len(tail) < 6 or max(tail) > 255:
        return None
    return bytes(tail).hex(":")


def ip(octets: bytes) -> str | None:
    """An IPv4 or IPv6 address of 4 or 16 octets."""
    if len(octets) == 4:
        return str(IPv4Address(octets))
    return str(IPv6Address(octets)) if len(octets) == 16 else None


def bits(octets: bytes) -> set[int]:
    """Numbers of the bits that are set; bit 0 is the most significant of the first octet (RFC 2579, BITS)."""
    return {8 * n + bit for n, octet in enumerate(octets) for bit in range(8) if octet & 0x80 >> bit}


def identifier(kind: str, octets: bytes) -> str:
    """A chassis or port id of LLDP: a MAC, an address, or text, by its kind and by what the octets can be.

    Kinds are the subtype names of 802.1AB; without one, six octets that are no printable text are a MAC.
    """
    if kind == "macAddress":
        return mac(octets) or (text(octets) if printable(octets) else octets.hex(":")[:MAX_TEXT])
    if kind == "networkAddress":
        family, rest = octets[:1], octets[1:]
        known = ip(rest) if family in (b"\1", b"\2") else None
        return known or ip(octets) or (text(octets) if printable(octets) else octets.hex(":")[:MAX_TEXT])
    if not kind and len(octets) == 6 and not printable(octets):
        return octets.hex(":")
    return text(octets)


def printable(octets: bytes) -> bool:
    """True for octets that are ASCII text, padding aside."""
    kept = octets.rstrip(b"\0 ")
    return bool(kept) and all(0x20 <= octet < 0x7F for octet in kept)
