"""An SSH server on loopback that replays a recorded session, and misbehaves on request.

A recording (`fixtures/recordings/ssh/<platform>.yaml`) has these keys:

    platform    the platform's name
    prompt      what waits for a command, e.g. "wetlab#"
    greeting    printed before the first prompt (default: nothing)
    user_suffix what the driver appends to the user name (RouterOS only)
    newline     end of a line, default "\\r\\n"
    paging      {lines, more, erase, off}: pages of so many lines; `more` is printed at the end of each and `erase`
                when a key was pressed; the command `off` turns paging off, unless `granted` is false
    echo_again  true where a command is echoed a second time, after its prompt
    replies     {command: text}: what the commands that prepare the terminal print
    commands    {command: text}: the recorded answers
    rejected    printed for any other command
    expect      what the collector must make of it, written by hand from the texts
"""

from __future__ import annotations

import asyncio
import base64
import hashlib
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import asyncssh
import yaml

PASSWORD = "tide-pool-7-secret"  # of the replayed switches only
USER = "reader"
RECORDINGS = Path(__file__).parents[2] / "fixtures" / "recordings" / "ssh"


def recording(name: str) -> dict[str, Any]:
    """The recorded session of that platform."""
    found: dict[str, Any] = yaml.safe_load((RECORDINGS / f"{name}.yaml").read_text("utf-8"))
    return found


@dataclass
class Faults:
    """What the server does wrong."""

    no_shell: bool = False
    greet_after: float = 0.0
    """Seconds before the SSH greeting of the connection is sent."""
    paging_stays: bool = False
    """The command that turns paging off is rejected."""
    drop_in: str = ""
    """The command in whose answer the connection is dropped, half way."""
    hang_in: str = ""
    """The command whose answer stops half way; ^C brings the prompt back."""
    flood_in: str = ""
    """The command whose answer never ends."""
    login_again: bool = False
    """It asks for user and password once more, in the terminal."""
    no_forwarding: bool = False
    """It is a jump host that passes nothing on."""
    steps_in: str = ""
    """The command behind whose answer the prompt comes early, in the middle of a table."""


@dataclass
class Served:
    """A server that is running."""

    recording: dict[str, Any]
    faults: Faults
    key: asyncssh.SSHKey
    client_key: asyncssh.SSHKey | None = None
    port: int = 0
    lines: list[str] = field(default_factory=list)
    """Every line that was received, in order."""
    passwords: list[str] = field(default_factory=list)
    """Every password that was tried."""
    forwarded: list[tuple[str, int]] = field(default_factory=list)
    """Where connections were passed on to, when it serves as a jump host."""

    @property
    def fingerprint(self) -> str:
        """Of the host key, computed here from its octets alone (RFC 4253 blob, RFC 4648 without padding)."""
        blob = base64.b64decode(self.key.export_public_key().split()[1])
        return "SHA256:" + base64.b64encode(hashlib.sha256(blob).digest()).decode().rstrip("=")

    def known_hosts_line(self, key: asyncssh.SSHKey | None = None) -> str:
        """The line that puts a key on record for this server."""
        kind, blob = (key or self.key).export_public_key().decode().split()[:2]
        return f"[127.0.0.1]:{self.port} {kind} {blob}\n"


@contextmanager
def serve(
    told: dict[str, Any], faults: Faults | None = None, *, client_key: asyncssh.SSHKey | None = None
) -> Iterator[Served]:
    """Runs the server in a thread of its own until the block ends. With `client_key`, that key logs in as well."""
    served = Served(told, faults or Faults(), asyncssh.generate_private_key("ssh-ed25519"), client_key=client_key)
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()
    acceptor = asyncio.run_coroutine_threadsafe(_listen(served), loop).result(20)
    served.port = acceptor.get_port()
    try:
        yield served
    finally:
        asyncio.run_coroutine_threadsafe(_close(acceptor), loop).result(20)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(20)
        loop.close()


async def _close(acceptor: asyncssh.SSHAcceptor) -> None:
    acceptor.close()
    tasks = [task for task in asyncio.all_tasks() if task is not asyncio.current_task()]
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)


async def _listen(served: Served) -> asyncssh.SSHAcceptor:
    class Server(asyncssh.SSHServer):
        def begin_auth(self, username: str) -> bool:
            return True

        def password_auth_supported(self) -> bool:
            return True

        def public_key_auth_supported(self) -> bool:
            return served.client_key is not None

        def validate_public_key(self, username: str, key: asyncssh.SSHKey) -> bool:
            known = served.client_key
            return known is not None and key.public_data == known.public_data

        def connection_requested(self, dest_host: str, dest_port: int, orig_host: str, orig_port: int) -> bool:
            served.forwarded.append((dest_host, dest_port))
            return not served.faults.no_forwarding

        def validate_password(self, username: str, password: str) -> bool:
            served.passwords.append(password)
            return username == USER + served.recording.get("user_suffix", "") and password == PASSWORD

    # Without a process factory asyncssh lets log in and refuses the session.
    factory = None if served.faults.no_shell else _handler(served)
    behind = await asyncssh.listen(
        "127.0.0.1",
        0,
        server_factory=Server,
        server_host_keys=[served.key],
        process_factory=factory,
        line_editor=False,
        encoding="utf-8",
    )
    return await _late(served, behind) if served.faults.greet_after else behind


