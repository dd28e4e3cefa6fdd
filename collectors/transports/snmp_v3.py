"""Messages of SNMPv3 with the user-based security model (RFC 3412, RFC 3414), towards one engine."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING

from pydantic import SecretStr

from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Pdu, Unusual, tlv
from collectors.transports.snmp_envelopes import UNKNOWN_ENGINE, message_fields, read_answer, report_of

if TYPE_CHECKING:  # pysnmp's security modules are loaded when the first switch needs them
    from collectors.transports.snmp_usm import Auth, Cipher, Privacy

TIME_WINDOW = 150
"""Seconds that an engine's clock may be off (RFC 3414 section 2.2.3)."""

_MAX_MESSAGE = 65507
"""Octets of the largest UDP payload: what we say that we can take in one message."""


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
    at, end = message_fields(data, "3")
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
    return read_answer(data[at:end], "3")
