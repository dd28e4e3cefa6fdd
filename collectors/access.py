"""Whom to ask, how, and where the secret for it is kept. Never the secret itself."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, SecretStr, model_validator

from collectors.errors import SecretError

_REFERENCE = re.compile(r"(env:[A-Za-z_][A-Za-z0-9_]*|keyring:[^/\s]+/\S+|file:\S.*)")


def _reference(text: str) -> str:
    if not _REFERENCE.fullmatch(text):
        # The text itself may be a secret that someone typed here: never repeat it.
        raise ValueError("is not a secret reference; expected env:NAME, keyring:SERVICE/USER or file:PATH")
    return text


SecretRef = Annotated[str, AfterValidator(_reference)]
"""`env:NAME`, `keyring:SERVICE/USER` or `file:PATH` (mode 0600, first line; relative to the site folder)."""


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, hide_input_in_errors=True)


class SnmpAccess(_Strict):
    """How to ask over SNMP. Times in seconds."""

    version: Literal["1", "2c", "3"] = "2c"
    port: int = Field(161, ge=1, le=65535)
    community: SecretRef | None = None
    user: str | None = Field(None, description="SNMPv3 user name")
    auth: Literal["md5", "sha1", "sha224", "sha256", "sha384", "sha512"] | None = None
    auth_secret: SecretRef | None = None
    privacy: Literal["des", "aes"] | None = None
    privacy_secret: SecretRef | None = None
    context: str = ""
    timeout: float = Field(2.0, gt=0, le=60, description="seconds to wait for one answer")
    retries: int = Field(2, ge=0, le=10)
    repetitions: int = Field(25, ge=1, le=200, description="rows asked for in one GETBULK")
    in_flight: int = Field(4, ge=1, le=16, description="requests under way at one switch")

    @model_validator(mode="after")
    def _complete(self) -> SnmpAccess:
        if self.version == "3":
            if not self.user:
                raise ValueError("SNMP version 3 needs `user`")
            if bool(self.auth) != bool(self.auth_secret):
                raise ValueError("`auth` and `auth_secret` go together")
            if bool(self.privacy) != bool(self.privacy_secret):
                raise ValueError("`privacy` and `privacy_secret` go together")
            if self.privacy and not self.auth:
                raise ValueError("`privacy` needs `auth` (RFC 3414 has no privacy without authentication)")
        elif not self.community:
            raise ValueError(f"SNMP version {self.version} needs `community`, a secret reference like env:NAME")
        return self


class SshAccess(_Strict):
    """How to ask over SSH. Times in seconds."""

    platform: str
    user: str
    port: int = Field(22, ge=1, le=65535)
    secret: SecretRef | None = Field(None, description="password, or pass phrase of the key file")
    key_file: str | None = Field(None, description="private key, mode 0600; relative to the site folder")
    agent: bool = Field(False, description="let the SSH agent sign")
    known_hosts: str | None = Field(None, description="host keys on record; else ~/.ssh/known_hosts")
    jump: str | None = Field(None, pattern=r"^[^@\s]+@[^@\s]+$", description="USER@HOST[:PORT] to go through")
    jump_secret: SecretRef | None = Field(None, description="password at the jump host, or pass phrase of its key file")
    jump_key_file: str | None = Field(None, description="private key for the jump host; else its password or the agent")
    timeout: float = Field(15.0, gt=0, le=300, description="seconds of silence to bear, connecting and reading")


class SwitchAccess(_Strict):
    """One switch to ask. With both ways given, SSH supplies the tables that SNMP lacks."""

    name: str = Field(min_length=1)
    address: str = Field(min_length=1, description="host name or address, never a list")
    snmp: SnmpAccess | None = None
    ssh: SshAccess | None = None
    budget: float = Field(120.0, gt=0, description="seconds this switch may cost in one run")

    @model_validator(mode="after")
    def _some_way(self) -> SwitchAccess:
        if self.snmp is None and self.ssh is None:
            raise ValueError("needs `snmp` or `ssh`: how to ask it")
        return self


def resolve_secret(reference: str, base: Path) -> SecretStr:
    """The secret behind a reference. `base` is the folder that `file:` paths are relative to.

    Raises SecretError naming the reference (never the secret) and what to do.
    """
    scheme, _, rest = reference.partition(":")
    if scheme == "env":
        value = os.environ.get(rest)
        if not value:
            problem = "this environment variable is " + ("not set" if value is None else "empty")
            raise SecretError(reference, problem, f"export {rest}=… before the run")
        return SecretStr(value)
    if scheme == "file":
        return SecretStr(_read_secret_file(reference, base / Path(rest).expanduser()))
    return SecretStr(_read_keyring(reference, rest))


def _read_secret_file(reference: str, path: Path) -> str:
    try:
        mode = path.stat().st_mode
        if mode & (stat.S_IRWXG | stat.S_IRWXO):
            raise SecretError(reference, f"others may read {path} (mode {stat.S_IMODE(mode):04o})", f"chmod 600 {path}")
        lines = path.read_text("utf-8-sig").splitlines()  # a byte-order mark is no part of a password
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "not UTF-8 text"
        raise SecretError(reference, f"cannot read {path}: {reason}", "write the secret as its first line") from None
    if not lines or not lines[0]:
        raise SecretError(reference, f"{path} is empty", "write the secret as its first line")
    return lines[0]


def _read_keyring(reference: str, rest: str) -> str:
    service, _, user = rest.partition("/")
    try:
        import keyring
        import keyring.errors
    except ImportError:
        raise SecretError(reference, "the keyring package is not installed", "pip install 'toneout[keyring]'") from None
    try:
        value = keyring.get_password(service, user)
    except keyring.errors.KeyringError as error:
        raise SecretError(
            reference, f"no key store answers ({type(error).__name__})", "use env: or file: here"
        ) from None
    if not value:
        raise SecretError(reference, "the key store has no such entry", f"keyring set {service} {user}")
    return value
