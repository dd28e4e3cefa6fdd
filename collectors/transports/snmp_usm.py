"""Keys, digests and privacy of SNMPv3's user-based security model, by pysnmp and the standard library.

Sources: RFC 3414 (model, MD5, SHA-1, DES), RFC 3826 (AES-128), RFC 7860 (SHA-2), RFC 3414 A.2 (key derivation).
"""

from __future__ import annotations

import hashlib
import hmac
from functools import lru_cache
from typing import Literal

from pyasn1.type.univ import OctetString
from pysnmp.proto.error import StatusInformation
from pysnmp.proto.secmod.rfc3414 import localkey
from pysnmp.proto.secmod.rfc3414.priv.des import Des
from pysnmp.proto.secmod.rfc3826.priv.aes import Aes

from collectors.transports.snmp_ber import Unusual

Auth = Literal["md5", "sha1", "sha224", "sha256", "sha384", "sha512"]
Privacy = Literal["des", "aes"]

DIGEST_OCTETS: dict[Auth, int] = {"md5": 12, "sha1": 12, "sha224": 16, "sha256": 24, "sha384": 32, "sha512": 48}
"""Octets of the truncated digest in a message (RFC 3414 6.1, RFC 7860 4.1)."""

_PRIVACY_KEY_OCTETS = 16
"""DES uses eight for the key and eight for the pre-IV (RFC 3414 8.1.1.1); AES-128 all sixteen (RFC 3826 1.2)."""


@lru_cache(maxsize=64)
def key_of_password(auth: Auth, password: str) -> bytes:
    """Ku: the digest of a mebioctet of the repeated password. The same few passwords serve a whole fleet."""
    return bytes(localkey.hash_passphrase(password.encode(), getattr(hashlib, auth)))


def localized_key(auth: Auth, password: str, engine_id: bytes) -> bytes:
    """Kul: the key that belongs to one password at one engine."""
    ku = key_of_password(auth, password)
    return bytes(localkey.localize_key(ku, OctetString(engine_id), getattr(hashlib, auth)))


def digest(auth: Auth, key: bytes, message: bytes) -> bytes:
    """The truncated HMAC of a message whose digest field holds zeros."""
    return hmac.digest(key, message, auth)[: DIGEST_OCTETS[auth]]


class Cipher:
    """One user's privacy at one engine."""

    def __init__(self, privacy: Privacy, auth: Auth, password: str, engine_id: bytes) -> None:
        self._key = OctetString(localized_key(auth, password, engine_id)[:_PRIVACY_KEY_OCTETS])
        self._service = Des() if privacy == "des" else Aes()

    def encrypt(self, plain: bytes, boots: int, time: int) -> tuple[bytes, bytes]:
        """The encrypted octets, and the salt that goes with the message."""
        encrypted, salt = self._service.encrypt_data(self._key, (boots, time, None), plain)
        return bytes(encrypted), bytes(salt)

    def decrypt(self, encrypted: bytes, salt: bytes, boots: int, time: int) -> bytes:
        """The plain octets, with what padding the cipher adds. Raises Unusual when that cannot be."""
        try:
            parameters = (boots, time, OctetString(salt))
            return bytes(self._service.decrypt_data(self._key, parameters, OctetString(encrypted)))
        except (StatusInformation, ValueError):
            raise Unusual("encrypted octets of a length that the cipher does not make") from None
