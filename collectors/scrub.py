"""Replaces what must not be shown to strangers: addresses, names, serial numbers, places. Consistently, and for good.

One `Scrubber` gives the same replacement for the same input, whatever the spelling, so that tables still join. Its
key is random and kept nowhere: replacements cannot be computed back. What stays: the maker's half of a MAC address
(the OUI, with its group and local bits), virtual gateway and reserved addresses, names of ports, VLAN numbers.
"""

from __future__ import annotations

import hashlib
import ipaddress
import re
import secrets
from collections.abc import Callable
from itertools import count

from collectors.names import AddressKind, address_kind, parse_mac

_MAC = re.compile(
    r"(?<![0-9A-Za-z:.\-])(?:"
    r"[0-9A-Fa-f]{2}(?P<pair>[:\- ])(?:[0-9A-Fa-f]{2}(?P=pair)){4}[0-9A-Fa-f]{2}"
    r"|[0-9A-Fa-f]{4}(?P<four>[.\-:])[0-9A-Fa-f]{4}(?P=four)[0-9A-Fa-f]{4}"
    r"|[0-9A-Fa-f]{6}-[0-9A-Fa-f]{6}|[0-9A-Fa-f]{12}"
    r")(?![0-9A-Za-z:\-])"
)
_IPV4 = re.compile(r"(?<![\d.])(?:\d{1,3}\.){3}\d{1,3}(?![\d.])")
_IPV6 = re.compile(r"(?<![0-9A-Za-z:.])(?:[0-9A-Fa-f]{0,4}:){2,7}[0-9A-Fa-f]{0,4}(?![0-9A-Za-z:])")
_MASKS = frozenset(str(ipaddress.ip_network(f"0.0.0.0/{bits}").netmask) for bits in range(33))
_NO_ONE_S = ("ff:ff:ff:ff:ff:ff", "01:80:c2", "01:00:0c")  # broadcast, IEEE 802.1 and CDP: the same everywhere

_PORT = re.compile(r"(?:[a-z]{1,20}-?){0,3}\d[\d/.:_\-]*", re.IGNORECASE)
_NUMBERS = re.compile(r"[\d/.:_\-]+")
_PORT_WORDS = {
    "port", "ports", "unit", "slot", "module", "member", "stack", "on", "of", "ethernet", "fastethernet",
    "gigabitethernet", "interface", "trunk", "lag", "lo", "vlan", "bridge-aggregation", "port-channel", "loopback",
    "management", "mgmt", "oobm", "null", "console", "cpu", "tunnel", "bridge", "aggregate", "fiber", "copper",
    "gigabit", "10-gigabit", "sfp", "combo", "uplink", "chassis", "switch", "power", "supply", "fan", "tray",
    "sensor", "board", "engine",
}  # fmt: skip

_USUAL_VLAN = re.compile(
    r"default|default_vlan|vlan[ _-]?\d+|(?:fddi|fddinet|trnet|token-ring|trcrf|trbrf)-default", re.I
)
"""Names that VLANs have where nobody gave them one."""

_SHORTEST_WORD = 3
"""Characters of a name that is looked for inside other texts; shorter ones would be found everywhere."""


