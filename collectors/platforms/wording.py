"""What every vendor words differently and means alike: states, speeds, duplex, VLANs, capabilities, kinds of entry.

What the words do not tell is None, never a guess.
"""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterable, Mapping
from typing import Any, Literal

from collectors.names import AddressKind, address_kind, parse_mac
from collectors.platforms.contract import Seen
from collectors.snapshot import MAX_TEXT, Address

UpDown = Literal["up", "down"]
PowerState = Literal["disabled", "searching", "deliveringPower", "fault", "test", "otherFault"]
Oper = Literal["up", "down", "testing", "unknown", "dormant", "notPresent", "lowerLayerDown"]


def text(said: Any) -> str:
    """A string that somebody else said: trimmed and bounded, otherwise as it was said."""
    return "" if said is None else str(said).strip().strip("\0")[:MAX_TEXT]


def labelled(answer: str, label: str) -> str:
    """The value behind `label :` in an answer that is a sheet of such pairs, up to the next column."""
    found = re.search(
        rf"^(?:.*\s\s)?\s*{label}\s*:[ \t]*(\S.*?)?(?:\s{{2,}}|\s*$)", answer, re.IGNORECASE | re.MULTILINE
    )
    return text(found.group(1)) if found else ""


def number(said: Any) -> int | None:
    """The whole number that `said` is, or None."""
    found = re.fullmatch(r"\s*(\d{1,19})\s*", str(said))
    return int(found.group(1)) if found else None


def mac(said: Any) -> str | None:
    """A usable address; all zeros stands for "none"."""
    parsed = parse_mac(str(said)) if said else None
    return None if parsed is None or address_kind(parsed) is AddressKind.NONE else parsed


def vlan_id(said: Any) -> int | None:
    """The VLAN that `said` starts with (`10`, `10/-/-`), when it is one: 1 to 4094 (IEEE 802.1Q)."""
    found = re.match(r"\s*(\d{1,5})\s*(?:$|/)", str(said))
    return int(found.group(1)) if found and 1 <= int(found.group(1)) <= 4094 else None


def vlan_names(rows: Iterable[tuple[Any, Any]]) -> dict[int, str]:
    """VLAN names by number, from pairs of both."""
    told = {vlan_id(vlan): text(name) for vlan, name in rows}
    return {vlan: name for vlan, name in told.items() if vlan}


def up_down(said: Any) -> UpDown | None:
    """`up`, `Up`, `UP(s)`, `*down` and the like."""
    found = re.search(r"up|down", str(said).lower())
    return None if found is None else ("up" if found.group() == "up" else "down")


PortState = Literal["disabled", "blocking", "listening", "learning", "forwarding", "broken"]

# dot1dStpPortState, and what command lines shorten it to.
_PORT_STATES: dict[str, PortState] = {
    "disabled": "disabled", "dis": "disabled", "disable": "disabled",
    "blocking": "blocking", "blk": "blocking", "block": "blocking", "discarding": "blocking", "dsc": "blocking",
    "listening": "listening", "lis": "listening", "listen": "listening",
    "learning": "learning", "lrn": "learning", "learn": "learning",
    "forwarding": "forwarding", "fwd": "forwarding", "forward": "forwarding",
    "broken": "broken", "bkn": "broken",
}  # fmt: skip


def port_state(said: Any) -> PortState | None:
    """State of a port in the spanning tree."""
    return _PORT_STATES.get(str(said).strip().lower())


_FACTOR = {"": 1, "m": 1, "g": 1000, "k": 0.001, "t": 1_000_000}


def speed_mbps(said: Any) -> int | None:
    """Mbit/s of `1000`, `a-1000`, `10G`, `100M`, `2.5Gbps`, `1000 Mb/s`, `100FDx`, `10GigFD`; None for `auto` and 0."""
    found = re.search(r"(?<![\w.])(?:a-)?(\d+(?:\.\d+)?)\s*([kmgt]?)", str(said).lower())
    if not found:
        return None
    value = round(float(found.group(1)) * _FACTOR[found.group(2)])
    return value or None


def duplex(said: Any) -> Literal["full", "half"] | None:
    """`Full`, `a-full`, `full-duplex`, `F(a)`, `100FDx`, `10GigFD`; None for `auto` and what is not told."""
    word = str(said).lower()
    if "full" in word or re.search(r"\d\s*(?:gig)?fd|^f(?:\(a\))?$", word):
        return "full"
    if "half" in word or re.search(r"\d\s*(?:gig)?hd|^h(?:\(a\))?$", word):
        return "half"
    return None


# IEEE 802.1AB system capabilities, by the names of LLDP-MIB LldpSystemCapabilitiesMap.
_CAPABILITIES = {
    "b": "bridge", "bridge": "bridge", "switch": "bridge", "transbridge": "bridge", "customerbridge": "bridge",
    "servicebridge": "bridge",
    "r": "router", "router": "router",
    "t": "telephone", "telephone": "telephone", "phone": "telephone",
    "w": "wlanAccessPoint", "wlan": "wlanAccessPoint", "wlanap": "wlanAccessPoint",
    "wlanaccesspoint": "wlanAccessPoint", "accesspoint": "wlanAccessPoint",
    "c": "docsisCableDevice", "docsis": "docsisCableDevice", "docsiscabledevice": "docsisCableDevice",
    "d": "docsisCableDevice",
    "p": "repeater", "repeater": "repeater",
    "s": "stationOnly", "h": "stationOnly", "host": "stationOnly", "station": "stationOnly",
    "stationonly": "stationOnly",
    "o": "other", "other": "other",
}  # fmt: skip


