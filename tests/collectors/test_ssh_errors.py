"""Foreign errors become ours, none is missed; and nothing leaves that is not on the list."""

from __future__ import annotations

import inspect
import socket
import time
from pathlib import Path
from typing import Any

import paramiko
import pytest
from netmiko import exceptions as netmiko_errors
from paramiko import ssh_exception as paramiko_errors
from pydantic import SecretStr

from collectors import platforms
from collectors.access import SshAccess
from collectors.errors import HostKeyRefused, NoAnswer, Refused, SecretError, SwitchError, Unreachable
from collectors.transports import ssh
from collectors.transports.ssh_errors import translated
from collectors.transports.ssh_trust import Trust
from tests.collectors.ssh_server import PASSWORD, USER, Served, recording, serve

# What each constructor wants; every other one takes a text.
_ARGUMENTS: dict[str, tuple[Any, ...]] = {
    "BadAuthenticationType": ("bad", ["publickey"]),
    "PartialAuthentication": (["password"],),
    "UnableToAuthenticate": ("no",),
    "ChannelException": (1, "prohibited"),
    "ProxyCommandFailure": ("nc", "gone"),
    "NoValidConnectionsError": ({("127.0.0.1", 22): OSError(111, "refused")},),
    "BadHostKeyException": ("sw", paramiko.ECDSAKey.generate(), paramiko.ECDSAKey.generate()),
}


def foreign() -> list[Exception]:
    """One of every class that netmiko and paramiko define for errors, and of the socket's and the system's."""
    found: dict[str, type[Exception]] = {
        name: kind
        for module in (netmiko_errors, paramiko_errors)
        for name, kind in inspect.getmembers(module, inspect.isclass)
        if issubclass(kind, Exception) and kind.__module__.startswith(("netmiko", "paramiko"))
    }
    made = [kind(*_ARGUMENTS.get(kind.__name__, ("text",))) for kind in found.values()]
    system: list[Exception] = [
        socket.gaierror(-2, "Name or service not known"),
        ConnectionRefusedError(111, "refused"),
        ConnectionResetError(104, "reset"),
        BrokenPipeError(32, "pipe"),
        TimeoutError(),
        OSError(113, "No route to host"),
        EOFError(),
        ValueError("Router prompt not found"),
    ]
    return made + system


@pytest.mark.parametrize("error", foreign(), ids=lambda error: type(error).__name__)
def test_every_foreign_error_becomes_ours(error: Exception) -> None:
    trust = Trust("wet lab", "192.0.2.10", 22, Path("known_hosts"))
    ours = translated(error, "wet lab", trust)
    assert isinstance(ours, SwitchError)
    assert ours.where == "wet lab"
    assert str(ours).startswith("wet lab: ")


def test_none_of_the_foreign_errors_is_forgotten() -> None:
    names = {type(error).__name__ for error in foreign()}
    assert {"NetmikoTimeoutException", "ReadTimeout", "AuthenticationException", "IncompatiblePeer"} <= names
    assert len(names) >= 25


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (paramiko.AuthenticationException("Authentication failed."), Refused),
        (paramiko.AuthenticationException("Authentication timeout."), NoAnswer),
        (paramiko.SSHException("Error reading SSH protocol banner"), NoAnswer),
        (paramiko.SSHException("No authentication methods available"), Refused),
        (paramiko.SSHException("Channel closed."), Refused),
        (socket.gaierror(-2, "Name or service not known"), Unreachable),
        (OSError(113, "No route to host"), Unreachable),
        (TimeoutError(), NoAnswer),
    ],
)
def test_an_error_is_told_by_what_it_means(error: Exception, kind: type[SwitchError]) -> None:
    assert type(translated(error, "wet lab")) is kind


def test_an_error_that_netmiko_reworded_is_read_by_its_cause() -> None:
    try:
        try:
            raise socket.gaierror(-2, "Name or service not known")
        except socket.gaierror:
            raise netmiko_errors.NetmikoTimeoutException("TCP connection to device failed.")  # noqa: B904  # as netmiko
    except netmiko_errors.NetmikoTimeoutException as error:
        ours = translated(error, "wet lab")
    assert isinstance(ours, Unreachable)
    assert "does not resolve" in str(ours)


def test_the_words_of_a_foreign_error_are_not_repeated() -> None:
    """The far side writes some of them."""
    said = "Disconnected: \x1b[31m" + PASSWORD
    assert said not in str(translated(paramiko.SSHException(said), "wet lab"))
    assert PASSWORD not in str(translated(paramiko.SSHException(said), "wet lab"))


def test_errors_of_ours_pass_unchanged() -> None:
    ours = [HostKeyRefused("a", "b", "c"), SecretError("a", "b", "c")]
    assert [translated(error, "wet lab") for error in ours] == ours


def session(served: Served, folder: Path, *more: str) -> ssh.Session:
    """A session in which also `more` would be allowed."""
    (folder / "known_hosts").write_text(served.known_hosts_line())
    name = served.recording["platform"]
    platform = platforms.platform(name)
    assert platform is not None
    access = SshAccess(platform=name, user=USER, port=served.port, known_hosts="known_hosts", timeout=5)
    door = ssh.Door("wet lab", "127.0.0.1", access, folder, SecretStr(PASSWORD))
    allowed = platform.commands | {*platform.preparation, *more}
    return ssh.connect(door, platform.driver, allowed, time.monotonic() + 30)


class TestFixedList:
    @pytest.mark.parametrize("line", ["configure terminal", "show running-config", "show version\nreload"])
    def test_a_command_that_is_not_on_it_is_not_sent(self, line: str, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            one = session(served, tmp_path)
            with pytest.raises(ssh.NotOnTheList):
                one.ask(line)
            assert one.ask("show vlan brief").text
            one.close()
        assert not [sent for sent in served.lines if "conf" in sent or "reload" in sent or "running" in sent]

    def test_netmiko_itself_cannot_send_another_line(self, tmp_path: Path) -> None:
        """Everything that it writes passes the guard: a configuration mode cannot be entered by it either."""
        with serve(recording("cisco_ios")) as served:
            one = session(served, tmp_path)
            netmiko = one._connection
            with pytest.raises(ssh.NotOnTheList):
                netmiko.config_mode()
            with pytest.raises(ssh.NotOnTheList):
                netmiko.send_command("write memory")
            assert netmiko.enable() == ""
            one.close()
        assert set(served.lines) <= {"", "terminal width 511", "terminal length 0"}

    def test_closing_sends_nothing(self, tmp_path: Path) -> None:
        with serve(recording("hp_procurve")) as served:
            session(served, tmp_path).close()
        assert not [line for line in served.lines if line in ("exit", "logout", "quit", "y", "n")]

    def test_a_closed_session_says_so_instead_of_raising(self, tmp_path: Path) -> None:
        with serve(recording("cisco_ios")) as served:
            one = session(served, tmp_path)
            one.close()
            assert one.ask("show version") == ssh.Answer("", "the session was closed")
