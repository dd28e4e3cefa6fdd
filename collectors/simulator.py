"""Simulated switches: serves recordings over real UDP on loopback, by the real snmpsim in a child process.

A recording is an `.snmprec` file, plain or .bz2 (see `snmprec`). `sw-a@20.snmprec` beside `sw-a.snmprec` is what
that switch answers in the context of VLAN 20 (community `public@20`, SNMPv3 context `vlan-20`).
"""

from __future__ import annotations

import contextlib
import os
import re
import select
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

from collectors import snmprec
from collectors.errors import RecordingError

_CHILD = Path(__file__).with_name("simulator_child.py")
_LOOPBACK = "127.0.0.1"
_LONG_AGO = 1_000_000_000  # seconds since the epoch; snmpsim rebuilds an index that is not younger than its recording
_READY_SECONDS = 60.0  # an early end is noticed at once; this is for a machine with much else to do
_SECONDS_PER_ROW = 0.0005  # indexing with the slowest dbm, many times over
_HARMLESS = re.compile(r"variation module|redis|sqlalchemy", re.IGNORECASE)


@dataclass(frozen=True)
class SimulatedUser:
    """An SNMPv3 user that every simulated switch knows. Keys have at least 8 characters (RFC 3414 section 11.2)."""

    name: str
    auth: str = ""
    auth_key: str = field(default="", repr=False)
    privacy: str = ""
    privacy_key: str = field(default="", repr=False)

    def options(self) -> list[str]:
        """As snmpsim spells it; it knows SHA-1 by `SHA` alone."""
        texts = {
            "--v3-user": self.name,
            "--v3-auth-key": self.auth_key,
            "--v3-auth-proto": self.auth.upper().replace("SHA1", "SHA"),
            "--v3-priv-key": self.privacy_key,
            "--v3-priv-proto": self.privacy.upper(),
        }
        if any(re.search(r"\s", text) for text in texts.values()):
            raise RecordingError("simulator", "a user or key holds a blank, which snmpsim cannot read", "leave it out")
        return [f"{option}={text}" for option, text in texts.items() if text]


def recordings_in(folder: Path) -> dict[str, Path]:
    """Switch name to recording for every recording in a folder, further contexts left out."""
    found = {path.name.removesuffix(".snmprec"): path for path in sorted(folder.glob("*.snmprec"))}
    return {name: path for name, path in found.items() if "@" not in name}


