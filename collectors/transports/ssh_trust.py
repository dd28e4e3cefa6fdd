"""Host keys: which we trust, and what a person reads about one that we do not.

A key is trusted when the known_hosts file has it, nothing else. First contact is refused with the key's fingerprint and
the command that puts it on record; a key other than the one on record is refused in stronger words. Lines with
`@cert-authority` and `@revoked` give no trust: certificates of host keys are not supported.
"""

from __future__ import annotations

import base64
import hashlib
import shlex
from pathlib import Path

import paramiko

from collectors.errors import HostKeyRefused

_SCAN_TYPES = {"ssh-ed25519": "ed25519", "ssh-rsa": "rsa"}


def fingerprint(key: paramiko.PKey) -> str:
    """`SHA256:...` as OpenSSH prints it."""
    digest = hashlib.sha256(key.asbytes()).digest()
    return "SHA256:" + base64.b64encode(digest).decode().rstrip("=")


class Trust:
    """Whom to trust, on the way to one host: what stands in `known_hosts` under its address."""

    def __init__(self, where: str, address: str, port: int, known_hosts: Path, jump: str | None = None) -> None:
        """`where`: the name for errors. `jump`: through what host a scan would have to go."""
        self._where = where
        self._address = address
        self._port = port
        self._file = known_hosts
        self._jump = jump

    def prepare(self, client: paramiko.SSHClient) -> None:
        """Makes `client` refuse every key that is not on record. Raises HostKeyRefused for an unreadable record."""
        refuse = self._unknown

        class Refuse(paramiko.MissingHostKeyPolicy):
            """Asked by paramiko when there is no line for the host."""

            def missing_host_key(self, client: paramiko.SSHClient, hostname: str, key: paramiko.PKey) -> None:
                raise refuse(key)

        client.set_missing_host_key_policy(Refuse())
        if self._file.exists():
            try:
                client.load_host_keys(str(self._file))
            except (OSError, ValueError, paramiko.hostkeys.InvalidHostKey):
                raise HostKeyRefused(
                    self._where, f"the record of host keys, {self._file}, cannot be read", "repair or renew that file"
                ) from None

    def _unknown(self, key: paramiko.PKey) -> HostKeyRefused:
        return HostKeyRefused(
            self._where,
            f"unknown host key, {key.get_name()} {fingerprint(key)}; nothing was sent",
            f"compare this fingerprint with the one that the switch shows on its console, then: {self._accept(key)}",
        )

    def changed(self, got: paramiko.PKey, expected: paramiko.PKey) -> HostKeyRefused:
        """The error for a key that is not the one on record."""
        name = self._address if self._port == 22 else f"[{self._address}]:{self._port}"
        forget = shlex.join(["ssh-keygen", "-R", name, "-f", str(self._file)])
        return HostKeyRefused(
            self._where,
            f"THE HOST KEY IS NOT THE ONE ON RECORD: {fingerprint(got)} now, {fingerprint(expected)} in {self._file}. "
            "Somebody may stand between you and the switch; nothing was sent",
            f"find out whether the switch was replaced or reset; only then: {forget}; {self._accept(got)}",
        )

    def _accept(self, key: paramiko.PKey) -> str:
        file = shlex.quote(str(self._file))
        if self._jump:
            # A scan cannot go through a jump host; ssh itself asks and writes the line.
            options = f"-o StrictHostKeyChecking=ask -o UserKnownHostsFile={file} -J {shlex.quote(self._jump)}"
            return f"ssh {options} -p {self._port} {shlex.quote(self._address)}"
        kind = _SCAN_TYPES.get(key.get_name(), "ecdsa")
        return f"ssh-keyscan -t {kind} -p {self._port} {shlex.quote(self._address)} >> {file}"
