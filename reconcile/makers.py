"""Who made a network card, from the IEEE registry that netaddr carries along: no look-up leaves the machine."""

from __future__ import annotations

from functools import lru_cache

from collectors.names import AddressKind, address_kind

LOCAL = "locally administered"
"""What is said of an address with the local bit set (IEEE 802, octet 0 bit 0x02): no registry knows its maker."""

_GUESTS = ("52:54:00", "00:50:56", "00:0c:29", "00:05:69", "00:15:5d", "00:16:3e", "08:00:27", "bc:24:11", "00:1c:42")
# How addresses begin that hypervisors give their guests: registered to their makers, 52:54:00 by convention (from
# memory).

_LONGEST_NAME = 60
_SUBDIVIDED = "IEEE Registration Authority"
# Holder of blocks that the IEEE hands out in parts of 2^20 and 2^12 addresses; netaddr does not carry those parts.


@lru_cache(maxsize=8192)
def maker_of(mac: str) -> str:
    """The maker of a canonical address, 'locally administered', what kind of address it is, or '' when unknown."""
    kind = address_kind(mac)
    if kind is AddressKind.DEVICE:
        return _registered(mac)
    if kind in (AddressKind.LOCAL, AddressKind.CLUSTER):
        return LOCAL
    return {AddressKind.VIRTUAL_GATEWAY: "virtual gateway", AddressKind.GROUP: "group address"}.get(kind, "")


def is_guest(mac: str) -> bool:
    """Whether a canonical address is one that hypervisors give their guests."""
    return mac.startswith(_GUESTS)


def _registered(mac: str) -> str:
    from netaddr import EUI, NotRegisteredError

    try:
        address = EUI(mac)
        name = str((address.iab or address.oui).registration()["org"])
    except NotRegisteredError:
        return ""
    if name == _SUBDIVIDED:
        return ""
    return name if len(name) <= _LONGEST_NAME else name[:_LONGEST_NAME].rpartition(" ")[0] + " …"
