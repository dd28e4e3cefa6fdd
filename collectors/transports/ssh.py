"""SSH: the one door to netmiko.

netmiko logs in, knows every family's greeting and prepares its terminal. What is added here: host keys are checked, no
line leaves that is not on the platform's fixed list, reading is bounded in size and by silence, a table is whole only
when the prompt comes after it, and foreign errors become ours.
"""

from __future__ import annotations

import contextlib
import logging
import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import paramiko
from netmiko import BaseConnection, ReadTimeout, ssh_dispatcher
from netmiko.exceptions import WriteException
from pydantic import SecretStr

from collectors.access import SshAccess
from collectors.errors import BadAnswer, SecretError, Unreachable
from collectors.transports import ssh_terminal
from collectors.transports.ssh_errors import translated
from collectors.transports.ssh_trust import Trust

# paramiko logs a traceback when a connection ends; without a handler Python would print it to the user.
logging.getLogger("paramiko").addHandler(logging.NullHandler())
logging.getLogger("netmiko").addHandler(logging.NullHandler())

MAX_ANSWER = 32 * 1024 * 1024
"""Octets read of one answer: 200,000 rows of a MAC table take 16 MiB."""

_CHUNK = 65536
_LINGER = 0.05
"""Seconds to wait behind a prompt for more text: a neighbour's text may look like the prompt."""


class NotOnTheList(Exception):
    """Something tried to send a line that is not on the platform's fixed list. Nothing was sent."""


class Answer(NamedTuple):
    """What came back."""

    text: str
    missing: str = ""
    """Why it is not the whole answer; empty when the prompt came after it."""
    timed_out: bool = False
    stale: bool = False
    """True when text of unknown origin came before it."""


@dataclass(frozen=True)
class Door:
    """Everything needed to reach one switch. Secrets do not show in its repr."""

    where: str
    """The switch's name, for errors."""
    address: str
    access: SshAccess
    base: Path
    """The folder that file names in `access` are relative to."""
    secret: SecretStr | None = None
    jump_secret: SecretStr | None = None
    login_again: bool = False
    """The switch may ask for user and password once more, in the terminal."""

    def known_hosts(self) -> Path:
        """The file of host keys on record."""
        return self._file(self.access.known_hosts or "~/.ssh/known_hosts")

    def key_file(self, name: str | None) -> str | None:
        """The path of a private key. Raises SecretError when it is not there or others may read it."""
        if name is None:
            return None
        path = self._file(name)
        if not path.is_file():
            raise SecretError(str(path), "no such key file", "correct `key_file`")
        if path.stat().st_mode & 0o077:
            raise SecretError(str(path), "others may read this key file", f"chmod 600 {path}")
        return str(path)

    def _file(self, name: str) -> Path:
        return self.base / Path(name).expanduser()


@dataclass
class Guard:
    """What a connection may send, and until when it may read."""

    trust: Trust
    allowed: frozenset[str]
    deadline: float
    """By time.monotonic()."""
    login: tuple[str, SecretStr] | None = None
    """User and password for a switch that asks for them in the terminal."""
    clients: list[paramiko.SSHClient] = field(default_factory=list)
    """Every client that was made, so that none stays open."""

    def check(self, line: str) -> None:
        """Raises NotOnTheList."""
        # An empty line asks for the prompt, a blank for the next page, ^C for an end.
        if line.strip(" \r\n\x03") and line.strip() not in self.allowed:
            raise NotOnTheList("a line that is not on the fixed list was not sent")

    def left(self) -> float:
        """Seconds until the deadline; raises TimeoutError behind it."""
        left = self.deadline - time.monotonic()
        if left <= 0:
            raise TimeoutError
        return left


