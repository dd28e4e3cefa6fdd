"""What stands around a PDU: version and community (RFC 1157, RFC 1901); for version 3 see `snmp_v3`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, Protocol

from pydantic import SecretStr

from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Pdu, Unusual, tlv

_VERSION_NUMBERS = {"1": 0, "2c": 1, "3": 3}

_USM_STATS = ber.oid_octets((1, 3, 6, 1, 6, 3, 15, 1, 1))
UNSUPPORTED_LEVEL, NOT_IN_TIME, UNKNOWN_USER, UNKNOWN_ENGINE, WRONG_DIGEST, CANNOT_DECRYPT = range(1, 7)
"""Last arcs below usmStats: what a report says (RFC 3414 section 5)."""


class Envelope(Protocol):
    """Makes messages of PDUs and PDUs of messages."""

    @property
    def ready(self) -> bool:
        """False while the first exchange has still to find out whom we talk to."""
        ...

    def wrap(self, kind: int, message_id: int, names: list[bytes], repetitions: int, context: str) -> bytes:
        """A message that asks; `context` selects a VLAN's own view of the bridge, empty for the usual one."""
        ...

    def unwrap(self, data: bytes) -> tuple[int, Pdu]:
        """The message id and the PDU of an answer. Raises Unusual when it is none, or none for us."""
        ...

    def context_for_vlan(self, vlan: int) -> str:
        """The context in which agents that keep a bridge per VLAN show that one."""
        ...


_UNKNOWN_CONTEXTS = ber.oid_octets((1, 3, 6, 1, 6, 3, 12, 1, 5))
UNKNOWN_CONTEXT = 100
"""Our number for the one report from elsewhere (snmpUnknownContexts, RFC 3413 section 4.1.1)."""


def report_of(pdu: Pdu) -> int:
    """Which of the usmStats counters a report carries, or UNKNOWN_CONTEXT, else 0."""
    name = pdu.bindings[0].name if pdu.bindings else b""
    if name.startswith(_UNKNOWN_CONTEXTS):
        return UNKNOWN_CONTEXT
    return name[len(_USM_STATS)] if name.startswith(_USM_STATS) and len(name) > len(_USM_STATS) else 0


@dataclass
class CommunityEnvelope:
    """SNMP versions 1 and 2c."""

    version: Literal["1", "2c"]
    community: SecretStr
    ready: bool = field(default=True, init=False)

    def wrap(self, kind: int, message_id: int, names: list[bytes], repetitions: int, context: str) -> bytes:
        community = self.community.get_secret_value() + (f"@{context}" if context else "")
        head = ber.integer(_VERSION_NUMBERS[self.version]) + tlv(ber.OCTETS, community.encode())
        return tlv(ber.SEQUENCE, head + ber.request(kind, message_id, names, 0, repetitions))

    def unwrap(self, data: bytes) -> tuple[int, Pdu]:
        try:
            at, _ = message_fields(data, self.version)
            _, at = ber.read_octets(data, at)  # the community of an answer proves nothing
        except IndexError:
            raise Unusual("ends in the middle") from None
        pdu = read_answer(data[at:], self.version)
        return pdu.request_id, pdu

    def context_for_vlan(self, vlan: int) -> str:
        """Community string indexing: community@vlan."""
        return str(vlan)


def message_fields(data: bytes, version: str) -> tuple[int, int]:
    """Where the fields behind the version number start, and where the message ends."""
    try:
        at, end = ber.header(data, 0, ber.SEQUENCE)
        number, at = ber.read_integer(data, at)
    except IndexError:
        raise Unusual("ends in the middle") from None
    if number != _VERSION_NUMBERS[version]:
        raise Unusual(f"a message of version number {number}")
    return at, end


def read_answer(data: bytes, version: str) -> Pdu:
    try:
        pdu = ber.read_pdu(data, 0)
    except Unusual:
        from collectors.transports.snmp_pysnmp import read_unusual_pdu

        pdu = read_unusual_pdu(data, "1" if version == "1" else "2c")
    if pdu.kind not in (ber.RESPONSE, ber.REPORT):
        raise Unusual("a request where an answer belongs")
    return pdu
