"""What stands around a PDU: version and community (RFC 1157, RFC 1901), or an SNMPv3 message (RFC 3412, RFC 3414)."""

from __future__ import annotations

import hmac
from dataclasses import dataclass, field
from time import monotonic
from typing import TYPE_CHECKING, Literal, Protocol

from pydantic import SecretStr

from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Pdu, Unusual, tlv

if TYPE_CHECKING:  # pysnmp's security modules are loaded when the first switch needs them
    from collectors.transports.snmp_usm import Auth, Cipher, Privacy

_VERSION_NUMBERS = {"1": 0, "2c": 1, "3": 3}

_USM_STATS = ber.oid_octets((1, 3, 6, 1, 6, 3, 15, 1, 1))
UNSUPPORTED_LEVEL, NOT_IN_TIME, UNKNOWN_USER, UNKNOWN_ENGINE, WRONG_DIGEST, CANNOT_DECRYPT = range(1, 7)
"""Last arcs below usmStats: what a report says (RFC 3414 section 5)."""

TIME_WINDOW = 150
"""Seconds that an engine's clock may be off (RFC 3414 section 2.2.3)."""


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
            at, _ = _message(data, self.version)
            _, at = ber.read_octets(data, at)  # the community of an answer proves nothing
        except IndexError:
            raise Unusual("ends in the middle") from None
        pdu = _read_pdu(data[at:], self.version)
        return pdu.request_id, pdu

    def context_for_vlan(self, vlan: int) -> str:
        """Community string indexing: community@vlan."""
        return str(vlan)


def _message(data: bytes, version: str) -> tuple[int, int]:
    """Where the fields behind the version number start, and where the message ends."""
    try:
        at, end = ber.header(data, 0, ber.SEQUENCE)
        number, at = ber.read_integer(data, at)
    except IndexError:
        raise Unusual("ends in the middle") from None
    if number != _VERSION_NUMBERS[version]:
        raise Unusual(f"a message of version number {number}")
    return at, end


def _read_pdu(data: bytes, version: str) -> Pdu:
    try:
        pdu = ber.read_pdu(data, 0)
    except Unusual:
        from collectors.transports.snmp_pysnmp import read_unusual_pdu

        pdu = read_unusual_pdu(data, "1" if version == "1" else "2c")
    if pdu.kind not in (ber.RESPONSE, ber.REPORT):
        raise Unusual("a request where an answer belongs")
    return pdu


@dataclass
class User:
    """An SNMPv3 user with its secrets; both absent, the second absent, or both given."""

    name: str
    auth: Auth | None = None
    auth_secret: SecretStr | None = None
    privacy: Privacy | None = None
    privacy_secret: SecretStr | None = None
    context: str = ""


class UsmEnvelope:
    """SNMP version 3 with the user-based security model, towards one engine."""

    def __init__(self, user: User) -> None:
        self._user = user
        self._engine_id = b""
        self._clock = _EngineClock()
        self._auth_key = b""
        self._cipher: Cipher | None = None

    @property
    def ready(self) -> bool:
        return bool(self._engine_id)

    def context_for_vlan(self, vlan: int) -> str:
        return f"vlan-{vlan}"

    def wrap(self, kind: int, message_id: int, names: list[bytes], repetitions: int, context: str) -> bytes:
        """Until the engine is known this is the discovery message of RFC 3414 section 4, which names nothing."""
        if not self._engine_id:
            return self._sealed(message_id, b"", ber.request(ber.GET, message_id, []), "")
        pdu = ber.request(kind, message_id, names, 0, repetitions)
        return self._sealed(message_id, self._user.name.encode(), pdu, context or self._user.context)

    def _sealed(self, message_id: int, user: bytes, pdu: bytes, context: str) -> bytes:
        auth = self._user.auth if user else None
        boots, time = self._clock.now()
        scoped = tlv(ber.SEQUENCE, tlv(ber.OCTETS, self._engine_id) + tlv(ber.OCTETS, context.encode()) + pdu)
        salt = b""
        if auth and self._cipher:
            encrypted, salt = self._cipher.encrypt(scoped, boots, time)
            scoped = tlv(ber.OCTETS, encrypted)
        flags = 0x04 | (0x01 if auth else 0) | (0x02 if salt else 0)  # reportable, authenticated, private
        header = ber.integer(message_id) + ber.integer(_MAX_MESSAGE) + tlv(ber.OCTETS, bytes((flags,))) + ber.integer(3)
        before = tlv(ber.OCTETS, self._engine_id) + ber.integer(boots) + ber.integer(time) + tlv(ber.OCTETS, user)

        def message(digest: bytes) -> bytes:
            parameters = tlv(ber.SEQUENCE, before + tlv(ber.OCTETS, digest) + tlv(ber.OCTETS, salt))
            return tlv(ber.SEQUENCE, ber.integer(3) + tlv(ber.SEQUENCE, header) + tlv(ber.OCTETS, parameters) + scoped)

        if not auth:
            return message(b"")
        from collectors.transports import snmp_usm as usm

        return message(usm.digest(auth, self._auth_key, message(bytes(usm.DIGEST_OCTETS[auth]))))

    def unwrap(self, data: bytes) -> tuple[int, Pdu]:
        try:
            sealed = _read_sealed(data)
        except IndexError:
            raise Unusual("ends in the middle") from None
        trusted = bool(sealed.flags & 0x01)
        if self._engine_id and sealed.engine_id != self._engine_id:
            raise Unusual("an answer from another engine")
        if trusted:
            self._check(data, sealed)
        scoped = sealed.data
        if sealed.flags & 0x02:
            if not (trusted and self._cipher):
                raise Unusual("encrypted, and not for us")
            scoped = self._cipher.decrypt(scoped, sealed.salt, sealed.boots, sealed.time)
        pdu = _read_scoped(scoped)
        if pdu.kind == ber.REPORT:
            self._learn(sealed, report_of(pdu))
        elif sealed.flags & 0x03 != self._level():
            raise Unusual("an answer with less security than the question")
        return sealed.message_id, pdu

    def _level(self) -> int:
        return (0x01 if self._user.auth else 0) | (0x02 if self._user.privacy else 0)

    def _check(self, data: bytes, sealed: _Sealed) -> None:
        """RFC 3414 section 3.2, steps 6 and 7: the digest, then the time."""
        auth = self._user.auth
        if not (auth and self._auth_key):
            raise Unusual("authenticated, and not for us")
        from collectors.transports import snmp_usm as usm

        zeroed = data[: sealed.digest_at] + bytes(len(sealed.digest)) + data[sealed.digest_at + len(sealed.digest) :]
        if not hmac.compare_digest(usm.digest(auth, self._auth_key, zeroed), sealed.digest):
            raise Unusual("a digest that our key does not make")
        self._clock.heard(sealed.boots, sealed.time)

    def _learn(self, sealed: _Sealed, report: int) -> None:
        if self._engine_id or report != UNKNOWN_ENGINE or not 5 <= len(sealed.engine_id) <= 32:
            return
        self._engine_id = sealed.engine_id
        self._clock.guess(sealed.boots, sealed.time)
        user = self._user
        if user.auth and user.auth_secret:
            from collectors.transports import snmp_usm as usm

            self._auth_key = usm.localized_key(user.auth, user.auth_secret.get_secret_value(), sealed.engine_id)
            if user.privacy and user.privacy_secret:
                secret = user.privacy_secret.get_secret_value()
                self._cipher = usm.Cipher(user.privacy, user.auth, secret, sealed.engine_id)