class Simulator:
    """Serves recordings while its `with` block runs; `endpoints` gives each switch's ("127.0.0.1", port).

    `keep_order` leaves rows as recorded, for agents whose OIDs do not increase; a repeated OID is dropped in any
    case, because snmpsim would jump. `subtrees` (dotted OIDs) leaves out everything else, which starts sooner.
    `ports` fixes a port per switch; others get a free one. Raises RecordingError for a recording that cannot be
    read, for a port in use, and when snmpsim ends early (with its last lines).
    """

    def __init__(
        self,
        recordings: Mapping[str, Path],
        *,
        community: str = "public",
        user: SimulatedUser | None = None,
        ports: Mapping[str, int] | None = None,
        keep_order: bool = False,
        subtrees: Collection[str] = (),
        max_var_binds: int = 64,
    ) -> None:
        if not re.fullmatch(r"[!-.0-~]{1,32}", community) or community in ("self", "index"):
            raise RecordingError(
                "simulator", "cannot serve this community", "1 to 32 ASCII characters without blank and '/'"
            )
        self.endpoints: dict[str, tuple[str, int]] = {}
        self._recordings = dict(recordings)
        self._community = community
        self._user = user
        self._ports = dict(ports or {})
        self._keep_order = keep_order
        self._subtrees = [snmprec.arcs(oid) for oid in subtrees]
        self._max_var_binds = max_var_binds
        self._folder: Path | None = None
        self._child: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        try:
            self._start()
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    def wait(self) -> None:
        """Blocks as long as the simulated switches answer. Raises RecordingError when they stop by themselves."""
        if self._child is not None:
            self._child.wait()
            raise self._ended_early()

    def _start(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="toneout-simulator-"))
        rows = 0
        with contextlib.ExitStack() as bound:
            engines: list[str] = []
            descriptors: list[int] = []
            for number, (name, path) in enumerate(self._recordings.items()):
                rows += self._prepare(path, self._folder / str(number))
                listening = bound.enter_context(_bind(name, self._ports.get(name, 0)))
                self.endpoints[name] = listening.getsockname()
                descriptors.append(listening.fileno())
                engines += [
                    f"--v3-engine-id=80004fb805{os.urandom(8).hex()}",
                    f"--data-dir={number}",
                    *(self._user.options() if self._user else ()),
                    f"--agent-udpv4-endpoint={listening.fileno()}",
                ]
            if engines:
                self._spawn(engines, descriptors)
        if self._child:
            self._await_answers(time.monotonic() + _READY_SECONDS + rows * _SECONDS_PER_ROW)

    def _spawn(self, engines: list[str], descriptors: list[int]) -> None:
        assert self._folder is not None
        (self._folder / "engines").write_text("\n".join(engines))  # keys stay off the command line
        command = [
            *(sys.executable, "-P", str(_CHILD), str(self._folder)),
            *("--args-from-file=engines", "--cache-dir=index", "--log-level=error", "--logging-method=stderr"),
            f"--max-var-binds={self._max_var_binds}",
        ]
        environment = {
            "HOME": str(self._folder),  # only where it is unset: snmpsim asks for it
            **os.environ,
            "SNMPSIM_ALLOW_ROOT": "true",  # it serves loopback only and reads copies only
            "TMPDIR": str(self._folder),  # where pysnmp keeps its engine boots
        }
        with (self._folder / "log").open("wb") as log:
            self._child = subprocess.Popen(
                command,
                cwd=self._folder,
                env=environment,
                stdin=subprocess.PIPE,
                stdout=log,
                stderr=subprocess.STDOUT,
                pass_fds=descriptors,
                start_new_session=True,  # Ctrl-C is for us; we end the child ourselves
            )

    def _prepare(self, path: Path, folder: Path) -> int:
        """Copies a switch's recordings into the shape that snmpsim serves; the number of rows."""
        folder.mkdir()
        rows = self._copy(path, folder, [self._community, *(["self"] if self._user else [])])
        stem = path.name.removesuffix(".bz2").removesuffix(".snmprec")
        for beside in sorted(path.parent.glob(f"{_glob_quoted(stem)}@*.snmprec")):
            vlan = beside.name.removesuffix(".snmprec").rpartition("@")[2]
            rows += self._copy(beside, folder, [f"{self._community}@{vlan}", *([f"vlan-{vlan}"] if self._user else [])])
        return rows

    def _copy(self, source: Path, folder: Path, contexts: list[str]) -> int:
        rows = snmprec.unique(snmprec.read_rows(source), self._subtrees)
        lines = [rows[oid].line() for oid in (rows if self._keep_order else sorted(rows))]
        for context in contexts:
            copy = folder / f"{context}.snmprec"
            copy.write_bytes(b"".join(lines))
            os.utime(copy, (_LONG_AGO, _LONG_AGO))
        return len(lines) * len(contexts)

    def _await_answers(self, deadline: float) -> None:
        """Asks every switch until each has answered."""
        assert self._child is not None
        silent = {port: name for name, (_, port) in self.endpoints.items()}
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
            asking.bind((_LOOPBACK, 0))
            while silent:
                if self._child.poll() is not None:
                    raise self._ended_early()
                if time.monotonic() > deadline:
                    raise RecordingError("simulator", f"no answer from {', '.join(silent.values())}", "start it again")
                for port, name in silent.items():
                    _ask(asking, name, port, self._community)
                for port in _answering(asking, seconds=0.1):
                    silent.pop(port, None)

    def _ended_early(self) -> RecordingError:
        log = (self._folder / "log").read_text("utf-8", "replace") if self._folder else ""
        lines = [line.strip() for line in log.splitlines() if line.strip() and not _HARMLESS.search(line)]
        said = " / ".join(lines[-4:]) or "without a word"
        return RecordingError("simulator", f"snmpsim ended early: {said[-1000:]}", "check the recordings")

    def _end(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            assert child.stdin is not None
            with contextlib.suppress(OSError):
                child.stdin.close()  # the child ends when this closes
            try:
                child.wait(3)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None
        self.endpoints.clear()


def serve_forever(
    recordings: Mapping[str, Path],
    announce: Callable[[str, tuple[str, int]], None],
    *,
    community: str = "public",
    ports: Mapping[str, int] | None = None,
) -> None:
    """Serves until interrupted (Ctrl-C), calling `announce` with each switch's name and (host, port) once all answer.

    Raises RecordingError as `Simulator` does.
    """
    with contextlib.suppress(KeyboardInterrupt), Simulator(recordings, community=community, ports=ports) as simulator:
        for name, endpoint in simulator.endpoints.items():
            announce(name, endpoint)
        simulator.wait()


def _bind(name: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        listening.bind((_LOOPBACK, port))
    except OSError as error:
        listening.close()
        raise RecordingError(
            name, f"cannot listen on {_LOOPBACK} UDP port {port}: {error.strerror}", "another port, or end what has it"
        ) from None
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 20)  # bursts of many askers
    return listening


def _ask(asking: socket.socket, name: str, port: int, community: str) -> None:
    try:
        asking.sendto(_any_request(community), (_LOOPBACK, port))
    except OSError as error:  # binding works where the loopback interface is down, sending does not
        problem = f"cannot be asked on {_LOOPBACK} UDP port {port}: {error.strerror}"
        raise RecordingError(
            name, problem, "whether the loopback interface is up, and no filter stands before it"
        ) from None


def _glob_quoted(text: str) -> str:
    return re.sub(r"([*?\[])", r"[\1]", text)


def _any_request(community: str) -> bytes:
    """An SNMPv2c GETNEXT of 1.3 (RFC 3416), small enough for one-octet lengths."""
    name = community.encode("ascii")
    bindings = bytes.fromhex("3007 3005 06012b 0500")
    request = bytes.fromhex("02010102010002 0100") + bindings
    message = b"\x02\x01\x01\x04" + bytes([len(name)]) + name + b"\xa1" + bytes([len(request)]) + request
    return b"\x30" + bytes([len(message)]) + message


def _answering(asking: socket.socket, seconds: float) -> Iterator[int]:
    """The ports that answers come from, until none has come for a while."""
    while select.select([asking], [], [], seconds)[0]:
        with contextlib.suppress(ConnectionError):  # an ICMP refusal while the child is not listening yet
            yield asking.recvfrom(65535)[1][1]
        seconds = 0.0