class Scrubber:
    """One consistent set of replacements.

    `text` replaces the names that `word` was given before: learn all names first, then scrub the prose.
    """

    def __init__(self) -> None:
        self._key = secrets.token_bytes(16)
        self._macs: dict[str, str] = {}
        self._given_macs: set[str] = set()
        self._addresses: dict[str, str] = {}
        self._words: dict[str, str] = {}
        self._counts: dict[str, int] = {}
        self._in_text: re.Pattern[str] | None = None

    def mac(self, mac: str) -> str:
        """A canonical MAC address. The OUI stays; of a locally administered one, its first octet alone."""
        kind = address_kind(mac)
        if kind in (AddressKind.NONE, AddressKind.VIRTUAL_GATEWAY) or mac.startswith(_NO_ONE_S):
            return mac
        if mac not in self._macs:
            self._macs[mac] = self._fresh(mac, 1 if kind in (AddressKind.LOCAL, AddressKind.CLUSTER) else 3)
            self._given_macs.add(self._macs[mac])
        return self._macs[mac]

    def _fresh(self, mac: str, keep: int) -> str:
        octets = bytes.fromhex(mac.replace(":", ""))
        for salt in count():
            mixed = hashlib.blake2b(octets + salt.to_bytes(4, "big"), key=self._key, digest_size=6).digest()
            fresh = (octets[:keep] + mixed[keep:]).hex(":")
            if fresh != mac and fresh not in self._given_macs:
                return fresh
        raise AssertionError("count() has no end")

    def octets(self, octets: bytes) -> bytes:
        """Octets that are no text: a MAC address where they are six, else noise of the same length."""
        if len(octets) == 6:
            return bytes.fromhex(self.mac(octets.hex(":")).replace(":", ""))
        noise = hashlib.blake2b(octets, key=self._key).digest()
        return (noise * (len(octets) // len(noise) + 1))[: len(octets)]

    def address(self, text: str) -> str:
        """An IP address: IPv4 into 198.18.0.0/15 (RFC 2544), IPv6 into 2001:db8::/32 (RFC 3849), which are no one's.

        Unspecified, loopback and multicast addresses and masks stay as they are.
        """
        try:
            given = ipaddress.ip_address(text)
        except ValueError:
            return text
        if given.is_unspecified or given.is_loopback or given.is_multicast or str(given) in _MASKS:
            return text
        if str(given) not in self._addresses:
            start = "198.18.0.0" if given.version == 4 else "fe80::" if given.is_link_local else "2001:db8::"
            number = self._count(f"IPv{given.version}")
            self._addresses[str(given)] = str(ipaddress.ip_address(start) + number)
        return self._addresses[str(given)]

    def word(self, kind: str, text: str) -> str:
        """A name, serial number, place or other short text as `kind-7`; NULs and blanks around it stay.

        A MAC or IP address is replaced as such. Of a full domain name, the host part is the same name.
        """
        core = text.strip(" \0\t\r\n")
        if not core or (kind == "vlan" and _USUAL_VLAN.fullmatch(core)):
            return text
        if _MAC.fullmatch(core) or _IPV4.fullmatch(core) or _IPV6.fullmatch(core):
            return text.replace(core, self._addresses_in(core))
        host, _, domain = core.partition(".") if kind == "name" else (core, "", "")
        known = self._words.get(core.lower()) or self._words.get(host.lower()) or f"{kind}-{self._count(kind)}"
        self._know(core, known)
        self._know(host, known)
        if "." in domain:
            self._know(domain, f"domain-{self._count('domain')}")
        return text.replace(core, known)

    def _know(self, word: str, replacement: str) -> None:
        if word.lower() not in self._words:
            self._words[word.lower()] = replacement
            self._in_text = None

    def port(self, text: str) -> str:
        """The name of a port stays where it looks like one; what people wrote behind it is a text of theirs."""
        core = text.strip(" \0")
        first, blank, rest = core.partition(" ")
        if not (_PORT.fullmatch(first) or first.rstrip(":,").lower() in _PORT_WORDS):
            return self.word("text", text)
        behind = [part.lower() for part in re.split(r"[\s,:]+", rest) if part]
        if all(_NUMBERS.fullmatch(part) or part in _PORT_WORDS for part in behind):
            return self.text(text)
        return text.replace(core, first + blank + self.word("text", rest))

    def text(self, text: str, *, aligned: bool = False) -> str:
        """Prose: every name learned so far, every MAC and every IP address in it.

        `aligned` keeps columns where they are: blanks behind a replacement make up for its length.
        """
        text = self._sub(self._pattern(), lambda found: self._words[found.lower()], text, aligned)
        return self._addresses_in(text, aligned)

    @staticmethod
    def _sub(pattern: re.Pattern[str], replace: Callable[[str], str], text: str, aligned: bool) -> str:
        def replaced(found: re.Match[str]) -> str:
            new, blanks = replace(found.group(1)), found.group(2)
            if not aligned or not blanks:
                return new + blanks
            return new + " " * max(1, len(found.group()) - len(new))

        return re.sub(rf"({pattern.pattern})( *)", replaced, text, flags=pattern.flags)

    def _pattern(self) -> re.Pattern[str]:
        if self._in_text is None:
            sought = (word for word in self._words if len(word) >= _SHORTEST_WORD and not word.isdecimal())
            words = sorted(sought, key=len, reverse=True)
            spelled = "|".join(map(re.escape, words)) or r"(?!)"
            self._in_text = re.compile(rf"(?<![0-9A-Za-z])(?:{spelled})(?![0-9A-Za-z])", re.IGNORECASE)
        return self._in_text

    def _addresses_in(self, text: str, aligned: bool = False) -> str:
        text = _MAC.sub(lambda found: self._respelled(found.group()), text)
        text = self._sub(_IPV4, self.address, text, aligned)
        return self._sub(_IPV6, self.address, text, aligned)

    def _respelled(self, spelled: str) -> str:
        """The replacement as the original was spelled. Twelve bare decimals are a MAC only where known as one."""
        mac = parse_mac(spelled)
        if mac is None or (spelled.isdecimal() and mac not in self._macs):
            return spelled
        digits = iter(self.mac(mac).replace(":", ""))
        respelled = "".join(next(digits) if char.isalnum() else char for char in spelled)
        return respelled.upper() if spelled.upper() == spelled else respelled

    def _count(self, kind: str) -> int:
        self._counts[kind] = self._counts.get(kind, 0) + 1
        return self._counts[kind]