_MAX_MESSAGE = 65507
"""Octets of the largest UDP payload: what we say that we can take in one message."""


class _EngineClock:
    """Boots and seconds of the engine asked, as it last said (RFC 3414 section 2.3)."""

    def __init__(self) -> None:
        self._boots, self._time, self._at = 0, 0, monotonic()
        self._latest = (-1, -1)  # of authenticated messages only

    def now(self) -> tuple[int, int]:
        """Boots, and seconds since, at this moment; within the 31 bits that they have."""
        return self._boots, min(self._time + int(monotonic() - self._at), 0x7FFFFFFF)

    def guess(self, boots: int, time: int) -> None:
        """What an unauthenticated discovery said: good enough to ask with, never to judge an answer by."""
        self._boots, self._time, self._at = max(boots, 0), max(time, 0), monotonic()

    def heard(self, boots: int, time: int) -> None:
        """An authenticated message of this time came. Raises Unusual when it is an old one (a replay)."""
        latest_boots, latest_time = self._latest
        if boots < latest_boots or (boots == latest_boots and time < latest_time - TIME_WINDOW):
            raise Unusual("an authenticated message of the past")
        if (boots, time) > self._latest:
            self._latest = (boots, time)
            self._boots, self._time, self._at = boots, time, monotonic()


@dataclass(frozen=True)
class _Sealed:
    """The fields of a version 3 message, before anything is checked."""

    message_id: int
    flags: int
    engine_id: bytes
    boots: int
    time: int
    digest: bytes
    digest_at: int
    salt: bytes
    data: bytes


def _read_sealed(data: bytes) -> _Sealed:
    at, end = _message(data, "3")
    header_at, after = ber.header(data, at, ber.SEQUENCE)
    message_id, header_at = ber.read_integer(data, header_at)
    _, header_at = ber.read_integer(data, header_at)
    flags, header_at = ber.read_octets(data, header_at)
    model, _ = ber.read_integer(data, header_at)
    if model != 3 or len(flags) != 1:
        raise Unusual("another security model than the user-based one")
    at, after = ber.header(data, after, ber.OCTETS)
    at, _ = ber.header(data, at, ber.SEQUENCE)
    engine_id, at = ber.read_octets(data, at)
    boots, at = ber.read_integer(data, at)
    time, at = ber.read_integer(data, at)
    _, at = ber.read_octets(data, at)
    digest, at = ber.read_octets(data, at)
    salt, _ = ber.read_octets(data, at)
    body = ber.read_octets(data, after)[0] if flags[0] & 0x02 else data[after:end]
    return _Sealed(message_id, flags[0], engine_id, boots, time, digest, at - len(digest), salt, body)


def _read_scoped(data: bytes) -> Pdu:
    try:
        at, end = ber.header(data, 0, ber.SEQUENCE)
        _, at = ber.read_octets(data, at)
        _, at = ber.read_octets(data, at)
    except IndexError:
        raise Unusual("ends in the middle") from None
    return _read_pdu(data[at:end], "3")