def capabilities(said: Any, letters: bool = False) -> list[str] | None:
    """Enabled capabilities from words or letters in any of the usual listings; None when not told.

    `letters`: the text may be a run of letters without anything between them (`BR`).
    """
    if said is None or "not advertised" in str(said).lower() or str(said).strip() in ("-", "--"):
        return None
    raw = str(said).strip()
    # "WLAN Access Point" is one capability, "bridge router" are two: blanks part words only where no comma does.
    parts = re.split(r"[,;]", raw) if re.search(r"[,;]", raw) else raw.split()
    if letters and len(parts) == 1 and re.fullmatch(r"[A-Z]{2,8}", raw):
        parts = list(raw)
    found: list[str] = []
    for part in parts:
        name = _CAPABILITIES.get(re.sub(r"[^a-z]", "", part.lower()))
        if name and name not in found:
            found.append(name)
    return found


# LLDP-MIB LldpChassisIdSubtype and LldpPortIdSubtype.
_ID_KINDS = {
    "macaddress": "macAddress", "mac": "macAddress",
    "networkaddress": "networkAddress", "ip": "networkAddress", "ipaddress": "networkAddress",
    "interfacename": "interfaceName", "ifname": "interfaceName",
    "interfacealias": "interfaceAlias", "ifalias": "interfaceAlias",
    "local": "local", "locallyassigned": "local",
    "chassiscomponent": "chassisComponent", "portcomponent": "portComponent",
    "agentcircuitid": "agentCircuitId",
}  # fmt: skip


def id_kind(said: Any) -> str:
    """The LLDP name of an identifier's subtype: `MAC address (4)`, `interfaceName`, `ifname`; empty when not told."""
    return _ID_KINDS.get(re.sub(r"\(.*|[^a-z]", "", str(said).lower()), "")


def identifier(said: Any, kind: str = "macAddress") -> str:
    """A chassis or port id: a MAC address in one spelling where it may be one, else the text."""
    word = text(said).strip('"')
    return (parse_mac(word) if kind in ("macAddress", "") else None) or word


def management_addresses(said: Iterable[Any]) -> list[str]:
    """The IP addresses (and MAC addresses, which a few devices advertise) among what was said."""
    found: list[str] = []
    for one in said:
        word = text(one)
        address = ip(word) or parse_mac(word)
        if address and address not in found:
            found.append(address)
    return found


def ip(said: Any) -> str | None:
    """An IPv4 or IPv6 address in its canonical spelling."""
    try:
        return str(ipaddress.ip_address(str(said).strip().partition("%")[0]))
    except ValueError:
        return None


def address_rows(rows: Iterable[tuple[Any, Any, Any]]) -> list[Address]:
    """Rows of (IP address, MAC address, port) that are complete; an entry still being resolved has no MAC address."""
    found = []
    for said_ip, said_mac, port in rows:
        address, station = ip(said_ip), mac(said_mac)
        if address and station and address_kind(station) is not AddressKind.GROUP:
            found.append(Address(ip=address, mac=station, port=text(port) or None))
    return found


# Names that MAC tables print in the port column for the switch itself, and for no port at all.
_OWN = re.compile(
    r"(?:cpu|router|switch|self|0|sup-eth\d*|management|mgmt cpu|local|internal|vlan ?\d+|vl\d+|vlanif\d+"
    r"|vlan-interface\d+|irb(?:\.\d+)?)(?:\(r\))?",
    re.IGNORECASE,
)
_NOWHERE = re.compile(r"(?:drop|-+|n/a|flood|all-members|none|blackhole|\(r\)|)", re.IGNORECASE)

# Words for the kind of an entry: stations that were seen (port security and 802.1X lock what they saw) ...
_LEARNED = re.compile(r"dynamic|learn|secur|sticky|authen|dot1x|mab|port-access|^d[a-z]*$|^$", re.IGNORECASE)
# ... addresses of the switch itself ...
_SELF = re.compile(r"self|system|cpu|router|interface|internal|management", re.IGNORECASE)
# ... and what somebody configured (dot1dTpFdbStatus mgmt).
_CONFIGURED = re.compile(r"static|permanent|config|^s[a-z]*$|^p$", re.IGNORECASE)


def seen(said_mac: Any, vlan: int | str | None, port: Any, kind: Any = "") -> list[Seen]:
    """A row of a MAC table as the sighting that it is: none for a group address, which is a filter and no station."""
    station = mac(said_mac)
    if station is None or address_kind(station) is AddressKind.GROUP:
        return []
    where, word = text(port), str(kind).strip()
    if _OWN.fullmatch(where):
        return [Seen(station, vlan, None, "self")]
    if _NOWHERE.fullmatch(where):
        return [Seen(station, vlan, None, "self" if _SELF.search(word) else "other")]
    return [Seen(station, vlan, where, _status(word))]


def _status(word: str) -> str:
    if _CONFIGURED.search(word) and not _LEARNED.search(word):
        return "mgmt"
    if _LEARNED.search(word):
        return "learned"
    return "self" if _SELF.search(word) else "other"


def as_if_name(name: str, port_words: Mapping[str, str]) -> str:
    """`GE1/0/1` as `GigabitEthernet1/0/1`, or the other way round: the word that the platform's ifName has.

    A bare number (`1/1/3`) has the word "".
    """
    found = re.match(r"([A-Za-z][A-Za-z\-]*)(?=\s?\d)|(?=[\d/]+$)", name)
    word = port_words.get(found.group(1) or "") if found else None
    return word + name[found.end() :].lstrip() if found and word else name