class _Guarded(BaseConnection):
    """Mixed into netmiko's class for a platform: its own methods and hooks, with the guard before them."""

    guard: Guard

    def write_channel(self, out_data: str) -> None:
        """Sends a line that is on the list."""
        self.guard.check(out_data)
        super().write_channel(out_data)

    def read_channel(self) -> str:
        """What has come, a bounded piece of it, while there is time."""
        self.guard.left()
        channel = self.remote_conn
        if not isinstance(channel, paramiko.Channel) or (channel.closed and not channel.recv_ready()):
            raise EOFError
        new = self.channel.read_buffer()
        earlier, self._read_buffer = self._read_buffer, ""
        return earlier + ssh_terminal.shown(new.encode("latin-1")) if new else earlier

    def enable(self, *args: Any, **kwargs: Any) -> str:
        """Never: what needs more rights than the user has is reported as refused, and pages are turned by hand."""
        return ""

    def disable_paging(self, *args: Any, **kwargs: Any) -> str:
        """Where the switch does not confirm it, pages are turned by hand."""
        with contextlib.suppress(ReadTimeout):
            return super().disable_paging(*args, **kwargs)
        return ""

    def cleanup(self, command: str = "") -> None:
        """Closing the connection is the log-out; netmiko would look for a configuration mode to leave."""

    def special_login_handler(self, delay_factor: float = 1.0) -> None:
        """What netmiko does for this platform between logging in and the first prompt."""
        if self.guard.login:
            self._log_in_again(*self.guard.login)
        super().special_login_handler(delay_factor)

    def _log_in_again(self, user: str, secret: SecretStr) -> None:
        """Answers a terminal that asks for user and password, once.

        Not by write_channel: these are no lines of the list, and its debug log is no place for a secret.
        """
        asks_or_ready = r"(?:[Uu]ser ?[Nn]ame:|[>#]\s*$)"
        if not self.read_until_pattern(asks_or_ready, read_timeout=20).rstrip().endswith(":"):
            return
        self.channel.write_channel(user + self.RETURN)
        self.read_until_pattern(r"[Pp]assword:", read_timeout=20)
        self.channel.write_channel(secret.get_secret_value() + self.RETURN)
        if self.read_until_pattern(asks_or_ready, read_timeout=20).rstrip().endswith(":"):
            raise paramiko.AuthenticationException

    def _build_ssh_client(self) -> paramiko.SSHClient:
        client = super()._build_ssh_client()
        self.guard.clients.append(client)
        self.guard.trust.prepare(client)
        return client


class Session:
    """A prompt at a switch, where commands of the fixed list may be asked."""

    def __init__(self, connection: BaseConnection, guard: Guard, silence: float) -> None:
        self._connection = connection
        self._guard = guard
        self._silence = silence
        self._prompt = ""
        self._late = False
        self.ended = ""
        """Why nothing more can be asked; empty while the session lives."""

    def __repr__(self) -> str:
        return f"<Session at {self._prompt!r}>"

    def find_prompt(self) -> None:
        """Learns the prompt: the last line, twice the same. Raises SwitchError."""
        seen = ""
        for _ in range(6):
            self._connection.write_channel(self._connection.RETURN)
            raw, missing = self._read(until=lambda raw: bool(ssh_terminal.last_line(raw)))
            if missing:
                raise TimeoutError if self._late else EOFError
            line = ssh_terminal.last_line(raw)
            if line and line == seen:
                self._prompt = line
                return
            seen = line
        raise BadAnswer("", "no steady prompt after logging in", "log in by hand and look what it asks")

    def ask(self, command: str) -> Answer:
        """The answer to one command of the fixed list. Raises NotOnTheList for any other.

        What the switch does raises nothing: an answer that ends early says so.
        """
        if command not in self._guard.allowed:
            raise NotOnTheList("a command that is not on the fixed list was not sent")
        if self.ended:
            return Answer("", self.ended, timed_out=self._late)
        try:
            self._connection.write_channel(command + self._connection.RETURN)
            raw, missing = self._read(until=lambda raw: ssh_terminal.at_prompt(raw, self._prompt))
        except (OSError, EOFError, WriteException):
            raw, missing = b"", "the switch ended the connection"
            self.ended = missing
        late = self._late and bool(missing)
        if missing and not self.ended:
            self._interrupt(missing)
            self._late = late
        screen = ssh_terminal.answer(raw, command, self._prompt)
        return Answer(screen.text, missing, late, screen.stale)

    def close(self) -> None:
        """Ends the connection. May be called from another thread to end a read."""
        self.ended = self.ended or "the session was closed"
        self._connection.disconnect()
        for client in self._guard.clients:
            client.close()

    def _read(self, until: Callable[[bytes], bool]) -> tuple[bytes, str]:
        """Octets up to `until`, and what is missing behind them (empty: nothing)."""
        channel = self._connection.remote_conn
        if not isinstance(channel, paramiko.Channel):
            raise EOFError
        raw, complete, self._late = bytearray(), False, False
        while len(raw) < MAX_ANSWER:
            try:
                channel.settimeout(_LINGER if complete else min(self._silence, self._guard.left()))
                chunk = channel.recv(_CHUNK)
            except TimeoutError:
                if complete:
                    return bytes(raw), ""
                self._late = True
                spent = time.monotonic() >= self._guard.deadline
                return bytes(
                    raw
                ), "the time for this switch was used up" if spent else f"{self._silence:g} s of silence"
            if not chunk:
                self.ended = "the switch ended the connection"
                return bytes(raw), "" if complete else self.ended
            raw += chunk
            tail = bytes(raw[-_CHUNK:])
            complete = until(tail)
            if ssh_terminal.at_pager(tail):
                self._connection.write_channel(" ")
        return bytes(raw), f"the answer is longer than {MAX_ANSWER // 1024**2} MiB"

    def _interrupt(self, why: str) -> None:
        """Stops a command that did not end, to ask the next one; the session ends where that does not help."""
        if time.monotonic() < self._guard.deadline:
            with contextlib.suppress(OSError, EOFError):
                self._connection.write_channel("\x03")
                self._silence, usual = min(3.0, self._silence), self._silence
                _, missing = self._read(until=lambda raw: ssh_terminal.at_prompt(raw, self._prompt))
                self._silence = usual
                if not missing:
                    return
        self.ended = self.ended or f"not asked: an earlier answer did not end ({why})"


