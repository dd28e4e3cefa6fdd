"""One spelling for what every vendor spells differently: MAC addresses and port names.

Sources: IEEE 802 (group and local bit, octet 0 bits 0x01 and 0x02); IEEE 802.1Q table 8-1 (reserved group
addresses; from memory); RFC 9568 (VRRP virtual router MAC); RFC 2281 and vendors' manuals (HSRP, GLBP).
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import lru_cache

_HEX12 = re.compile(r"[0-9a-f]{12}")
_GROUPED = (
    re.compile(r"(?:[0-9a-f]{1,2}([:\- ]))(?:[0-9a-f]{1,2}\1){4}[0-9a-f]{1,2}"),  # 0:1a:2b:3c:4d:5e
    re.compile(r"[0-9a-f]{4}([.\-:])[0-9a-f]{4}\1[0-9a-f]{4}"),  # 001a.2b3c.4d5e
    re.compile(r"[0-9a-f]{6}([\-:.])[0-9a-f]{6}"),  # 001a2b-3c4d5e
)


class AddressKind(StrEnum):
    """What a MAC address can stand for, judged by its bits and published prefixes alone."""

    DEVICE = "device"  # universally administered unicast
    LOCAL = "local"  # locally administered unicast: randomised, virtual or set by hand
    VIRTUAL_GATEWAY = "virtual gateway"  # VRRP, HSRP, GLBP: moves between ports by design
    CLUSTER = "cluster"  # load-balancing clusters
    GROUP = "group"  # multicast or broadcast: never a station
    NONE = "none"  # all zero


_VIRTUAL_GATEWAY = re.compile(
    r"00:00:5e:00:0[12]:..|00:00:0c:07:ac:..|00:00:0c:9f:f.:..|00:05:73:a0:0.:..|00:07:b4:00:..:.."
)
_CLUSTER = re.compile(r"0[23]:bf:.*|02:(?:0[1-9a-f]|1[0-9a-f]|20):.*")
# A randomised address may start with 02:01 to 02:20 as well: read CLUSTER as "may be shared by several ports".


def parse_mac(text: str) -> str | None:
    """The address as `aa:bb:cc:dd:ee:ff`, or None when `text` is not a 48-bit address in a usual spelling.

    Accepts colons, hyphens, blanks, dots (three groups of four), two groups of six, twelve bare digits, `0x`
    in front, upper case, and groups without a leading zero where there are six of them.
    """
    raw = text.strip().lower().removeprefix("0x")
    if _HEX12.fullmatch(raw):
        return _colons(raw)
    for form in _GROUPED:
        found = form.fullmatch(raw)
        if found:
            groups = raw.split(found.group(1))
            return _colons("".join(g.zfill(12 // len(groups)) for g in groups))
    return None


def mac_from_octets(octets: bytes) -> str | None:
    """Six octets as `aa:bb:cc:dd:ee:ff`; None for any other length."""
    return octets.hex(":") if len(octets) == 6 else None


def mac_to_int(mac: str) -> int:
    """`aa:bb:cc:dd:ee:ff` as a 48-bit number, the form in which columns hold it."""
    return int(mac.replace(":", ""), 16)


def int_to_mac(number: int) -> str:
    """The inverse of `mac_to_int`."""
    return number.to_bytes(6, "big").hex(":")


def address_kind(mac: str) -> AddressKind:
    """Classifies a canonical address. Virtual-gateway prefixes go before the bits: their local bit is clear."""
    if mac == "00:00:00:00:00:00":
        return AddressKind.NONE
    if _VIRTUAL_GATEWAY.fullmatch(mac):
        return AddressKind.VIRTUAL_GATEWAY
    if _CLUSTER.fullmatch(mac):
        return AddressKind.CLUSTER
    first = int(mac[:2], 16)
    if first & 0x01:
        return AddressKind.GROUP
    return AddressKind.LOCAL if first & 0x02 else AddressKind.DEVICE


def _colons(digits: str) -> str:
    return ":".join(digits[i : i + 2] for i in range(0, 12, 2))


# Short and long forms that vendors use for one interface type; the short one is the key.
_PORT_WORDS = {
    "fastethernet": "fa", "fasteth": "fa", "fas": "fa", "fe": "fa",
    "gigabitethernet": "gi", "gigaethernet": "gi", "gige": "gi", "gig": "gi", "ge": "gi",
    "twogigabitethernet": "tw", "two": "tw", "fivegigabitethernet": "fi", "fiv": "fi",
    "tengigabitethernet": "te", "ten-gigabitethernet": "te", "xgigabitethernet": "te",
    "xge": "te", "ten": "te", "tengige": "te", "xgei": "te",
    "twentyfivegige": "twe", "twentyfivegigabitethernet": "twe", "twenty-fivegige": "twe", "25ge": "twe",
    "fortygigabitethernet": "fo", "fortygige": "fo", "forty": "fo", "40ge": "fo",
    "hundredgige": "hu", "hundredgigabitethernet": "hu", "100ge": "hu",
    "ethernet": "eth", "et": "eth", "etherport": "eth",
    "port-channel": "po", "portchannel": "po", "port-ch": "po",
    "management": "mgmt", "ma": "mgmt",
    "fge": "fo", "hge": "hu", "wge": "twe", "m-gigabitethernet": "mge",
    "bridge-aggregation": "bagg", "route-aggregation": "ragg",
    "vlan-interface": "vl", "vlanif": "vl", "vlan": "vl", "loopback": "lo", "loop": "lo",
    "interface": "", "port": "", "slot": "",
}  # fmt: skip
_PORT_FORM = re.compile(r"([a-z][a-z\-]*?|\d+ge)?[\s_]*(\d[\d/.:_]*)?")


@lru_cache(maxsize=1 << 14)  # a campus has many ports and few names
def port_key(name: str) -> str:
    """A key under which the usual spellings of one port name meet: `GigabitEthernet1/0/1`, `Gi 1/0/1`, `gi1/0/1`.

    Meant for matching names inside one switch, where a key must lead to one port or be treated as unmatched;
    two different ports of a switch may share a key (`Ethernet1` and `eth1`).
    """
    text = " ".join(name.strip().strip("\0").lower().split())
    found = _PORT_FORM.fullmatch(text)
    if not found:
        return text.replace(" ", "")
    word, number = found.group(1) or "", found.group(2) or ""
    return _PORT_WORDS.get(word, word) + number