async def _late(served: Served, behind: Any) -> Any:
    """Accepts at once and greets late: a relay in front of the server waits before it passes anything on."""

    async def relay(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await asyncio.sleep(served.faults.greet_after)
        far_reader, far_writer = await asyncio.open_connection("127.0.0.1", behind.get_port())
        await asyncio.gather(_pump(reader, far_writer), _pump(far_reader, writer))

    front = await asyncio.start_server(relay, "127.0.0.1", 0)

    class Both:
        def get_port(self) -> int:
            port: int = front.sockets[0].getsockname()[1]
            return port

        def close(self) -> None:
            front.close()
            behind.close()

    return Both()


async def _pump(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    try:
        while data := await reader.read(65536):
            writer.write(data)
            await writer.drain()
    except ConnectionError:
        pass
    finally:
        writer.close()


def _handler(served: Served) -> Any:
    async def handle(process: asyncssh.SSHServerProcess[str]) -> None:
        try:
            await _Line(served, process).run()
        except (asyncssh.BreakReceived, asyncssh.ConnectionLost, BrokenPipeError, EOFError):
            pass
        finally:
            process.close()

    return handle


class _Line:
    """The command line of one session."""

    def __init__(self, served: Served, process: asyncssh.SSHServerProcess[str]) -> None:
        self._served = served
        self._told = served.recording
        self._process = process
        self._newline: str = self._told.get("newline", "\r\n")
        self._paging: dict[str, Any] | None = self._told.get("paging")
        self._waiting = ""

    async def run(self) -> None:
        while self._served.faults.login_again:
            self._write("User Name:")
            user = await self._line()
            self._write(user + self._newline + "Password:")
            password = await self._line()
            self._write("*" * len(password) + self._newline)
            self._served.passwords.append(password)
            if (user, password) == (USER, PASSWORD):
                break
            self._print("authentication failed")
        self._print(self._told.get("greeting", ""))
        while True:
            self._write(self._told["prompt"])
            line = await self._line()
            self._write(line + self._newline)
            self._served.lines.append(line)
            command = line.strip()
            if command:
                if self._told.get("echo_again"):
                    self._write(self._told["prompt"] + line + self._newline)
                await self._answer(command)

    async def _answer(self, command: str) -> None:
        faults = self._served.faults
        granted = self._paging and self._paging.get("granted", True) and not faults.paging_stays
        if self._paging and command == self._paging.get("off") and granted:
            self._paging = None
            self._print(self._told.get("replies", {}).get(command, ""))
            return
        replies = {**self._told.get("replies", {}), **self._told["commands"]}
        text = replies.get(command) if command != (self._paging or {}).get("off") else None
        if text is None:
            text = self._told.get("rejected", "")
        if command == faults.flood_in:
            while True:
                self._print(text)
                await self._process.stdout.drain()
        if command in (faults.drop_in, faults.hang_in):
            self._print(text[: len(text) // 2])
            await self._process.stdout.drain()
            await asyncio.sleep(0.2)
            if command == faults.drop_in:
                self._process.channel.get_connection().abort()
                raise EOFError
            while await self._char() != "\x03":
                pass
            self._write("^C" + self._newline)
            return
        if command == faults.steps_in:
            middle = text.index("\n", len(text) // 2)
            self._print(text[:middle])
            self._write(self._told["prompt"])
            await self._process.stdout.drain()
            await asyncio.sleep(0.01)
            self._write(self._newline)
            text = text[middle + 1 :]
        await self._pages(text)

    async def _pages(self, text: str) -> None:
        lines = text.splitlines()
        if not self._paging:
            self._print(text)
            return
        size = self._paging["lines"]
        for start in range(0, len(lines), size):
            self._print("\n".join(lines[start : start + size]))
            if start + size < len(lines):
                self._write(self._paging["more"])
                await self._char()
                self._write(self._paging["erase"])

    async def _char(self) -> str:
        while not self._waiting:
            got = await self._process.stdin.read(1024)
            if not got:
                raise EOFError
            self._waiting = got
        char, self._waiting = self._waiting[0], self._waiting[1:]
        return char

    async def _line(self) -> str:
        line = ""
        while (char := await self._char()) not in "\r\n":
            line += char
        if char == "\r" and self._waiting.startswith("\n"):
            self._waiting = self._waiting[1:]
        return line

    def _print(self, text: str) -> None:
        if text:
            self._write(text.rstrip("\n").replace("\n", self._newline) + self._newline)

    def _write(self, text: str) -> None:
        self._process.stdout.write(text)