def connect(door: Door, driver: str, allowed: frozenset[str], deadline: float) -> Session:
    """Logs in and prepares the terminal. `allowed`: every line that may ever be sent. `deadline`: time.monotonic().

    Raises SwitchError (HostKeyRefused among them) and SecretError.
    """
    access = door.access
    again = (access.user, door.secret) if door.login_again and door.secret and not access.key_file else None
    trust = Trust(door.where, door.address, access.port, door.known_hosts(), access.jump)
    guard = Guard(trust, allowed, deadline, again)
    try:
        login = _login(door, guard)
        kind = type("Guarded", (_Guarded, ssh_dispatcher(driver)), {"guard": guard})
        session = Session(kind(device_type=driver, **login), guard, access.timeout)
        session.find_prompt()
    except Exception as error:
        for client in guard.clients:
            client.close()
        if isinstance(error, NotOnTheList):
            raise
        raise translated(error, door.where, guard.trust) from None
    return session


def _login(door: Door, guard: Guard) -> dict[str, Any]:
    access = door.access
    wait = min(access.timeout, guard.left())
    key_file = door.key_file(access.key_file)
    secret = door.secret.get_secret_value() if door.secret else None
    bare = not (key_file or secret or access.agent)
    if bare:
        # Nothing named: the user's own keys, as ssh does.
        found = sorted(path for path in Path("~/.ssh").expanduser().glob("id_*") if path.suffix != ".pub")
        key_file = str(found[0]) if found else None
    return {
        "host": door.address,
        "port": access.port,
        "username": access.user,
        "password": None if key_file else secret,
        "passphrase": secret if key_file else None,
        "key_file": key_file,
        "use_keys": bare and key_file is not None,
        "allow_agent": access.agent,
        "conn_timeout": wait,
        "auth_timeout": wait,
        "banner_timeout": wait,
        "blocking_timeout": wait,
        # Every octet is kept; text is made of whole lines later.
        "encoding": "latin-1",
        "sock": _through(door, guard) if access.jump else None,
    }


def _through(door: Door, guard: Guard) -> paramiko.Channel:
    """A channel to the switch through the jump host, which is verified and logged into like a switch."""
    access = door.access
    wait = min(access.timeout, guard.left())
    user, _, rest = (access.jump or "").rpartition("@")
    host, port = _host_and_port(rest)
    where = f"{door.where} (jump host {host})"
    trust = Trust(where, host, port, door.known_hosts())
    key_file = door.key_file(access.jump_key_file)
    secret = door.jump_secret.get_secret_value() if door.jump_secret else None
    client = paramiko.SSHClient()
    guard.clients.append(client)
    try:
        trust.prepare(client)
        client.connect(
            host,
            port,
            user,
            password=None if key_file else secret,
            passphrase=secret if key_file else None,
            key_filename=key_file,
            look_for_keys=not (key_file or secret or access.agent),
            allow_agent=access.agent,
            timeout=wait,
            banner_timeout=wait,
            auth_timeout=wait,
        )
        transport = client.get_transport()
        if transport is None:
            raise EOFError
        return transport.open_channel("direct-tcpip", (door.address, access.port), ("", 0), timeout=wait)
    except paramiko.ChannelException:
        hint = f"allow it to forward TCP, and look whether it reaches {door.address}"
        raise Unreachable(where, "passes no connection on to the switch", hint) from None
    except Exception as error:  # noqa: BLE001  # every foreign error becomes ours here
        raise translated(error, where, trust) from None


def _host_and_port(text: str) -> tuple[str, int]:
    """`HOST`, `HOST:PORT`, `[IPV6]:PORT` or a bare IPv6 address."""
    found = re.fullmatch(r"\[(.+)\](?::(\d+))?|([^:]+)(?::(\d+))?|(.+)", text)
    assert found
    return found[1] or found[3] or found[5], int(found[2] or found[4] or 22)
