"""Records what a switch prints over SSH, and replays it to the collector."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from collectors import platforms
from collectors.access import SwitchAccess
from collectors.contracts import Progress
from collectors.errors import RecordingError, SwitchError
from collectors.platforms.answers import rejection
from collectors.platforms.contract import Ask, Platform
from collectors.scrub import Scrubber
from collectors.scrub_ssh import learn, scrubbed
from collectors.snapshot import CollectedSwitch, FailedSwitch, Table, TableState

if TYPE_CHECKING:
    from collectors.ssh_collector import Connect, Shell
    from collectors.transports.ssh import Answer, Door

_UNDERSTOOD = (TableState.READ, TableState.EMPTY, TableState.CUT_SHORT)
_REJECTED = "% Invalid input"


async def session_of(
    access: SwitchAccess, secrets_from: Path, scrubber: Scrubber, missing: list[str], progress: Progress
) -> dict[str, Any]:
    """The scrubbed session: platform, prompt, answers by command, and what any other command is answered.

    Answers that no reader understood are left out: what cannot be read cannot be scrubbed. Raises SwitchError.
    """
    from collectors.ssh_collector import SshCollector
    from collectors.transports import ssh

    heard: dict[str, str] = {}
    collector = SshCollector(connect=_listening(ssh.connect, heard))
    switch = await collector.collect(access, secrets_from=secrets_from, want=frozenset(Table), progress=progress)
    if isinstance(switch, FailedSwitch):
        raise SwitchError(access.name, switch.reason, switch.hint)
    assert access.ssh is not None
    return _session(access.ssh.platform, switch, heard, scrubber, missing)


def replay(path: Path) -> Connect:
    """What `SshCollector` may be given instead of a connection: it answers from a recording.

    Raises RecordingError when the file is none.
    """
    try:
        session = json.loads(path.read_text("utf-8"))
        commands, rejected = dict(session["commands"]), str(session["rejected"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise RecordingError(str(path), f"is no recorded session ({type(error).__name__})", "record again") from None
    return lambda door, driver, allowed, deadline: _Replayed(commands, rejected)


class _Replayed:
    """A session with nobody behind it."""

    ended = ""

    def __init__(self, commands: dict[str, str], rejected: str) -> None:
        self._commands = commands
        self._rejected = rejected

    def ask(self, command: str) -> Answer:
        from collectors.transports.ssh import Answer

        return Answer(self._commands.get(command, self._rejected))

    def close(self) -> None:
        """Nothing is open."""


class _Listener:
    """A session that remembers what it hears."""

    def __init__(self, shell: Shell, heard: dict[str, str]) -> None:
        self._shell = shell
        self._heard = heard
        self.ended = shell.ended

    def ask(self, command: str) -> Answer:
        answer = self._shell.ask(command)
        self._heard[command] = answer.text
        self.ended = self._shell.ended
        return answer

    def close(self) -> None:
        self._shell.close()


def _listening(connect: Connect, heard: dict[str, str]) -> Connect:
    def listen(door: Door, driver: str, allowed: frozenset[str], deadline: float) -> Shell:
        return _Listener(connect(door, driver, allowed, deadline), heard)

    return listen


def _session(
    name: str, switch: CollectedSwitch, heard: dict[str, str], scrubber: Scrubber, missing: list[str]
) -> dict[str, Any]:
    learn(scrubber, switch)
    platform = platforms.platform(name)
    assert platform is not None
    understood = _understood(platform, switch)
    others = {command: text for command, text in heard.items() if command not in understood}
    refusals = [text for text in others.values() if rejection(text)]
    missing += [
        f"`{command}`: its answer was not understood" for command, text in others.items() if not rejection(text)
    ]
    return {
        "platform": name,
        "prompt": "switch#",
        "rejected": scrubbed(scrubber, refusals[0]) if refusals else _REJECTED,
        "commands": {command: scrubbed(scrubber, text) for command, text in heard.items() if command in understood},
    }


def _understood(platform: Platform, switch: CollectedSwitch) -> set[str]:
    """Commands whose answer a reader took rows from, or saw to be empty."""
    read = {report.source.partition(": ")[2] for report in switch.tables.values() if report.state in _UNDERSTOOD}
    chains = [ask for first in platform.asks for ask in _chain(first)]
    return read | {ask.then.command for ask in chains if ask.then and ask.command in read}


def _chain(ask: Ask | None) -> list[Ask]:
    return [ask, *_chain(ask.instead)] if ask else []
